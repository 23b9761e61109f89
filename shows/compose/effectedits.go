package compose

import "fmt"

// AddEffect adds an effect at the end of the effects, or behind another.
type AddEffect struct {
	Effect string `json:"effect"`
	Values Value  `json:"values"`          // the effect's keys: {"on": "washes", "wave": "sine", "moves": "intensity", "period": "4 bars"}
	After  string `json:"after,omitempty"` // the effect behind which it is put
}

// Do returns "add effect".
func (e *AddEffect) Do() string { return "add effect" }

// Words says what the edit does.
func (e *AddEffect) Words() string { return fmt.Sprintf("new effect %q", e.Effect) }

func (e *AddEffect) edit(f *files) error {
	return addNamed(f, looksFile, "effects", "effect", e.Effect, e.After, e.Values)
}

// SetEffect sets a key of an effect.
type SetEffect struct {
	Effect string `json:"effect"`
	Key    string `json:"key"` // on, wave, moves, period, pulses, path, spread, depth, blend, from, to, low, high, duty, skew, seed, cells or levels
	To     Value  `json:"to"`  // such as "2 bars", 3, "40 %" or ["washes", "warmers"]; null takes the key away
}

// Do returns "set effect".
func (e *SetEffect) Do() string { return "set effect" }

// Words says what the edit does.
func (e *SetEffect) Words() string {
	return fmt.Sprintf("%s of %v for the effect %q", e.Key, e.To, e.Effect)
}

func (e *SetEffect) edit(f *files) error {
	return setKey(f, looksFile, place{"effects"}, "effect", e.Effect, e.Key, e.To)
}

// CopyEffect adds a copy of an effect under another name, behind it.
type CopyEffect struct {
	Effect string `json:"effect"`
	To     string `json:"to"`
}

// Do returns "copy effect".
func (e *CopyEffect) Do() string { return "copy effect" }

// Words says what the edit does.
func (e *CopyEffect) Words() string {
	return fmt.Sprintf("effect %q as a copy of %q", e.To, e.Effect)
}

func (e *CopyEffect) edit(f *files) error {
	return copyNamed(f, looksFile, "effects", "effect", e.Effect, e.To)
}

// RemoveEffect removes an effect that nothing uses.
type RemoveEffect struct {
	Effect string `json:"effect"`
}

// Do returns "remove effect".
func (e *RemoveEffect) Do() string { return "remove effect" }

// Words says what the edit does.
func (e *RemoveEffect) Words() string { return fmt.Sprintf("removing the effect %q", e.Effect) }

func (e *RemoveEffect) edit(f *files) error {
	return removeNamed(f, looksFile, "effects", "effect", e.Effect, effectNames)
}
