package explain

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
)

// explainer puts an explanation of the engine into words.
type explainer struct {
	show *shows.Show
	x    *engine.Explanation
}

// place says where the music is, and what is held.
func (b *explainer) place() string {
	st := &b.x.Status
	words := fmt.Sprintf("look %q", st.Look)
	if st.Song != engine.None {
		song := &b.show.Program.Songs[st.Song]
		words = song.Name + ", " + position.Name(song, st.Beat)
		_, bar, m := song.BarAt(st.Beat)
		if in := (st.Beat - bar) % m.Beat(); in > 0 {
			words += fmt.Sprintf(" and %.2g beats", float64(in)/float64(m.Beat()))
		}
		if st.Pass > 1 {
			words += fmt.Sprintf(" (pass %d)", st.Pass)
		}
		if b.x.Song != st.Song {
			words += ", before its first cue"
		}
	}
	for _, s := range []struct {
		is   bool
		name string
	}{{st.Held, "held"}, {st.Blackout, "blackout"}, {st.Work, "work light"}} {
		if s.is {
			words += ", " + s.name
		}
	}
	return words
}

// cue names the cue in force.
func (b *explainer) cue() string {
	if b.x.Cue == nil {
		return "no cue yet"
	}
	return b.cueWords(b.x.Cue)
}

func (b *explainer) cueWords(c *engine.Cue) string {
	words := fmt.Sprintf("look %q", c.Name)
	if c.Name == "" {
		words = "a cue without a look"
	}
	if b.x.Song != engine.None {
		words += " at " + position.Name(&b.show.Program.Songs[b.x.Song], c.At)
		if pass := passName(b.x.Pass); pass != "" {
			words += ", in " + pass
		}
	}
	if c.Source != "" {
		words += ", " + c.Source
	}
	return words
}

// passName names a pass as cues do; "" for all.
func passName(p engine.Pass) string {
	switch {
	case p == engine.AgainPass:
		return "again"
	case p == engine.LastPass:
		return "last"
	case p > 0:
		return fmt.Sprintf("pass %d", p)
	}
	return ""
}

// words says what a layer does.
func (b *explainer) words(s *engine.Step, qs []fixtures.Param) string {
	switch s.Layer {
	case engine.LookLayer:
		return b.lookWords(qs)
	case engine.EffectLayer:
		return effectWords(&b.x.Effects[s.Part])
	case engine.BuildLayer:
		verb, share := "grows", s.Share
		if b.x.Cue.Build.Ebbs {
			verb, share = "ebbs", 1-s.Share
		}
		return fmt.Sprintf("the light %s: %s of the way, here at %s of its level", verb, percentOf(share), percentOf(s.Level))
	case engine.FadeLayer:
		share := s.Share
		if len(qs) > 1 {
			share = s.ColourShare
		}
		return percentOf(share) + " of the way from the light before"
	case engine.FloorLayer:
		return "not under " + percentOf(s.Level) + " while someone speaks" + fadedIn(s.Share)
	case engine.HazeLayer:
		d := b.show.Program.Haze
		return fmt.Sprintf("pause of the haze cycle: on for %s of every %s", secondsOf(d.On), secondsOf(d.Every))
	case engine.HoldLayer:
		return "held: look, effects, fade and floors stay as they were"
	case engine.OverrideLayer:
		what := "house lights"
		if s.Part != engine.None {
			what = "group " + b.group(s.Part)
		}
		return what + " overridden at " + percentOf(s.Level) + fadedIn(s.Share)
	case engine.InputLayer:
		f := &b.show.Program.Faders[s.Part]
		return fmt.Sprintf("%s, slot %d: %s, %s", b.show.Program.LevelInputs[f.Input].Name, f.Slot, percentOf(s.Level), f.Takes) + fadedIn(s.Share)
	case engine.MasterLayer:
		if s.Part != engine.None {
			return fmt.Sprintf("master of group %s at %s", b.group(s.Part), percentOf(s.Level))
		}
		return "grand master at " + percentOf(s.Level) + sparedWords(s)
	case engine.BlackoutLayer:
		return "blackout" + sparedWords(s)
	case engine.FlashLayer:
		f := &b.x.Limiter
		return fmt.Sprintf("would flash too often, held back: %s, %.1f %s flashes a second asked, %.1f let through, %d may be", f.Area, f.Wanted, f.Kind, f.LetThrough, f.Limit)
	case engine.WorkLayer:
		return "work light at " + percentOf(s.Level)
	}
	return ""
}

func (b *explainer) group(i int32) string { return b.show.Program.Groups[i].Name }

// lookWords says which cue sets the parameter, if any.
func (b *explainer) lookWords(qs []fixtures.Param) string {
	named := b.x.Named&(1<<qs[0]) != 0
	switch {
	case b.x.Cue == nil:
		return "nothing shows yet"
	case named && b.show.Program.Heads[b.x.Head].Keep && b.x.Song != engine.None && b.x.Pass == 0:
		return "kept group, in this song set by " + b.cueWords(b.cueThatSet(qs))
	case named:
		return b.cue()
	case b.show.Program.Heads[b.x.Head].Keep:
		return "kept group, left as it was: not named by " + b.cue()
	}
	return "not named by " + b.cue()
}

// cueThatSet returns the cue that set a kept head to its present values: the first of those
// that set the same values up to the cue in force.
func (b *explainer) cueThatSet(qs []fixtures.Param) *engine.Cue {
	cues, from := b.show.Program.Songs[b.x.Song].Cues, b.x.Cue
	for i := len(cues) - 1; i >= 0; i-- {
		if c := &cues[i]; c.At < from.At {
			if settingOf(c, b.x.Head, qs) != settingOf(from, b.x.Head, qs) {
				break
			}
			from = c
		}
	}
	return from
}

// setting is what a cue sets a head to.
type setting struct {
	named  bool
	values [3]float64
	colour engine.Colour
}

// settingOf returns what a cue sets some parameters of a head to.
func settingOf(c *engine.Cue, head int32, qs []fixtures.Param) (o setting) {
	for i := range c.Parts {
		p := &c.Parts[i]
		if !slices.Contains(p.Heads, head) {
			continue
		}
		for n, q := range qs {
			if p.Sets(q) {
				o.named, o.values[n] = true, p.Values[q]
			}
		}
		if p.SetsColour && len(qs) > 1 {
			o.named, o.colour = true, p.Colour
		}
	}
	return o
}

func effectWords(e *engine.Effect) string {
	words := fmt.Sprintf("%q: %s over %s, ", e.Name, e.Wave.Kind, language.Length(e.Period))
	if e.Pulses > 1 {
		words += fmt.Sprintf("%d pulses, ", e.Pulses)
	}
	words += fmt.Sprintf("%s, depth %s", e.Blend, percentOf(e.Depth))
	if e.Source != "" {
		words += ", " + e.Source
	}
	return words
}

// SpanWords prints how long a fade takes, such as "2 s" or "4 beats"; "" is at once.
func SpanWords(s engine.Span) string {
	switch {
	case s.Time > 0:
		return secondsOf(s.Time)
	case s.Length.Num > 0:
		return language.Length(s.Length)
	}
	return ""
}

func percentOf(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }

func secondsOf(t clock.Time) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", float64(t)/float64(clock.Second)), ".0") + " s"
}

// fadedIn returns words for how far a layer has faded in; "" if fully.
func fadedIn(share float64) string {
	if share >= 1 {
		return ""
	}
	return ", " + percentOf(share) + " of the way there"
}

func sparedWords(s *engine.Step) string {
	if s.Spared {
		return ", which spares it"
	}
	return ""
}
