// Package showfiles opens the files of a show by the name that a command line
// gives, identifies what they hold, and looks at them while the show plays.
//
//	SHOW ──Open──► fs.FS ──► shows.Load
//	        └─────► Reloader: the same content at two looks ──► Edit: a revision, faults, or "start again"
//
// An edit is taken over whole or not at all.
package showfiles
