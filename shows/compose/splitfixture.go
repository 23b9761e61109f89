package compose

import (
	"fmt"
	"slices"

	yaml "go.yaml.in/yaml/v4"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
)

// SplitFixture writes a range of fixtures as single ones, each with its own address and
// place, so that they can be moved one by one. What names the range stays right.
type SplitFixture struct {
	Fixture string `json:"fixture"` // a range as the rig file has it: "wash 1-4"
}

// Do returns "split fixture".
func (e *SplitFixture) Do() string { return "split fixture" }

// Words says what the edit does.
func (e *SplitFixture) Words() string { return fmt.Sprintf("%q as single fixtures", e.Fixture) }

func (e *SplitFixture) edit(f *files) error {
	if err := needFixture(f, e.Fixture); err != nil {
		return err
	}
	names := fixturesOf(e.Fixture)
	if len(names) < 2 {
		return refuse(rigFile, 0, fmt.Sprintf("%q is a single fixture", language.Shorten(e.Fixture)), "a range such as wash 1-4")
	}
	singles, err := e.singles(f, names)
	if err != nil {
		return err
	}
	if err := f.renameKey(rigFile, place{"fixtures", e.Fixture}, names[0]); err != nil {
		return err
	}
	for i, key := range singles[0].keys {
		if err := f.set(rigFile, place{"fixtures", names[0], key}, singles[0].values[i]); err != nil {
			return err
		}
	}
	for _, key := range []string{"every", "from", "to"} {
		if slices.Contains(singles[0].keys, key) {
			continue
		}
		if err := f.set(rigFile, place{"fixtures", names[0], key}, Value{}); err != nil {
			return err
		}
	}
	for i := 1; i < len(names); i++ {
		if err := f.add(rigFile, place{"fixtures"}, names[i], singles[i], names[i-1]); err != nil {
			return err
		}
	}
	return nil
}

// singles returns what the rig file has of each fixture of the range.
func (e *SplitFixture) singles(f *files, names []string) ([]Value, error) {
	rig, problems := f.rig()
	if len(problems) > 0 {
		return nil, problems
	}
	n, err := f.node(rigFile, place{"fixtures", e.Fixture})
	if err != nil {
		return nil, err
	}
	placements := rig.Program.Patch.Placements()
	var list []Value
	for _, name := range names {
		i := slices.IndexFunc(placements, func(p fixtures.Placement) bool { return p.Name == name })
		p := &placements[i]
		v := Value{given: true}
		for k := 0; k+1 < len(n.Content); k += 2 {
			key, value := n.Content[k].Value, valueOf(n.Content[k+1])
			switch key {
			case "every", "to":
				continue
			case "address":
				value = Number(p.Address)
			case "from":
				heads := rig.Program.Heads[p.Head : p.Head+p.Profile.Heads]
				first, last := heads[0].At, heads[len(heads)-1].At
				if len(heads) > 1 {
					v.put("from", metresOf(first))
					v.put("to", metresOf(last))
					continue
				}
				key, value = "at", metresOf(first)
			}
			v.put(key, value)
		}
		list = append(list, v)
	}
	return list, nil
}

func metresOf(p engine.Point) Value { return metres([]float64{p.X, p.Y, p.Z}) }

// rig compiles the rig alone.
func (f *files) rig() (*shows.Show, language.Problems) {
	var list []*language.File
	for _, name := range f.names("") {
		if kind, _ := language.KindOf(name); kind == language.ShowFile || kind == language.RigFile || kind == language.ProfileFile {
			file, problems := f.loader.Parse(name, f.sources[name])
			if len(problems) > 0 {
				return nil, problems
			}
			list = append(list, file)
		}
	}
	return f.loader.Compile(list, shows.Options{RigOnly: true})
}

// valueOf returns a value as a file has it.
func valueOf(n *yaml.Node) Value {
	v := Value{given: true}
	switch n.Kind {
	case yaml.SequenceNode:
		v.isList = true
		for _, item := range n.Content {
			v.list = append(v.list, valueOf(item))
		}
	case yaml.MappingNode:
		v.keys = []string{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			v.put(n.Content[i].Value, valueOf(n.Content[i+1]))
		}
	default:
		v.text, v.quoted = n.Value, n.ShortTag() == "!!str"
	}
	return v
}
