package compose

import (
	"fmt"
	"slices"
	"strings"

	"tactus/shows/language"
)

// looksFile is the file of looks and effects.
const looksFile = "looks.yaml"

// AddLook adds a look at the end of the looks, or behind another.
type AddLook struct {
	Look    string   `json:"look"`
	Fade    string   `json:"fade,omitempty"`    // such as "2 beats"
	Set     Value    `json:"set,omitempty"`     // levels by group or fixture: {"washes": {"colour": "main", "intensity": "40 %"}}
	Effects []string `json:"effects,omitempty"` // names, in order
	After   string   `json:"after,omitempty"`   // the look behind which it is put
}

// Do returns "add look".
func (e *AddLook) Do() string { return "add look" }

// Words says what the edit does.
func (e *AddLook) Words() string { return fmt.Sprintf("new look %q", e.Look) }

func (e *AddLook) edit(f *files) error {
	v := Value{given: true}
	if e.Fade != "" {
		v.put("fade", Text(e.Fade))
	}
	if e.Set.given {
		v.put("set", e.Set)
	}
	if len(e.Effects) > 0 {
		v.put("effects", namesValue(e.Effects))
	}
	if !e.Set.given && len(e.Effects) == 0 {
		return refuse(looksFile, 0, fmt.Sprintf("the look %q would have neither levels nor effects", language.Shorten(e.Look)), `give "set" or "effects"`)
	}
	return addNamed(f, looksFile, "looks", "look", e.Look, e.After, v)
}

// namesValue writes names as files do: one as a name, several as a list, and "none" for no
// name.
func namesValue(names []string) Value {
	switch len(names) {
	case 0:
		return Text("none")
	case 1:
		return Text(names[0])
	}
	return Texts(names)
}

// addNamed adds an entry to a mapping of the file, such as a look to the looks.
func addNamed(f *files, file, mapping, what, name, after string, v Value) error {
	names, err := f.keys(file, place{mapping})
	if err != nil {
		return err
	}
	if slices.Contains(names, name) {
		return taken(file, what, name)
	}
	if after != "" && !slices.Contains(names, after) {
		return unknownName(file, what, what+"s", after, names)
	}
	if len(names) == 0 {
		return f.set(file, place{mapping}, object(name, v))
	}
	return f.add(file, place{mapping}, name, v, after)
}

// taken is the error for a name that exists.
func taken(file, what, name string) error {
	return refuse(file, 0, fmt.Sprintf("there is %s %s %q already", article(what), what, language.Shorten(name)), "choose another name")
}

func article(what string) string {
	if strings.ContainsRune("aeio", rune(what[0])) {
		return "an"
	}
	return "a"
}

// CopyLook adds a copy of a look under another name, behind it.
type CopyLook struct {
	Look string `json:"look"`
	To   string `json:"to"`
}

// Do returns "copy look".
func (e *CopyLook) Do() string { return "copy look" }

// Words says what the edit does.
func (e *CopyLook) Words() string { return fmt.Sprintf("look %q as a copy of %q", e.To, e.Look) }

func (e *CopyLook) edit(f *files) error {
	return copyNamed(f, looksFile, "looks", "look", e.Look, e.To)
}

// copyNamed copies an entry of a mapping of the file.
func copyNamed(f *files, file, mapping, what, name, to string) error {
	if err := needNew(f, file, mapping, what, name, to); err != nil {
		return err
	}
	return f.copyKey(file, place{mapping, name}, to)
}

// RemoveLook removes a look that nothing uses.
type RemoveLook struct {
	Look string `json:"look"`
}

// Do returns "remove look".
func (e *RemoveLook) Do() string { return "remove look" }

// Words says what the edit does.
func (e *RemoveLook) Words() string { return fmt.Sprintf("removing the look %q", e.Look) }

func (e *RemoveLook) edit(f *files) error {
	return removeNamed(f, looksFile, "looks", "look", e.Look, lookNames)
}

// removeNamed removes an entry of a mapping that nothing uses, and with the last one the
// mapping.
func removeNamed(f *files, file, mapping, what, name string, n namespace) error {
	if err := f.needKey(file, place{mapping}, what, name); err != nil {
		return err
	}
	if uses := f.uses(n, func(text string) bool { return text == name }); len(uses) > 0 {
		return refuse(file, 0, fmt.Sprintf("the %s %q is used: %s", what, language.Shorten(name), listUses(uses)), "remove it there first")
	}
	return f.prune(file, place{mapping, name}, 1)
}

