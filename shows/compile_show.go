package shows

import (
	"fmt"
	"slices"
	"unicode/utf8"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/shows/language"
)

func (c *compiler) compileShow() {
	p := c.program
	p.Name = c.show.Get("show").Word()
	p.EffectsStop = c.show.Get("while stopped").Word() == "effects settle"
	p.ReleaseFade = c.show.Get("after a hold").Time(2 * clock.Second)
	p.Ease = c.show.Get("house lights take").Time(2 * clock.Second)
	p.Window = c.show.Get("daw").Get("note window").Time(120 * clock.Millisecond)
	p.Phrase = 4
	if v := c.show.Get("phrase"); v != nil {
		amount, _ := language.Measure(v.Text)
		p.Phrase = uint8(language.Float(amount))
	}
	p.RunsOn = c.show.Get("daw").Get("song position").Word() == "runs on"
	c.outputs.Exit = exitOf(c.show.Get("on exit"))
	c.outputs.Messages = c.messages()
	c.outputs.SACN = SACNSettings{SourceName: cutBytes(p.Name, 63)}
	c.compileChannels(c.show.Get("daw").Get("channels"))
	c.compileControls(c.show.Get("daw").Get("notes"))
}

func exitOf(v *language.Value) Exit {
	rule, over := v.Word(), v.Get("over")
	if do := v.Get("do"); do != nil {
		rule = do.Text
	}
	e := Exit{Rule: ExitFade}
	switch rule {
	case "hold":
		e.Rule = ExitHold
	case "terminate":
		e.Rule = ExitTerminate
	default:
		e.Over = over.Time(3 * clock.Second)
	}
	return e
}

// cutBytes shortens text to at most n bytes of whole letters.
func cutBytes(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n]
}

func (c *compiler) sources() Sources {
	v := c.show.Get("clock")
	if v == nil {
		return Sources{true, true, true}
	}
	var s Sources
	for _, item := range v.Items() {
		s.MIDI = s.MIDI || item.Text == "midi"
		s.Tap = s.Tap || item.Text == "tap"
		s.Internal = s.Internal || item.Text == "internal"
	}
	return s
}

// compileChannels reads the MIDI channels. Those of section notes must differ: a note
// has one meaning.
func (c *compiler) compileChannels(v *language.Value) {
	taken := map[int64]string{}
	channel := func(key string, otherwise int64) uint8 {
		at := v.Get(key)
		n := at.Num(otherwise) // 0 for "none"
		if other := taken[n]; n > 0 && other != "" {
			if at == nil {
				at = v.Get(other)
			}
			c.At(at, fmt.Sprintf("channel %d is both %q and %q", n, other, key), "give each a channel of its own, or none", "")
		}
		taken[n] = key
		return uint8(n)
	}
	n := &c.program.Notes
	n.Fire = channel("fire", 1)
	n.Arm[engine.NextBeat] = channel("arm at beat", 2)
	n.Arm[engine.NextBar] = channel("arm at bar", 3)
	n.Arm[engine.SectionEnd] = channel("arm at section end", 4)
	n.Arm[engine.NextPhrase] = channel("arm at phrase", 0)
	n.Control = uint8(v.Get("control").Num(16)) // 0 for "any"
}

func (c *compiler) compileControls(v *language.Value) {
	taken := map[int64]string{}
	n := &c.program.Notes
	rows := commands.ByNote()
	for _, r := range rows { // the show's own notes come first
		if at := v.Get(r.Name); at != nil && at.Word() != "none" && taken[at.Number] == "" {
			taken[at.Number] = r.Name
		}
	}
	yield := n.Control == 0 || n.Control == n.Fire || slices.Contains(n.Arm[:], n.Control)
	for _, r := range rows {
		at, usual := v.Get(r.Name), int64(r.Note)
		if at.Word() == "none" || at == nil && r.NoteYields && (yield || taken[usual] != "") {
			continue
		}
		note := at.Num(usual)
		if other := taken[note]; other != "" && other != r.Name {
			if at == nil {
				at = v.Get(other)
			}
			c.At(at, fmt.Sprintf("note %d is both %q and %q", note, other, r.Name), "give each a note of its own, or none", "")
			continue
		}
		taken[note] = r.Name
		switch r.Event {
		case clock.Tap:
			n.Tap = uint8(note)
		case clock.Halve:
			n.Halve = uint8(note)
		case clock.Double:
			n.Double = uint8(note)
		default:
			n.Controls[note] = r.Kind()
		}
	}
}

// compileFaders reads which controllers move which masters.
func (c *compiler) compileFaders(v *language.Value) {
	names := []string{grandMaster}
	for i := range c.program.Groups {
		names = append(names, c.program.Groups[i].Name)
	}
	taken := map[int64]string{}
	for _, e := range v.All() {
		i := slices.Index(names, e.Key.Text)
		if i < 0 {
			c.Unknown(e.Key, "group", "masters", names)
			continue
		}
		controller := e.Value.Num(0)
		if other := taken[controller]; other != "" {
			c.At(e.Value, fmt.Sprintf("controller %d moves %q already", controller, other), "give each a controller of its own", "")
			continue
		}
		taken[controller] = e.Key.Text
		c.program.Notes.Faders[controller] = int32(i - 1)
		if i == 0 {
			c.program.Notes.Faders[controller] = engine.AllFader
		}
	}
}

// grandMaster is its name among the faders; a group of that name has no fader.
const grandMaster = "grand master"
