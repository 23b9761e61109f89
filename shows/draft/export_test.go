package draft

import "io/fs"

// Unmeasured drafts a song as the ladder has it, without other lights that measuring
// asks for.
func Unmeasured(files fs.FS, file string) (*Draft, error) { return newDraft(files, file, 0) }
