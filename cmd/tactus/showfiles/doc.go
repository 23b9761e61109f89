// Package showfiles opens the files of a show by the name on a command line, identifies
// their content, and watches them for edits while the show plays.
//
//	SHOW ──Open──► fs.FS ──► shows.Load
//	        └─────► Reloader: two reads find the same content ──► Edit: a reload, faults, or "start again"
//
// An edit takes effect as a whole or not at all, except for songs: one with faults
// stays as it was.
package showfiles
