package written

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/position"
	"tactus/shows/songtext"
)

// Song is a song's file. Places in it are quarter notes from its first downbeat, and bars
// from 1.
type Song struct {
	File      string            `json:"file"` // path inside the show folder
	Name      string            `json:"name"`
	Tempo     float64           `json:"tempo"` // beats a minute at the start, as the meter counts them
	Meter     string            `json:"meter"` // at the start, such as 6/8
	Character []string          `json:"character"`
	Palette   map[string]Colour `json:"palette"` // by role
	Length    float64           `json:"length"`  // quarter notes
	Bars      []float64         `json:"bars"`    // where each bar begins
	Sections  []Section         `json:"sections"`
	Cues      []Cue             `json:"cues"`     // those of the list of cues; a section's own light is in the section
	AfterEnd  string            `json:"afterEnd"` // the look after the last section; "": the light stays
	Program   int               `json:"program"`  // the MIDI program that selects it, 1..128; 0: not written, its place in the set does
	Faulty    bool              `json:"faulty"`   // the file has faults, and parts of it are missing here
}

// Section is a section as written. A look, effects or a fade that it writes is a cue at its
// first bar.
type Section struct {
	Name   string  `json:"name"` // numbered where the kind comes more than once: "chorus 2"
	Kind   string  `json:"kind"` // as the file writes it: "chorus"
	Line   int     `json:"line"` // in the file
	From   int     `json:"from"` // its first bar in the song, from 1
	Bars   int     `json:"bars"`
	Start  float64 `json:"start"` // quarter notes from the first downbeat
	Beats  float64 `json:"beats"` // its length in quarter notes
	Energy int     `json:"energy"`
	Loop   bool    `json:"loop"`
	Spoken bool    `json:"spoken"`
	Light
	Up Up `json:"up"`
	// Strength is the measured light, 0..10. It is null here: the request "measured" has it.
	Strength *float64 `json:"strength"`
}

// Cue is a cue of a song's list of cues, as written.
type Cue struct {
	At      string  `json:"at"`      // place as written: "chorus 2, bar 3"
	Line    int     `json:"line"`    // in the file
	Section int     `json:"section"` // index of the section in which it is; -1: not known
	Start   float64 `json:"start"`   // quarter notes from the first downbeat
	Bar     int     `json:"bar"`     // in the song, from 1; 0: not known
	Beat    float64 `json:"beat"`    // in the bar, from 1, as the meter counts beats
	In      string  `json:"in"`      // the passes that it is for, such as "again"; "": all
	Lands   bool    `json:"lands"`   // its fade ends at the place
	Drafted bool    `json:"drafted"` // the line is as it was drafted: the next draft may change it
	Light
}

// Light is what a section or cue writes about light. Empty texts and null lists are not
// written, and then as before.
type Light struct {
	Look       string   `json:"look"`
	Effects    []string `json:"effects"` // null: not written; ["none"]: none
	Fade       string   `json:"fade"`
	ColourFade string   `json:"colourFade"`
	Set        []Levels `json:"set"`   // levels over the look
	Build      string   `json:"build"` // rise, ebb or none
	Sends      bool     `json:"sends"` // it sends messages
}

// Up is the light at the start of a section as planned, whether it is written there or
// before.
type Up struct {
	Look    string   `json:"look"`
	Effects []string `json:"effects"`
}

// songOf returns what a song's file says by itself.
func songOf(f *language.File) Song {
	v := f.Root
	s := Song{
		File: f.Name, Name: v.Get("song").Word(), Meter: v.Get("meter").Word(), Character: texts(v.Get("character")),
		Palette: palette(v.Get("palette"), nil), Bars: []float64{}, Sections: []Section{}, Cues: []Cue{},
		AfterEnd: v.Get("after the end").Word(), Program: int(v.Get("program").Num(0)), Faulty: f.Faulty,
	}
	if t := v.Get("tempo"); t != nil {
		amount, _ := language.Measure(t.Text)
		s.Tempo = language.Float(amount)
	}
	time := engine.Song{}
	if !f.Faulty {
		time, _ = shows.Timeline(f)
	}
	var bars []clock.Beat
	for at := clock.Beat(0); at < time.Length(); at = time.NextBar(at) {
		bars, s.Bars = append(bars, at), append(s.Bars, at.Quarters())
	}
	s.Length = time.Length().Quarters()
	for _, item := range v.Get("sections").Items() {
		for _, e := range item.All() {
			s.Sections = append(s.Sections, sectionOf(e, &time, len(s.Sections), bars))
		}
	}
	for _, item := range v.Get("cues").Items() {
		s.Cues = append(s.Cues, cueOf(item, &time, bars))
	}
	return s
}

