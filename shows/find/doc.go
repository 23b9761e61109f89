// Package find finds what a person names in a loaded show: a place in a song, or
// a fixture or a head of one. What is not there is told with the nearest name.
package find
