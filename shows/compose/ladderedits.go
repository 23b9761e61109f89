package compose

import (
	"fmt"
	"slices"
	"strconv"

	yaml "go.yaml.in/yaml/v4"

	"tactus/shows/language"
	"tactus/shows/yamltext"
)

// rungs is the place of the ladder's rungs in the looks file.
func rungs() place { return place{"ladder", "rungs"} }

// AddRung adds a rung to the ladder, behind those of at most its energy.
type AddRung struct {
	Energy  int      `json:"energy"` // 0 to 10: the lowest of the sections that use it
	Look    string   `json:"look"`
	Effects []string `json:"effects,omitempty"` // names, in order; without it those of the look, and an empty list for none
}

// Do returns "add rung".
func (e *AddRung) Do() string { return "add rung" }

// Words says what the edit does.
func (e *AddRung) Words() string {
	return fmt.Sprintf("new rung of the ladder: %s from energy %d", e.Look, e.Energy)
}

func (e *AddRung) edit(f *files) error {
	v := object("energy", Number(e.Energy))
	v.put("look", Text(e.Look))
	if e.Effects != nil {
		v.put("effects", namesValue(e.Effects))
	}
	energies, err := f.energies()
	if err != nil {
		return err
	}
	if len(energies) > 0 {
		i := 0
		for i < len(energies) && energies[i] <= e.Energy {
			i++
		}
		return f.insert(looksFile, rungs(), i, v)
	}
	list := Value{given: true, isList: true, list: []Value{v}}
	if ladder, err := f.node(looksFile, place{"ladder"}); err != nil || ladder != nil {
		if err != nil {
			return err
		}
		return f.set(looksFile, rungs(), list)
	}
	return f.inPlace(looksFile, func(d *yamltext.Document) error {
		return d.AddBlock(nil, "ladder", object("rungs", list).String(), []string{"rungs:", "  - " + v.String()}, "")
	})
}

// energies lists the energies of the ladder's rungs; -1 where one is missing.
func (f *files) energies() (list []int, err error) {
	n, err := f.node(looksFile, rungs())
	if err != nil || n == nil || n.Kind != yaml.SequenceNode {
		return nil, err
	}
	for _, item := range n.Content {
		energy := -1
		if v := inside(item, "energy"); v != nil {
			if energy, err = strconv.Atoi(v.Value); err != nil {
				energy = -1
			}
		}
		list = append(list, energy)
	}
	return list, nil
}

// needRung returns the energies of the ladder's rungs, or an error unless it has one of an
// index.
func (f *files) needRung(i int) ([]int, error) {
	energies, err := f.energies()
	if err == nil && (i < 0 || i >= len(energies)) {
		err = refuse(looksFile, 0, fmt.Sprintf("there is no rung %d", i+1), "the ladder has "+language.Count(len(energies), "rung"))
	}
	return energies, err
}

// SetRung sets a key of a rung. One that gets another energy moves to where it belongs.
type SetRung struct {
	Rung int    `json:"rung"` // its index, from 0
	Key  string `json:"key"`  // energy, look or effects
	To   Value  `json:"to"`   // such as 7, "embers" or ["sway"]; null takes the effects away, and then those of the look run
}

// Do returns "set rung".
func (e *SetRung) Do() string { return "set rung" }

// Words says what the edit does.
func (e *SetRung) Words() string {
	return fmt.Sprintf("%s of %v for rung %d of the ladder", e.Key, e.To, e.Rung+1)
}

func (e *SetRung) edit(f *files) error {
	energies, err := f.needRung(e.Rung)
	if err != nil {
		return err
	}
	at := rungs().under(e.Rung)
	if err := f.set(looksFile, at.under(e.Key), e.To); err != nil || e.Key != "energy" {
		return err
	}
	energy, err := strconv.Atoi(e.To.text)
	if err != nil {
		return nil // the loader says what is wrong with it
	}
	least, most := 0, 0 // its place among the others
	for i, other := range energies {
		if i != e.Rung && other < energy {
			least++
		}
		if i != e.Rung && other <= energy {
			most++
		}
	}
	if to := min(max(e.Rung, least), most); to != e.Rung {
		return f.moveItem(looksFile, at, to)
	}
	return nil
}

// MoveRung moves the light of a rung to another place of the ladder. Energies stay at their
// places: those between are lit by the next rung of before.
type MoveRung struct {
	Rung int `json:"rung"` // its index, from 0
	To   int `json:"to"`   // its index afterwards
}

// Do returns "move rung".
func (e *MoveRung) Do() string { return "move rung" }

// Words says what the edit does.
func (e *MoveRung) Words() string {
	return fmt.Sprintf("rung %d of the ladder as rung %d", e.Rung+1, e.To+1)
}

