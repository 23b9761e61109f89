package shows

import (
	"fmt"
	"slices"
	"unicode/utf8"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
)

func (c *compiler) compileShow() {
	p := c.program
	p.Name = c.show.get("show").word()
	p.Settle = c.show.get("while stopped").word() == "effects settle"
	p.Unheld = c.show.get("after a hold").time(2 * clock.Second)
	p.Ease = c.show.get("house lights take").time(2 * clock.Second)
	p.Window = c.show.get("daw").get("note window").time(120 * clock.Millisecond)
	p.Phrase = 4
	if v := c.show.get("phrase"); v != nil {
		amount, _ := measure(v.text)
		p.Phrase = uint8(float(amount))
	}
	p.RunsOn = c.show.get("daw").get("song position").word() == "runs on"
	c.outputs.Exit = exitOf(c.show.get("on exit"))
	c.outputs.Messages = c.messages()
	c.outputs.SACN = SACNSettings{SourceName: cutBytes(p.Name, 63)}
	c.compileChannels(c.show.get("daw").get("channels"))
	c.compileControls(c.show.get("daw").get("notes"))
}

func exitOf(v *value) Exit {
	rule, over := v.word(), v.get("over")
	if do := v.get("do"); do != nil {
		rule = do.text
	}
	e := Exit{Rule: ExitFade}
	switch rule {
	case "hold":
		e.Rule = ExitHold
	case "terminate":
		e.Rule = ExitTerminate
	default:
		e.Over = over.time(3 * clock.Second)
	}
	return e
}

// cutBytes shortens a text to at most n bytes without splitting a letter.
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
	v := c.show.get("clock")
	if v == nil {
		return Sources{true, true, true}
	}
	var s Sources
	for _, item := range v.items() {
		s.MIDI = s.MIDI || item.text == "midi"
		s.Tap = s.Tap || item.text == "tap"
		s.Internal = s.Internal || item.text == "internal"
	}
	return s
}

// compileChannels sets who listens where. The four channels of section notes
// have to differ, or a note would mean two things.
func (c *compiler) compileChannels(v *value) {
	taken := map[int64]string{}
	channel := func(key string, otherwise int64) uint8 {
		at := v.get(key)
		n := at.num(otherwise) // 0 for "none"
		if other := taken[n]; n > 0 && other != "" {
			if at == nil {
				at = v.get(other)
			}
			c.at(at, fmt.Sprintf("channel %d is both %q and %q", n, other, key), "give each a channel of its own, or none", "")
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
	n.Control = uint8(v.get("control").num(16)) // 0 for "any"
}

func (c *compiler) compileControls(v *value) {
	taken := map[int64]string{}
	n := &c.program.Notes
	rows := commands.Noted()
	for _, r := range rows { // notes that the show gives away come first
		if at := v.get(r.Name); at != nil && at.word() != "none" && taken[at.number] == "" {
			taken[at.number] = r.Name
		}
	}
	yield := n.Control == 0 || n.Control == n.Fire || slices.Contains(n.Arm[:], n.Control)
	for _, r := range rows {
		at, usual := v.get(r.Name), int64(r.Note)
		if at.word() == "none" || at == nil && r.Yields && (yield || taken[usual] != "") {
			continue
		}
		note := at.num(usual)
		if other := taken[note]; other != "" && other != r.Name {
			if at == nil {
				at = v.get(other)
			}
			c.at(at, fmt.Sprintf("note %d is both %q and %q", note, other, r.Name), "give each a note of its own, or none", "")
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
func (c *compiler) compileFaders(v *value) {
	names := []string{grandMaster}
	for i := range c.program.Groups {
		names = append(names, c.program.Groups[i].Name)
	}
	taken := map[int64]string{}
	for _, e := range v.all() {
		i := slices.Index(names, e.key.text)
		if i < 0 {
			c.unknown(e.key, "group", "masters", names)
			continue
		}
		controller := e.value.num(0)
		if other := taken[controller]; other != "" {
			c.at(e.value, fmt.Sprintf("controller %d moves %q already", controller, other), "give each a controller of its own", "")
			continue
		}
		taken[controller] = e.key.text
		c.program.Notes.Faders[controller] = int32(i - 1)
		if i == 0 {
			c.program.Notes.Faders[controller] = engine.AllFader
		}
	}
}

// grandMaster is what faders call it; a group of that name has none.
const grandMaster = "grand master"
