package panel

import (
	"fmt"
	"net/http"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/explain"
	"tactus/shows/position"
)

// Description holds what does not change from frame to frame. Indexes elsewhere
// refer to its lists, and are valid for its Revision only.
type Description struct {
	Revision  uint64     `json:"revision"`
	Show      string     `json:"show"`
	Venue     string     `json:"venue"`
	Rehearsal bool       `json:"rehearsal"` // a rehearsal: requests do not affect a real show
	Walk      bool       `json:"walk"`      // a walk through the rig, not a show
	Heads     []Head     `json:"heads"`
	Groups    []Group    `json:"groups"`
	Universes []Universe `json:"universes"`
	Songs     []Song     `json:"songs"`
	Set       string     `json:"set"`
	SetList   []int32    `json:"setList"` // song indexes, in the order of the set
	Looks     []string   `json:"looks"`
	Requests  []Request  `json:"requests"` // requests under ask/
	Player    []Request  `json:"player"`   // requests to a rehearsal's player, under player/
}

// Head is one head of a fixture.
type Head struct {
	Name     string     `json:"name"`
	At       [3]float64 `json:"at"`   // metres: house left (-) to right, front to back, height
	Kind     string     `json:"kind"` // colour, white, haze or other
	Moves    bool       `json:"moves"`
	Keep     bool       `json:"keep"`   // only a cue that names it changes it
	Spared   bool       `json:"spared"` // blackout does not change it
	House    bool       `json:"house"`
	Profile  string     `json:"profile"`
	Universe int        `json:"universe"` // index in Universes
	Address  int        `json:"address"`  // of its fixture, 1..512
	Slots    int        `json:"slots"`    // of its fixture
}

// Group is a named set of heads.
type Group struct {
	Name  string  `json:"name"`
	Heads []int32 `json:"heads"`
}

// Universe is one DMX universe.
type Universe struct {
	Name     string `json:"name"`
	Protocol string `json:"protocol"`
	Number   int    `json:"number"`
	Label    string `json:"label"` // for people: "stage (sACN 1)"
}

// Song is a song of the show. Beats are quarter notes from its first downbeat.
type Song struct {
	Name     string    `json:"name"`
	Meter    string    `json:"meter"`
	BPM      float64   `json:"bpm"` // beats a minute, as the meter counts them
	Length   float64   `json:"length"`
	Palette  []string  `json:"palette"` // main, second, accent, warm
	Sections []Section `json:"sections"`
	Cues     []Cue     `json:"cues"`
	Bars     []float64 `json:"bars"` // beat at which each bar begins
}

// Section is a part of a song.
type Section struct {
	Name   string  `json:"name"`
	Start  float64 `json:"start"`
	Length float64 `json:"length"`
	Energy int8    `json:"energy"`
	Loop   bool    `json:"loop"`
	Spoken bool    `json:"spoken"`
	Note   int     `json:"note"` // MIDI note that starts it, or -1
}

// Cue is a change of light at a beat.
type Cue struct {
	At      float64  `json:"at"`
	Place   string   `json:"place"`
	Look    string   `json:"look"`
	Fade    string   `json:"fade"`    // length of the fade, such as "2 s" or "4 beats"; "": at once
	Effects []string `json:"effects"` // effects on top of the look
	Sends   bool     `json:"sends"`   // only sends messages and does not change the light
	Written string   `json:"written"` // file and line
}

// Request is a request that the panel accepts; With names its arguments and Words
// say what it does.
type Request struct {
	Path  string `json:"path"`
	With  string `json:"with"`
	Words string `json:"words"`
}

func quarters(b clock.Beat) float64 { return float64(b) / float64(clock.Quarter) }

