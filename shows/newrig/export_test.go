package newrig

import "io/fs"

// Undrafted makes the files of a show folder, without the cues of the first song.
func Undrafted(d *Description) (*Making, error) { return undrafted(d) }

// Folder is a show folder in memory.
func Folder(files map[string][]byte) fs.FS { return folder(files) }
