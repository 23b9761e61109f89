package compose

import "fmt"

// SetCharacter sets a tendency of a character, of one's own or of a built-in one. A
// character of one's own that has none yet is added.
type SetCharacter struct {
	Character string `json:"character"` // such as "calm" or "late night"
	Key       string `json:"key"`       // pace, paths, trusses, fades, end, white, breath, builds, effects at once or effects
	To        Value  `json:"to"`        // such as "slow", true, 2 or ["sway"]; null takes it away, and with the last one the character
}

// Do returns "set character".
func (e *SetCharacter) Do() string { return "set character" }

// Words says what the edit does.
func (e *SetCharacter) Words() string {
	return fmt.Sprintf("%s of %v for the character %q", e.Key, e.To, e.Character)
}

func (e *SetCharacter) edit(f *files) error {
	return setOrPrune(f, looksFile, place{"characters", e.Character, e.Key}, e.To)
}

// setOrPrune sets a value in an optional part of a file, or takes it away with what holds
// nothing else, up to the outermost key.
func setOrPrune(f *files, file string, at place, to Value) error {
	if to.given {
		return f.set(file, at, to)
	}
	return f.prune(file, at, 1)
}

// RenameCharacter renames a character of the looks file, and follows it through the songs.
type RenameCharacter struct {
	Character string `json:"character"`
	To        string `json:"to"`
}

// Do returns "rename character".
func (e *RenameCharacter) Do() string { return "rename character" }

// Words says what the edit does.
func (e *RenameCharacter) Words() string {
	return fmt.Sprintf("%q as the name of the character %q", e.To, e.Character)
}

func (e *RenameCharacter) edit(f *files) error {
	return renameNamed(f, looksFile, "characters", "character", e.Character, e.To, characterNames)
}

// RemoveCharacter removes a character of the looks file. Songs may still name it if it is
// built in.
type RemoveCharacter struct {
	Character string `json:"character"`
}

// Do returns "remove character".
func (e *RemoveCharacter) Do() string { return "remove character" }

// Words says what the edit does.
func (e *RemoveCharacter) Words() string {
	return fmt.Sprintf("removing the character %q", e.Character)
}

func (e *RemoveCharacter) edit(f *files) error {
	if err := f.needKey(looksFile, place{"characters"}, "character", e.Character); err != nil {
		return err
	}
	return f.prune(looksFile, place{"characters", e.Character}, 1)
}
