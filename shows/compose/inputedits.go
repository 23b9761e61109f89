package compose

import "fmt"

// AddInput adds a universe that comes in, such as the faders of a house desk.
type AddInput struct {
	Input  string `json:"input"`           // its name
	Values Value  `json:"values"`          // its keys: {"sacn": 11, "faders": {"washes": 1}} or {"sacn": 11, "patched as": "stage"}
	After  string `json:"after,omitempty"` // the input behind which it is put
}

// Do returns "add input".
func (e *AddInput) Do() string { return "add input" }

// Words says what the edit does.
func (e *AddInput) Words() string { return fmt.Sprintf("new input %q", e.Input) }

func (e *AddInput) edit(f *files) error {
	return addNamed(f, rigFile, "inputs", "input", e.Input, e.After, e.Values)
}

// SetInput sets a key of an input. "faders" and "patched as" take each other's place.
type SetInput struct {
	Input string `json:"input"`
	Key   string `json:"key"` // sacn, faders, patched as, groups, takes or when lost
	To    Value  `json:"to"`  // such as 12, "last" or {"washes": 1}; null takes the key away
}

// Do returns "set input".
func (e *SetInput) Do() string { return "set input" }

// Words says what the edit does.
func (e *SetInput) Words() string {
	return fmt.Sprintf("%s of %v for the input %q", e.Key, e.To, e.Input)
}

func (e *SetInput) edit(f *files) error {
	if err := setKey(f, rigFile, place{"inputs"}, "input", e.Input, e.Key, e.To); err != nil || !e.To.given {
		return err
	}
	return f.onlyWay(e.Input, e.Key)
}

// onlyWay takes away the keys of an input that do not go with one of its keys.
func (f *files) onlyWay(input, key string) error {
	surplus := map[string][]string{"faders": {"patched as", "groups"}, "patched as": {"faders"}}
	for _, other := range surplus[key] {
		if err := f.set(rigFile, place{"inputs", input, other}, Value{}); err != nil {
			return err
		}
	}
	return nil
}

// SetFader sets the slot of an input that sets a group or fixture.
type SetFader struct {
	Input string `json:"input"`
	On    string `json:"on"` // a group, a fixture, a range or a head
	To    Value  `json:"to"` // a slot, 1 to 512; null takes it away
}

// Do returns "set fader".
func (e *SetFader) Do() string { return "set fader" }

// Words says what the edit does.
func (e *SetFader) Words() string {
	return fmt.Sprintf("slot %v of the input %q for %s", e.To, e.Input, e.On)
}

func (e *SetFader) edit(f *files) error {
	if err := f.needKey(rigFile, place{"inputs"}, "input", e.Input); err != nil {
		return err
	}
	at := place{"inputs", e.Input, "faders"}
	if !e.To.given {
		return f.prune(rigFile, at.under(e.On), len(at))
	}
	if err := f.set(rigFile, at.under(e.On), e.To); err != nil {
		return err
	}
	return f.onlyWay(e.Input, "faders")
}

// RenameInput renames an input.
type RenameInput struct {
	Input string `json:"input"`
	To    string `json:"to"`
}

// Do returns "rename input".
func (e *RenameInput) Do() string { return "rename input" }

// Words says what the edit does.
func (e *RenameInput) Words() string {
	return fmt.Sprintf("%q as the name of the input %q", e.To, e.Input)
}

func (e *RenameInput) edit(f *files) error {
	if err := needNew(f, rigFile, "inputs", "input", e.Input, e.To); err != nil {
		return err
	}
	return f.renameKey(rigFile, place{"inputs", e.Input}, e.To)
}

// RemoveInput removes an input.
type RemoveInput struct {
	Input string `json:"input"`
}

// Do returns "remove input".
func (e *RemoveInput) Do() string { return "remove input" }

// Words says what the edit does.
func (e *RemoveInput) Words() string { return fmt.Sprintf("removing the input %q", e.Input) }

func (e *RemoveInput) edit(f *files) error {
	if err := f.needKey(rigFile, place{"inputs"}, "input", e.Input); err != nil {
		return err
	}
	return f.prune(rigFile, place{"inputs", e.Input}, 1)
}