// markDrafted marks the cues whose lines are drafted, and that nobody has changed.
func (s *Song) markDrafted(src []byte) {
	lines := songtext.Read(src).Lines
	for i := range s.Cues {
		if c := &s.Cues[i]; c.Line > 0 && c.Line <= len(lines) {
			c.Drafted = songtext.Untouched(strings.TrimSpace(lines[c.Line-1]), "")
		}
	}
}

func sectionOf(e language.Entry, time *engine.Song, i int, bars []clock.Beat) Section {
	v := e.Value
	s := Section{
		Name: e.Key.Text, Kind: e.Key.Text, Line: e.Key.Line, Bars: int(v.Get("bars").Num(0)), Energy: int(v.Get("energy").Num(0)),
		Loop: v.Get("loop").IsYes(false), Spoken: v.Get("spoken").IsYes(false), Light: lightOf(v), Up: Up{Effects: []string{}},
	}
	if i < len(time.Sections) {
		x := &time.Sections[i]
		s.Name, s.Start, s.Beats, s.From = x.Name, x.Start.Quarters(), x.Length.Quarters(), barAt(bars, x.Start)
	}
	return s
}

func cueOf(v *language.Value, time *engine.Song, bars []clock.Beat) Cue {
	c := Cue{At: v.Get("at").Word(), Line: line(v), Section: -1, In: v.Get("in").Word(), Lands: v.Get("lands").IsYes(false), Light: lightOf(v)}
	if len(time.Sections) == 0 {
		return c
	}
	at, fault := position.FindForCue(time, c.At)
	if fault != nil {
		return c
	}
	c.Start, c.Bar, c.Section = at.Quarters(), barAt(bars, at), len(time.Sections)-1
	for i := range time.Sections {
		if x := &time.Sections[i]; at < x.Start+x.Length {
			c.Section = i
			break
		}
	}
	if c.Bar > 0 {
		start := bars[c.Bar-1]
		c.Beat = 1 + float64(at-start)/float64(time.MeterAt(start).Beat())
	}
	return c
}

// barAt returns the bar, from 1, that has a place; the song's end is in the last.
func barAt(bars []clock.Beat, at clock.Beat) int {
	i, _ := slices.BinarySearchFunc(bars, at, func(bar, at clock.Beat) int {
		if bar <= at {
			return -1
		}
		return 1
	})
	return i
}

func lightOf(v *language.Value) Light {
	l := Light{
		Look: v.Get("look").Word(), Effects: texts(v.Get("effects")), Fade: v.Get("fade").Word(), ColourFade: v.Get("colour fade").Word(),
		Set: levelsOf(v.Get("set")), Build: v.Get("build").Word(), Sends: v.Get("send") != nil,
	}
	if goes := v.Get("build").Get("goes"); goes != nil {
		l.Build = goes.Text
	}
	return l
}

// songIn returns a song with what other files decide: its colours, and which light is up.
func songIn(show *shows.Show, name string, own *Song) Song {
	s := *own
	if show == nil {
		return s
	}
	i := slices.Index(show.Files, name)
	if i < 0 {
		return s
	}
	p := show.Program
	song := &p.Songs[i]
	shown := make([]string, len(song.Palette))
	for k, c := range song.Palette {
		shown[k] = CSS(c)
	}
	s.Palette = map[string]Colour{}
	for k, role := range language.RoleNames() {
		s.Palette[role] = Colour{own.Palette[role].Written, shown[k]}
	}
	s.Sections = slices.Clone(own.Sections)
	for k := range s.Sections {
		if k < len(song.Sections) {
			s.Sections[k].Up = upAt(p, song, song.Sections[k].Start)
		}
	}
	return s
}

// upAt returns the light that is up at a place of a song as planned.
func upAt(p *engine.Program, song *engine.Song, at clock.Beat) Up {
	up := Up{Effects: []string{}}
	for i := range song.Cues {
		c := &song.Cues[i]
		if c.At > at {
			break
		}
		if c.SendsOnly {
			continue
		}
		up = Up{c.Name, []string{}}
		for _, e := range c.Effects {
			up.Effects = append(up.Effects, p.Effects[e].Name)
		}
	}
	return up
}

// CSS returns the sRGB code (IEC 61966-2-1) of a colour of linear light, as CSS writes it.
func CSS(c fixtures.RGB) string {
	code := func(v float64) uint8 { return uint8(fixtures.EncodeSRGB(min(max(v, 0), 1))*255 + 0.5) }
	return fmt.Sprintf("#%02x%02x%02x", code(c[0]), code(c[1]), code(c[2]))
}
