// Package songtext edits a song's file by lines, so that everything else in it keeps
// every byte, and knows the lines that a draft wrote.
//
//	bytes ──Read──► Text: lines, how they end ──edits──► Bytes ──► bytes
package songtext
