// Package compose changes the files of a show for a person: typed edits become the
// smallest change of text, are judged by the loader, and can be undone.
//
//	JSON ── Decode ──► []Edit ── Session.Apply ──► sources in memory ── Session.Save ──► files
//	                                │        ▲
//	                                ▼        │ Undo, Redo: equal bytes again
//	                     language.Parse, shows.Compile:
//	                     an edit that adds a fault is refused
//
// A session has the sources of all files of a show. An edit changes them in memory; Save
// writes the files that differ from the disk. A file that another program has changed
// since it was read is never written over: Save returns a [Conflict] that shows what
// changed, and Reread takes the disk's files and makes the unsaved changes on them again,
// line by line, as a version control system merges.
package compose
