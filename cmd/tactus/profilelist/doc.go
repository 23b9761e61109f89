// Package profilelist prints fixture profiles: all of them with their channels, or one
// with each of its slots; as text or JSON.
//
//	[]shows.Profile ──► Print, PrintOne ──► text
//	                └─► Describe ──► JSON
package profilelist
