package compose

import (
	"fmt"
	"slices"
)

// AddUniverse adds a universe at the end of the universes, or behind another.
type AddUniverse struct {
	Universe string `json:"universe"`        // its name
	Values   Value  `json:"values"`          // its keys: {"sacn": 3}, {"art-net": 0, "to": "10.0.0.4"}
	After    string `json:"after,omitempty"` // the universe behind which it is put
}

// Do returns "add universe".
func (e *AddUniverse) Do() string { return "add universe" }

// Words says what the edit does.
func (e *AddUniverse) Words() string { return fmt.Sprintf("new universe %q", e.Universe) }

func (e *AddUniverse) edit(f *files) error {
	return addNamed(f, rigFile, "universes", "universe", e.Universe, e.After, e.Values)
}

// SetUniverse sets a key of a universe. One of the keys sacn, art-net and virtual takes the
// place of the other, and keys that do not go with it are taken away.
type SetUniverse struct {
	Universe string `json:"universe"`
	Key      string `json:"key"` // sacn, art-net, virtual, to, multicast, broadcast, priority, rate, lead or send
	To       Value  `json:"to"`  // such as 3, "10.0.0.4", "20 ms" or true; null takes the key away
}

// Do returns "set universe".
func (e *SetUniverse) Do() string { return "set universe" }

// Words says what the edit does.
func (e *SetUniverse) Words() string {
	return fmt.Sprintf("%s of %v for the universe %q", e.Key, e.To, e.Universe)
}

// notWith lists the keys of a universe that do not go with each way to send it.
func notWith() map[string][]string {
	return map[string][]string{
		"sacn":    {"broadcast"},
		"art-net": {"priority", "multicast"},
		"virtual": {"to", "multicast", "broadcast", "priority", "rate", "send", "lead"},
	}
}

func (e *SetUniverse) edit(f *files) error {
	if err := f.needKey(rigFile, place{"universes"}, "universe", e.Universe); err != nil {
		return err
	}
	at := place{"universes", e.Universe}
	surplus, isWire := notWith()[e.Key]
	if !isWire || !e.To.given {
		return f.set(rigFile, at.under(e.Key), e.To)
	}
	keys, err := f.keys(rigFile, at)
	if err != nil {
		return err
	}
	for _, key := range keys {
		if _, other := notWith()[key]; other && key != e.Key && !slices.Contains(keys, e.Key) {
			if err := f.renameKey(rigFile, at.under(key), e.Key); err != nil {
				return err
			}
		}
		if slices.Contains(surplus, key) {
			if err := f.removeKey(rigFile, at.under(key)); err != nil {
				return err
			}
		}
	}
	return f.set(rigFile, at.under(e.Key), e.To)
}

// RenameUniverse renames a universe, and follows it through the rig.
type RenameUniverse struct {
	Universe string `json:"universe"`
	To       string `json:"to"`
}

// Do returns "rename universe".
func (e *RenameUniverse) Do() string { return "rename universe" }

// Words says what the edit does.
func (e *RenameUniverse) Words() string {
	return fmt.Sprintf("%q as the name of the universe %q", e.To, e.Universe)
}

func (e *RenameUniverse) edit(f *files) error {
	return renameNamed(f, rigFile, "universes", "universe", e.Universe, e.To, universeNames)
}

// RemoveUniverse removes a universe that no fixture and no input names.
type RemoveUniverse struct {
	Universe string `json:"universe"`
}

// Do returns "remove universe".
func (e *RemoveUniverse) Do() string { return "remove universe" }

// Words says what the edit does.
func (e *RemoveUniverse) Words() string { return fmt.Sprintf("removing the universe %q", e.Universe) }

func (e *RemoveUniverse) edit(f *files) error {
	return removeNamed(f, rigFile, "universes", "universe", e.Universe, universeNames)
}