// describe returns the description of a program.
func describe(p *engine.Program, show *shows.Show) *Description {
	d := &Description{
		Show: p.Name, Venue: show.Venue, Set: p.SetName, SetList: append([]int32{}, p.SetList...), Universes: []Universe{},
		Heads: make([]Head, len(p.Heads)), Groups: make([]Group, len(p.Groups)),
		Looks: make([]string, len(p.Looks)), Songs: make([]Song, len(p.Songs)),
	}
	for i := range p.Heads {
		d.Heads[i] = describeHead(p, i)
	}
	for i, g := range p.Groups {
		d.Groups[i] = Group{g.Name, g.Heads}
	}
	for i := range p.Looks {
		d.Looks[i] = p.Looks[i].Name
	}
	for _, u := range show.Outputs.Universes {
		d.Universes = append(d.Universes, Universe{u.Name, u.Protocol.String(), u.Number, u.Label()})
	}
	for i := range p.Songs {
		d.Songs[i] = describeSong(p, &p.Songs[i])
	}
	for _, a := range commands.Addresses() {
		d.Requests = append(d.Requests, Request{a.Path, a.DescribeArgs(), a.Description()})
	}
	return d
}

func describeHead(p *engine.Program, i int) Head {
	h := &p.Heads[i]
	at := &p.Patch.Placements()[h.Fixture]
	kind := "other"
	switch {
	case at.Profile.Has(fixtures.Haze):
		kind = "haze"
	case at.Profile.Coloured():
		kind = "colour"
	case at.Profile.GivesLight() || at.Profile.Has(fixtures.Intensity):
		kind = "white"
	}
	return Head{
		Name: h.Name, At: [3]float64{h.At.X, h.At.Y, h.At.Z}, Kind: kind,
		Moves: at.Profile.Has(fixtures.Pan) || at.Profile.Has(fixtures.Tilt),
		Keep:  h.Keep, Spared: h.Spared, House: h.House,
		Profile: at.Profile.Name, Universe: at.Universe, Address: at.Address, Slots: at.Profile.Footprint(),
	}
}

func describeSong(p *engine.Program, s *engine.Song) Song {
	out := Song{
		Name: s.Name, Meter: s.Meter.String(), BPM: round(s.Meter.PerBeat(s.Tempo).BPM(), 100), Length: quarters(s.Length()),
		Sections: make([]Section, len(s.Sections)), Cues: make([]Cue, len(s.Cues)),
	}
	for _, c := range s.Palette {
		out.Palette = append(out.Palette, cssColour(c))
	}
	for i, x := range s.Sections {
		note := -1
		if x.Note <= 127 {
			note = int(x.Note)
		}
		out.Sections[i] = Section{x.Name, quarters(x.Start), quarters(x.Length), x.Energy, x.Loop, x.Spoken, note}
	}
	for i := range s.Cues {
		c := &s.Cues[i]
		out.Cues[i] = Cue{quarters(c.At), position.Name(s, c.At), c.Name, explain.SpanWords(c.Fade), effectNames(p, c), c.SendsOnly, c.Source}
	}
	for at := clock.Beat(0); at < s.Length(); at = s.NextBar(at) {
		out.Bars = append(out.Bars, quarters(at))
	}
	return out
}

func effectNames(p *engine.Program, c *engine.Cue) []string {
	names := make([]string, len(c.Effects))
	for i, effect := range c.Effects {
		names[i] = p.Effects[effect].Name
	}
	return names
}

// cssColour returns the sRGB code (IEC 61966-2-1) of a colour of linear light, as CSS
// writes it.
func cssColour(c fixtures.RGB) string {
	code := func(v float64) uint8 { return code8(fixtures.EncodeSRGB(min(max(v, 0), 1))) }
	return fmt.Sprintf("#%02x%02x%02x", code(c[0]), code(c[1]), code(c[2]))
}

// code8 converts 0..1 to 0..255.
func code8(v float64) uint8 { return uint8(float64(min(max(v, 0), 1)*255) + 0.5) }

func (p *Panel) show(w http.ResponseWriter, _ *http.Request) {
	program, revision := p.current()
	d := describe(program, p.c.Show)
	d.Revision, d.Rehearsal, d.Walk = revision, p.c.Rehearsal, p.c.Walker != nil
	if p.c.Player != nil {
		for _, x := range playerAddresses() {
			d.Player = append(d.Player, Request{x.path, x.with, x.words})
		}
	}
	send(w, http.StatusOK, d)
}
