package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/midi"
	"tactus/shows"
)

// alignFlags are the flags of align.
type alignFlags struct {
	live     liveFlags
	fixtures []string
	click    string
	note     uint8
	channel  uint8
	tempo    float64
	bell     bool
	leadSaid bool // --lead was given, else the show's counts
}

// mostFlashes is how many flashes a minute are let through: two a second. Three
// a second and more is the range named as risky (WCAG 2.2, 2.3.1).
const mostFlashes = 120

func newAlign() *cobra.Command {
	var f alignFlags
	c := &cobra.Command{
		Use:   "align SHOW --fixture NAME",
		Short: "Find by eye and ear how far ahead the light must leave",
		Long: `Flash one fixture on the beat, with a click, and move the light against the click
until they fall together. What is found is the universe's lead.

CAUTION: the fixture flashes, once a second unless told otherwise and never more
than twice. Clear the room of people whom flashing can harm, and tell the others.
All else on the fixture's universe goes dark, house lights included: have other
light on, and nobody on a ladder.

Keys: + and - move the lead by 1 ms, page up and page down by 10 ms, Enter ends
and prints what to write in the rig's file, q ends without.

The click is a note to a MIDI output, on the channel of percussion in General
MIDI: 37 is the side stick, 76 the high wood block (from memory).`,
		Example: `  tactus align my-hall --fixture "wash 1" --click /dev/snd/midiC1D0 --interface eth0
  tactus align my-hall --fixture "wash 1" --bell
  tactus align demo --fixture "wash 1" --to 127.0.0.1 --lead 40ms --for 3s --click file:/tmp/clicks`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeShow,
		RunE:              func(c *cobra.Command, args []string) error { return alignShow(c, args[0], &f) },
	}
	flags := c.Flags()
	flags.StringArrayVar(&f.fixtures, "fixture", nil, "fixture to flash, by its name in the rig; may be given more than once")
	flags.StringVar(&f.click, "click", "", "MIDI output for the click: a port's name, a raw device or FIFO by path, or file:PATH")
	flags.Uint8Var(&f.note, "note", 37, "note of the click, 0 to 127")
	flags.Uint8Var(&f.channel, "channel", 10, "channel of the click, 1 to 16")
	flags.Float64Var(&f.tempo, "tempo", 60, "flashes a minute, 20 to 120")
	flags.BoolVar(&f.bell, "bell", false, "ring the terminal's bell too; terminals add a delay of their own")
	flags.DurationVar(&f.live.Lead, "lead", 0, "lead to begin with (default: what the show has)")
	flags.StringVar(&f.live.To, "to", "", "send by unicast to this ADDRESS[:PORT] instead of where the show says")
	flags.StringVar(&f.live.Interface, "interface", "", "network interface to send from, instead of the show's")
	flags.StringVar(&f.live.Protocol, "protocol", "", "send by sacn, art-net or virtual (not at all)")
	flags.DurationVar(&f.live.duration, "for", 0, "stop by itself after this time and print the lead; no keys")
	flags.StringVar(&f.live.State, "state", "", "folder that keeps this installation's sACN identity (default: the user's configuration folder)")
	flags.BoolVar(&f.live.RealTime, "real-time", true, "ask the system for real-time priority and locked memory")
	fixed(c, "protocol", []string{senders.SACN, senders.ArtNet, senders.Virtual})
	return c
}

func (f *alignFlags) checked() error {
	switch {
	case len(f.fixtures) == 0:
		return usage.Errorf("--fixture is missing: the name of a fixture in the rig")
	case !(f.tempo >= 20 && f.tempo <= mostFlashes):
		return usage.Errorf("--tempo %g: want 20 to %d; more than two flashes a second can harm people", f.tempo, mostFlashes)
	case f.note > 127:
		return usage.Errorf("--note %d: want 0 to 127", f.note)
	case f.channel < 1 || f.channel > 16:
		return usage.Errorf("--channel %d: want 1 to 16", f.channel)
	}
	return f.live.checked()
}

