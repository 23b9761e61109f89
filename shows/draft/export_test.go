package draft

import "io/fs"

// Unmeasured drafts a song as the ladder has it, without other lights that measuring
// asks for.
func Unmeasured(files fs.FS, file string) (*Draft, error) {
	sources, unread, err := readWith(files, file)
	if err != nil {
		return nil, err
	}
	return newDraft(sources, unread, file, 0)
}