func (e *MoveRung) edit(f *files) error {
	energies, err := f.needRung(e.Rung)
	if err != nil {
		return err
	}
	if _, err := f.needRung(e.To); err != nil {
		return err
	}
	if e.To == e.Rung {
		return nil
	}
	if err := f.moveItem(looksFile, rungs().under(e.Rung), e.To); err != nil {
		return err
	}
	for i := min(e.Rung, e.To); i <= max(e.Rung, e.To); i++ {
		if energies[i] < 0 {
			continue // a fault, which stays
		}
		if err := f.set(looksFile, rungs().under(i, "energy"), Number(energies[i])); err != nil {
			return err
		}
	}
	return nil
}

// RemoveRung removes a rung of the ladder.
type RemoveRung struct {
	Rung int `json:"rung"` // its index, from 0
}

// Do returns "remove rung".
func (e *RemoveRung) Do() string { return "remove rung" }

// Words says what the edit does.
func (e *RemoveRung) Words() string { return fmt.Sprintf("removing rung %d of the ladder", e.Rung+1) }

func (e *RemoveRung) edit(f *files) error {
	energies, err := f.needRung(e.Rung)
	if err != nil {
		return err
	}
	if len(energies) == 1 {
		return refuse(looksFile, 0, "the ladder would have no rung", "at least one")
	}
	return f.removeItem(looksFile, rungs().under(e.Rung))
}

// levelMoments lists the keys of the ladder that have levels, and no look.
func levelMoments() []string { return []string{"begin", "instrumental"} }

// SetMoment sets the light that the ladder has for a moment of a song.
type SetMoment struct {
	Moment string `json:"moment"` // breath, breakdown, spoken or end
	Key    string `json:"key"`    // look or effects
	To     Value  `json:"to"`     // such as "dark" or ["sway"]; null takes the effects away, or the moment with its look
}

// Do returns "set moment".
func (e *SetMoment) Do() string { return "set moment" }

// Words says what the edit does.
func (e *SetMoment) Words() string {
	return fmt.Sprintf("%s of %v for %s in the ladder", e.Key, e.To, e.Moment)
}

func (e *SetMoment) edit(f *files) error {
	at, err := f.needMoment(e.Moment, language.Moments())
	if err != nil {
		return err
	}
	n, err := f.node(looksFile, at)
	switch {
	case err != nil:
		return err
	case e.Key == "look" && (!e.To.given || n == nil || n.Kind == yaml.ScalarNode):
		return f.set(looksFile, at, e.To)
	case n == nil:
		return refuse(looksFile, 0, fmt.Sprintf("%q has no look", e.Moment), "set its look first")
	case !e.To.given && n.Kind == yaml.ScalarNode:
		return nil
	}
	if err := f.momentInFull(at); err != nil {
		return err
	}
	return f.set(looksFile, at.under(e.Key), e.To)
}

// needMoment returns the place of a moment, which need not be there, of those named.
func (f *files) needMoment(moment string, of []string) (place, error) {
	if !slices.Contains(of, moment) {
		return nil, unknownName(looksFile, "moment", "moments", moment, of)
	}
	ladder, err := f.node(looksFile, place{"ladder"})
	if err == nil && ladder == nil {
		err = refuse(looksFile, 0, "the show has no ladder", "add a rung first")
	}
	return place{"ladder", moment}, err
}

// momentInFull writes a moment that has only a look's name as a mapping with the look.
func (f *files) momentInFull(at place) error {
	n, err := f.node(looksFile, at)
	if err != nil || n == nil || n.Kind != yaml.ScalarNode {
		return err
	}
	return f.replace(looksFile, at, object("look", Text(n.Value)))
}

// SetMomentLevel sets a level that the ladder gives to a group or fixture at a moment.
type SetMomentLevel struct {
	Moment string `json:"moment"` // begin, instrumental, breath, breakdown, spoken or end
	On     string `json:"on"`     // a group, a fixture or a range of fixtures
	Level  string `json:"level"`  // colour, intensity, uv, strobe, pan, tilt, haze or fan
	To     Value  `json:"to"`     // such as "40 %"; null takes it away
}

// Do returns "set moment level".
func (e *SetMomentLevel) Do() string { return "set moment level" }

// Words says what the edit does.
func (e *SetMomentLevel) Words() string {
	return fmt.Sprintf("%s of %s to %v for %s in the ladder", e.Level, e.On, e.To, e.Moment)
}

func (e *SetMomentLevel) edit(f *files) error {
	at, err := f.needMoment(e.Moment, append(levelMoments(), language.Moments()...))
	if err != nil {
		return err
	}
	if slices.Contains(levelMoments(), e.Moment) {
		if e.To.given {
			return f.set(looksFile, at.under(e.On, e.Level), e.To)
		}
		return f.prune(looksFile, at.under(e.On, e.Level), len(at))
	}
	n, err := f.node(looksFile, at)
	switch {
	case err != nil:
		return err
	case n == nil:
		return refuse(looksFile, 0, fmt.Sprintf("%q has no look", language.Shorten(e.Moment)), "set its look first")
	case !e.To.given && n.Kind == yaml.ScalarNode:
		return nil
	}
	if err := f.momentInFull(at); err != nil {
		return err
	}
	return setLevel(f, looksFile, at, e.On, e.Level, e.To)
}