func alignShow(c *cobra.Command, name string, f *alignFlags) error {
	f.live.Exact, f.leadSaid = true, c.Flags().Changed("lead")
	if err := f.checked(); err != nil {
		return err
	}
	show, err := loadShow(name, "", c.ErrOrStderr())
	if err != nil {
		return err
	}
	log, err := newLog("console", c.ErrOrStderr(), coloured(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	a, err := newAligner(show, f, log)
	if err != nil {
		return err
	}
	if f.click != "" {
		a.port, err = midi.OpenOutput(f.click, midi.OutputOptions{Base: a.session.Base, Report: a.session.PortChanged})
		if err != nil {
			return err
		}
	}
	if f.bell {
		a.bell = c.OutOrStdout()
	}
	fmt.Fprintln(c.ErrOrStderr(), "CAUTION: flashing light. All else on this universe goes dark.")
	return a.run(c, f)
}

// flashing returns a show that flashes fixtures on every beat, and nothing else,
// on their own universes only; and those universes.
func flashing(show *shows.Show, names []string, tempo float64) (*shows.Show, []int, error) {
	p := *show.Program
	places := p.Patch.Placements()
	var heads []int32
	var universes []int
	for _, name := range names {
		i := slices.IndexFunc(places, func(f fixtures.Placement) bool { return f.Name == name })
		if i < 0 {
			var known []string
			for _, f := range places {
				known = append(known, f.Name)
			}
			return nil, nil, fmt.Errorf("no fixture %q; there is: %s", name, strings.Join(known, ", "))
		}
		for h := range p.Heads {
			if int(p.Heads[h].Fixture) == i {
				heads = append(heads, int32(h))
			}
		}
		if !slices.Contains(universes, places[i].Universe) {
			universes = append(universes, places[i].Universe)
		}
	}
	on := fixtures.State{}
	on[fixtures.Intensity] = 1
	p.Effects = []engine.Effect{{
		Name: "flash", Heads: heads, Offsets: make([]clock.Phase, len(heads)), Pulses: 1, Depth: 1,
		Wave:   engine.Wave{Kind: engine.Square, High: 1, Duty: 0.2, Skew: 0.5},
		Period: engine.Length{Num: 1, Den: 1}, Param: fixtures.Intensity,
	}}
	p.Songs = []engine.Song{{
		Name: "align", Tempo: clock.BPM(tempo), Meter: engine.Meter{Upper: 4, Lower: 4}, Program: -1,
		Sections: []engine.Section{{Name: "flash", Length: 1 << 20 * clock.Quarter, Note: 255}},
		Cues: []engine.Cue{{Name: "flash", Effects: []int32{0}, Parts: []engine.Part{{
			Heads: heads, Params: 1 << fixtures.Intensity, Values: on,
			Tinted: true, Colour: engine.Colour{Fixed: true, RGB: fixtures.RGB{1, 1, 1}},
		}}}},
	}}
	p.Looks, p.SetList, p.WalkIn, p.WalkOut = nil, []int32{0}, engine.None, engine.None
	p.RunsOn, p.Settle, p.Notes = false, true, engine.Notes{}
	only := *show
	only.Program = &p
	only.Outputs.Exit = shows.Exit{Rule: shows.ExitHold}
	only.Outputs.Universes = slices.Clone(show.Outputs.Universes)
	for i := range only.Outputs.Universes {
		only.Outputs.Universes[i].Lead = 0 // it is the click that moves
		if !slices.Contains(universes, i) {
			only.Outputs.Universes[i].Protocol = shows.Virtual
		}
	}
	return &only, universes, nil
}

func newAligner(show *shows.Show, f *alignFlags, log zerolog.Logger) (*aligner, error) {
	only, universes, err := flashing(show, f.fixtures, f.tempo)
	if err != nil {
		return nil, err
	}
	o := f.live.Options
	o.Clock, o.Lead, o.Rise, o.Health = "internal", 0, 0, time.Hour
	if o.Protocol != "" {
		for i := range only.Outputs.Universes { // the others stay where they are: nowhere
			if !slices.Contains(universes, i) && o.Protocol != senders.Virtual {
				return nil, usage.Errorf("--protocol %s would send every universe: want virtual", o.Protocol)
			}
		}
	}
	s, err := live.New(only, &o, log)
	if err != nil {
		return nil, err
	}
	a := &aligner{session: s, exact: o.Exact, universes: universes, on: midi.NewNoteOn(f.channel, f.note, 100), off: midi.NewNoteOff(f.channel, f.note)}
	a.lead.Store(int64(f.live.Lead))
	if !f.leadSaid {
		a.lead.Store(int64(show.Outputs.Universes[universes[0]].Lead))
	}
	a.tempo = clock.BPM(f.tempo)
	return a, nil
}
