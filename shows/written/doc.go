// Package written says what the files of a show say, as plain values for a view in which
// somebody edits them.
//
//	sources ── language.Parse ──► what is written: sections, cues, looks, effects, sets, rig
//	shows.Show ─────────────────► what comes of it: colours, the look that is up in a section
//
// Songs, sections, cues and fixtures stand in the order of their files, so that an edit can
// name them by their places there.
package written
