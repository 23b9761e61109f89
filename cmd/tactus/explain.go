package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/engine/night"
	"tactus/shows/explain"
	"tactus/shows/find"
)

type explainFlags struct {
	set, at, fixture     string
	head                 int
	blackout, hold, json bool
}

func newExplain() *cobra.Command {
	var f explainFlags
	c := &cobra.Command{
		Use:   "explain SHOW",
		Short: "Say which layer decides what a fixture shows at a place in a song, and why",
		Long: `Play the set as planned up to a place, and say what makes the light of a fixture
there: the look and cue with their file and line, each effect, fades, kept groups
and floors, hold, overrides, masters, blackout, work light, the flash limiter where
it holds light back; then its slots. The mark > is the layer that decides.

--at is a place as cues have it, after the song's name or file:

  "SONG, chorus 2, bar 3 beat 1"    "SONG, bridge - 1 beat"    "SONG, chorus, pass 3"

or the name of a look. What is explained is the frame that is lit there on the
night: the last one at or before the place, as every song before it in the set and
the flash limiter have left it. A song outside the set follows the walk-in.
--fixture is a fixture, or one head of it: "bar 1 head 2".`,
		Example: `  tactus explain demo --at "lanterns, chorus 2, bar 3 beat 1" --fixture "wash 3"
  tactus explain demo --at "lanterns, bridge - 1/2 beat" --fixture "front 1" --blackout
  tactus explain my-hall --at walk-in --fixture "bar 1" --head 2 --json`,
		RunE: func(c *cobra.Command, args []string) error {
			return runExplain(args[0], &f, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	flags := c.Flags()
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.StringVar(&f.at, "at", "", "place: SONG, SECTION, bar N beat N; or a look")
	flags.StringVar(&f.fixture, "fixture", "", "fixture, by name")
	flags.IntVar(&f.head, "head", 0, "only this head of it, from 1 (default: all)")
	flags.BoolVar(&f.blackout, "blackout", false, "as if blackout had been called there")
	flags.BoolVar(&f.hold, "hold", false, "as if the light were held there")
	flags.BoolVar(&f.json, "json", false, "as JSON")
	return c
}

func runExplain(name string, f *explainFlags, out, errOut io.Writer) error {
	switch {
	case f.at == "":
		return usage.Errorf(`--at is missing; want such as --at "SONG, chorus 2, bar 3 beat 1"`)
	case f.fixture == "":
		return usage.Errorf("--fixture is missing; want the name of a fixture")
	case f.head < 0:
		return usage.Errorf("--head %d: heads are numbered from 1", f.head)
	}
	show, err := loadShow(name, f.set, errOut)
	if err != nil {
		return err
	}
	at, fault := find.Place(show, f.at)
	if fault != nil {
		return fmt.Errorf("--at: %w", fault)
	}
	fixture, head, fault := find.Fixture(show, f.fixture)
	if fault != nil {
		return errors.New("--fixture: " + strings.TrimPrefix(fault.Error(), "position: "))
	}
	if f.head > 0 {
		head = f.head
	}
	if heads := show.Program.Patch.Placements()[fixture].Profile.Heads; head > heads {
		return fmt.Errorf("--head %d: %s has %d", head, f.fixture, heads)
	}
	var then []engine.Command
	if f.hold {
		then = append(then, engine.Command{Kind: engine.Hold})
	}
	if f.blackout {
		then = append(then, engine.Command{Kind: engine.Blackout})
	}
	why := explain.Fixture(show, night.View(show.Program, at, then...), fixture, head)
	if f.json {
		return writeJSON(out, &why)
	}
	return printExplanation(out, &why)
}

// printExplanation prints an explanation as tables.
func printExplanation(out io.Writer, w *explain.Explanation) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "%s\n%s, profile %s\n", w.At, w.Fixture, w.Profile)
	for i := range w.Heads {
		h := &w.Heads[i]
		if len(w.Heads) > 1 || h.Head != w.Fixture {
			fmt.Fprintf(t, "\nhead %s\n", h.Head)
		}
		for _, p := range h.Params {
			fmt.Fprintf(t, "\n%s %s, decided by %s\n", p.Name, amount(p.Value), p.Decider)
			for _, r := range p.Layers {
				mark := " "
				if r.Decides {
					mark = ">"
				}
				fmt.Fprintf(t, "%s %s\t%s\t%s\n", mark, r.Layer, amount(r.Value), r.Words)
			}
		}
		fmt.Fprint(t, "\nslots, after all layers, the flash limiter last\n")
		for _, s := range h.Slots {
			value := fmt.Sprint(s.Value)
			slot := fmt.Sprintf("%s (%s) %d", s.Universe, s.SentAs, s.Address)
			if s.Fine > 0 {
				value = fmt.Sprintf("%d (%d and %d)", s.Value*256+s.FineIs, s.Value, s.FineIs)
				slot += fmt.Sprintf(" and %d", s.Fine)
			}
			line := []string{"  " + slot, value, s.Channel}
			if len(s.From) > 0 {
				line = append(line, strings.Join(s.From, "; "))
			}
			fmt.Fprintln(t, strings.Join(line, "\t"))
		}
	}
	return t.Flush()
}

// amount prints a value as percent, a colour as three.
func amount(v []float64) string {
	words := make([]string, len(v))
	for i := range v {
		words[i] = fmt.Sprintf("%.1f", 100*v[i])
		if words[i] == "-0.0" {
			words[i] = "0.0"
		}
	}
	return strings.Join(words, " ") + " %"
}
