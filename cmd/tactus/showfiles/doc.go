// Package showfiles opens the files of a show by the name on a command line, identifies
// their content, packs them into an archive, and watches them for edits while the show
// plays.
//
//	SHOW ──Open──► fs.FS ──► shows.Load
//	        │        └─Archive──► bytes, kept or sent ──OpenArchive──► fs.FS with the same files
//	        └─────► Reloader: two reads find the same content ──► Edit: a reload, faults, or "start again"
//
// An edit takes effect as a whole or not at all, except for songs: one with faults
// stays as it was.
//
// Source: PKWARE APPNOTE 6.3 (ZIP), by archive/zip.
package showfiles