// SetLookLevel sets a level that a look gives to a group or fixture.
type SetLookLevel struct {
	Look  string `json:"look"`
	On    string `json:"on"`    // a group, a fixture or a range of fixtures
	Level string `json:"level"` // intensity, uv, strobe, pan, tilt, haze or fan
	To    Value  `json:"to"`    // such as "40 %"; null takes it away
}

// Do returns "set look level".
func (e *SetLookLevel) Do() string { return "set look level" }

// Words says what the edit does.
func (e *SetLookLevel) Words() string {
	return fmt.Sprintf("%s of %s to %v in the look %q", e.Level, e.On, e.To, e.Look)
}

func (e *SetLookLevel) edit(f *files) error { return setLookLevel(f, e.Look, e.On, e.Level, e.To) }

// SetLookColour sets the colour that a look gives to a group or fixture.
type SetLookColour struct {
	Look string `json:"look"`
	On   string `json:"on"`
	To   Value  `json:"to"` // a role such as "main", or a colour such as "#ff8040"; null takes it away
}

// Do returns "set look colour".
func (e *SetLookColour) Do() string { return "set look colour" }

// Words says what the edit does.
func (e *SetLookColour) Words() string {
	return fmt.Sprintf("colour of %s to %v in the look %q", e.On, e.To, e.Look)
}

func (e *SetLookColour) edit(f *files) error { return setLookLevel(f, e.Look, e.On, "colour", e.To) }

func setLookLevel(f *files, look, on, level string, to Value) error {
	if err := f.needKey(looksFile, place{"looks"}, "look", look); err != nil {
		return err
	}
	return setLevel(f, looksFile, place{"looks", look}, on, level, to)
}

// SetLookFade sets how long the change to a look takes.
type SetLookFade struct {
	Look string `json:"look"`
	To   Value  `json:"to"` // such as "2 beats", "3 s" or "snap"; null takes it away
}

// Do returns "set look fade".
func (e *SetLookFade) Do() string { return "set look fade" }

// Words says what the edit does.
func (e *SetLookFade) Words() string { return fmt.Sprintf("fade of %v for the look %q", e.To, e.Look) }

func (e *SetLookFade) edit(f *files) error {
	return setKey(f, looksFile, place{"looks"}, "look", e.Look, "fade", e.To)
}

// SetLookEffects sets the effects that run over a look.
type SetLookEffects struct {
	Look string   `json:"look"`
	To   []string `json:"to"` // names, in order; an empty list takes them away
}

// Do returns "set look effects".
func (e *SetLookEffects) Do() string { return "set look effects" }

// Words says what the edit does.
func (e *SetLookEffects) Words() string {
	if len(e.To) == 0 {
		return fmt.Sprintf("no effects over the look %q", e.Look)
	}
	return fmt.Sprintf("%s over the look %q", strings.Join(e.To, ", "), e.Look)
}

func (e *SetLookEffects) edit(f *files) error {
	v := namesValue(e.To)
	v.given = len(e.To) > 0
	return setKey(f, looksFile, place{"looks"}, "look", e.Look, "effects", v)
}

// setKey sets or takes away a key of a named entry.
func setKey(f *files, file string, mapping place, what, name, key string, to Value) error {
	if err := f.needKey(file, mapping, what, name); err != nil {
		return err
	}
	return f.set(file, mapping.under(name, key), to)
}

// SetHouseColour sets a role of the show's own palette, in looks.yaml.
type SetHouseColour struct {
	Role string `json:"role"` // main, second, accent or warm
	To   string `json:"to"`   // such as "#2f6fd0", "rebeccapurple" or "3200 K"
}

// Do returns "set house colour".
func (e *SetHouseColour) Do() string { return "set house colour" }

// Words says what the edit does.
func (e *SetHouseColour) Words() string { return fmt.Sprintf("%s for the house's %s", e.To, e.Role) }

func (e *SetHouseColour) edit(f *files) error {
	if !slices.Contains(language.RoleNames(), e.Role) {
		return unknownName(looksFile, "role", "roles", e.Role, language.RoleNames())
	}
	return f.set(looksFile, place{"palette", e.Role}, Text(e.To))
}
