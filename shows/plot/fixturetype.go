package plot

import (
	"slices"

	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/sheet"
)

// fixtureType is a profile of the rig, with the symbol of its heads on a stage plan: a
// shape for what it does, with a letter of its own.
type fixtureType struct {
	profile *fixtures.Profile
	shape   shape
	letter  string
	count   int // fixtures
}

// shape is what a symbol looks like.
type shape uint8

// The shapes. The program's own; each is explained in the plan's key.
const (
	circle   shape = iota // mixes colours
	square                // light of one colour
	triangle              // moves
	diamond               // haze, fans and all that gives no light
)

var shapeWords = [...]string{circle: "mixes colours", square: "one colour", triangle: "moves", diamond: "no light"}

// typesOf lists the profiles of a rig in the order of the table.
func typesOf(s *shows.Show) (types []fixtureType) {
	seen := map[int32]bool{}
	for _, r := range headRows(s) {
		fixture := s.Program.Heads[r.heads[0]].Fixture
		if seen[fixture] {
			continue
		}
		seen[fixture] = true
		profile := s.Program.Patch.Placements()[fixture].Profile
		i := slices.IndexFunc(types, func(t fixtureType) bool { return t.profile.Name == profile.Name })
		if i < 0 {
			i = len(types)
			types = append(types, fixtureType{profile: profile, shape: shapeOf(profile), letter: letterOf(i)})
		}
		types[i].count++
	}
	return types
}

func shapeOf(p *fixtures.Profile) shape {
	switch {
	case p.Has(fixtures.Pan) || p.Has(fixtures.Tilt):
		return triangle
	case !p.GivesLight() && !p.Has(fixtures.Intensity):
		return diamond
	case p.Coloured():
		return circle
	}
	return square
}

// letterOf counts A to Z, then AA, AB and so on.
func letterOf(n int) string {
	if n < 26 {
		return string(rune('A' + n))
	}
	return letterOf(n/26-1) + letterOf(n%26)
}

// typeOf returns the type of a head's fixture.
func (d *ground) typeOf(head int32) *fixtureType {
	name := d.show.Program.Patch.Placements()[d.show.Program.Heads[head].Fixture].Profile.Name
	return &d.types[slices.IndexFunc(d.types, func(t fixtureType) bool { return t.profile.Name == name })]
}

// symbol draws a type's shape around a point, r millimetres to each side; its letter
// only where it can be read.
func (d *ground) symbol(x, y, r float64, t *fixtureType) {
	edge := min(0.4, r/4)
	switch t.shape {
	case circle:
		d.Disc(x, y, r, sheet.White, sheet.Black, edge)
	case square:
		d.outlined(edge, [2]float64{x - r, y - r}, [2]float64{x + r, y - r}, [2]float64{x + r, y + r}, [2]float64{x - r, y + r})
	case triangle:
		d.outlined(edge, [2]float64{x, y - 1.2*r}, [2]float64{x + 1.2*r, y + r}, [2]float64{x - 1.2*r, y + r})
	case diamond:
		d.outlined(edge, [2]float64{x, y - 1.25*r}, [2]float64{x + 1.25*r, y}, [2]float64{x, y + 1.25*r}, [2]float64{x - 1.25*r, y})
	}
	if size := min(1.3*r, 1.3*r*r/max(0.1, d.Width(t.letter, r, true))); r >= 1.2 {
		d.Bold(x, y+size*0.36, size, sheet.Middle, sheet.Black, t.letter)
	}
}

// outlined fills a polygon in white, with a black edge.
func (d *ground) outlined(width float64, at ...[2]float64) {
	d.Poly(sheet.White, at...)
	for i, from := range at {
		to := at[(i+1)%len(at)]
		d.Line(from[0], from[1], to[0], to[1], width, sheet.Black)
	}
}

// Measures of the key in millimetres.
const (
	keyLine  = 4.2
	keyLines = 14 // at most
)

// keyHigh returns the height of the key.
func (d *ground) keyHigh() float64 {
	return 5 + float64(keyLine*float64(min(keyLines, len(d.types))))
}

// key explains the symbols: the shape's meaning, the profile and how many there are.
func (d *ground) key(x, y, wide float64) {
	d.Bold(x, y, 2.2, sheet.Start, sheet.Black, "symbol, and type of fixture")
	d.Line(x, y+1.2, x+wide-3, y+1.2, 0.3, sheet.Strong)
	for i := range d.types {
		line := y + 5 + float64(keyLine*float64(i))
		if i == keyLines-1 && len(d.types) > keyLines {
			d.Words(x+4.4, line, 2.4, sheet.Start, sheet.Black, itoa(len(d.types)-i)+" more types")
			return
		}
		t := &d.types[i]
		d.symbol(x+1.6, line-0.8, 1.5, t)
		d.Bold(x+4.4, line, 2.4, sheet.Start, sheet.Black, d.Fits(t.profile.Name, 2.4, 30, true))
		d.Words(x+36, line, 2.4, sheet.Start, sheet.Black, language.Count(t.count, "fixture")+", "+shapeWords[t.shape])
	}
}
