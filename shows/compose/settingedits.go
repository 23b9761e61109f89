package compose

import (
	"fmt"
	"slices"

	"tactus/shows/language"
	"tactus/shows/limits"
)

// showFile is the file of the whole show's settings.
const showFile = "show.yaml"

// SetFloor sets the lowest level of a group or fixture while someone speaks.
type SetFloor struct {
	On string `json:"on"` // a group, a fixture, a range or a head
	To Value  `json:"to"` // such as "30 %"; null takes it away
}

// Do returns "set floor".
func (e *SetFloor) Do() string { return "set floor" }

// Words says what the edit does.
func (e *SetFloor) Words() string {
	return fmt.Sprintf("lowest level of %s while someone speaks: %v", e.On, e.To)
}

func (e *SetFloor) edit(f *files) error {
	return setOrPrune(f, rigFile, place{"floors", e.On}, e.To)
}

// SetCircuit sets the breaker of a mains circuit, and adds the circuit if there is none of
// that name.
type SetCircuit struct {
	Circuit string `json:"circuit"`
	Breaker Value  `json:"breaker"` // its rated current, such as "16 A"; null removes the circuit, which no fixture must name
}

// Do returns "set circuit".
func (e *SetCircuit) Do() string { return "set circuit" }

// Words says what the edit does.
func (e *SetCircuit) Words() string {
	return fmt.Sprintf("breaker of %v for the circuit %q", e.Breaker, e.Circuit)
}

func (e *SetCircuit) edit(f *files) error {
	return setOrPrune(f, rigFile, place{"circuits", e.Circuit, "breaker"}, e.Breaker)
}

// SetRig sets a key of the whole rig.
type SetRig struct {
	Key string `json:"key"` // venue, white, whites, frame grid, mains or haze cycle
	To  Value  `json:"to"`  // such as "Harbour Hall", "5600 K" or {"voltage": "230 V"}; null takes the key away
}

// Do returns "set rig".
func (e *SetRig) Do() string { return "set rig" }

// Words says what the edit does.
func (e *SetRig) Words() string { return fmt.Sprintf("%s of the rig: %v", e.Key, e.To) }

func (e *SetRig) edit(f *files) error {
	keys := []string{"venue", "white", "whites", "frame grid", "mains", "haze cycle"}
	if !slices.Contains(keys, e.Key) {
		return unknownName(rigFile, "key", "keys", e.Key, keys)
	}
	return f.set(rigFile, place{e.Key}, e.To)
}

// SetShow sets a key of the whole show.
type SetShow struct {
	Key string `json:"key"` // show, clock, on exit, while stopped, after a hold, house lights take or phrase
	To  Value  `json:"to"`  // such as "Harbour Hall", ["midi", "tap"] or "3 s"; null takes the key away
}

// Do returns "set show".
func (e *SetShow) Do() string { return "set show" }

// Words says what the edit does.
func (e *SetShow) Words() string { return fmt.Sprintf("%s: %v", e.Key, e.To) }

func (e *SetShow) edit(f *files) error {
	keys := []string{"show", "clock", "on exit", "while stopped", "after a hold", "house lights take", "phrase"}
	if !slices.Contains(keys, e.Key) {
		return unknownName(showFile, "key", "keys", e.Key, keys)
	}
	return f.set(showFile, place{e.Key}, e.To)
}

// SetLimit sets a limit by which check judges the light.
type SetLimit struct {
	Limit string `json:"limit"` // such as "flat energies"
	To    Value  `json:"to"`    // a number in the limit's unit; null: the default
}

// Do returns "set limit".
func (e *SetLimit) Do() string { return "set limit" }

// Words says what the edit does.
func (e *SetLimit) Words() string {
	if !e.To.given {
		return fmt.Sprintf("%s of check as by default", e.Limit)
	}
	return fmt.Sprintf("%s of check: %v", e.Limit, language.Shorten(e.To.String()))
}

func (e *SetLimit) edit(f *files) error {
	var names []string
	for i := range limits.Table() {
		names = append(names, limits.Table()[i].Name)
	}
	if !slices.Contains(names, e.Limit) {
		return unknownName(showFile, "limit", "limits", e.Limit, names)
	}
	return setOrPrune(f, showFile, place{"judge", e.Limit}, e.To)
}
