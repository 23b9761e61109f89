package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/limits"
	"tactus/shows/plan"
)

type checkFlags struct {
	set                 string
	songs               []string
	files, json, strict bool
	limits              bool
}

func newCheck() *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:   "check SHOW",
		Short: "Find faults in a show's files, and where light does not follow the songs",
		Long: `Read all files of a show and print every fault in one go, each with file, line
and column, what is allowed there and the nearest valid name.

Without faults, the set is played as planned from the walk-in on, here and without
any hardware, each song after the one before; a song outside the set follows the
walk-in. Its light is measured: how strong each section is (0 to 10:
brightness, movement, how many fixtures), against the energy it declares; L* is
brightness, 0 to 100; motion is how far light goes a second, a blackout about 1;
flashes is the most in any second. The songs of a set are compared with one another:
their mean strength, main hue, motion a beat, how often the stage goes dark, and how
many flashes they have. What should be looked at is printed with its
place, a reason and a suggestion. A song accepts a finding, with a reason, under
"accepted".

Exit code 0: no fault, and no error found; warnings may be (1 with --strict).
Exit code 1: faults in the files, or errors: light that flashes more than is safe.
Exit code 2: the command line makes no sense.

CAUTION: all of it is calculated. Finding nothing is no promise that the light
harms nobody. Local rules and the hall's own come first.`,
		Example: `  tactus check demo
  tactus check my-hall --files                  the files only, at once
  tactus check my-hall --song lanterns          one song
  tactus check my-hall --limits                 what it is judged by, and why
  tactus check my-hall --strict --json          for other programs`,
		RunE: func(c *cobra.Command, args []string) error {
			return f.run(c.Context(), args[0], c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	flags := c.Flags()
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.StringArrayVar(&f.songs, "song", nil, "only this song, by name or file; may be given again")
	flags.BoolVar(&f.files, "files", false, "look at the files only, and measure nothing")
	flags.BoolVar(&f.json, "json", false, "print measures and findings as JSON")
	flags.BoolVar(&f.limits, "limits", false, "print the limits that the show is judged by, with unit, range and reason, and measure nothing")
	flags.BoolVar(&f.strict, "strict", false, "exit code 1 for warnings too")
	return c
}

func (f *checkFlags) run(ctx context.Context, name string, out, errOut io.Writer) error {
	if f.files && (f.json || f.strict || len(f.songs) > 0) {
		return usage.Errorf("--files measures nothing; leave out --json, --strict and --song")
	}
	if f.limits && (f.files || f.json || f.strict || len(f.songs) > 0) {
		return usage.Errorf("--limits measures nothing; leave out --files, --json, --strict and --song")
	}
	show, err := loadShow(name, f.set, errOut)
	if err != nil {
		return err
	}
	if f.limits {
		_, err = io.WriteString(out, limitsText(&show.Limits))
		return err
	}
	if f.files {
		fmt.Fprintln(out, summary(show))
		return nil
	}
	songs, err := songsNamed(show, f.songs...)
	if err != nil {
		return err
	}
	night, err := measureSongs(ctx, show, songs, errOut)
	if err != nil {
		return err
	}
	report := plan.Report(night)
	if f.json {
		err = writeJSON(out, report)
	} else {
		_, err = io.WriteString(out, checkText(show, &report))
	}
	if err == nil && (report.Count(plan.Error) > 0 || f.strict && report.Count(plan.Warning) > 0) {
		err = errShown
	}
	return err
}

// measureSongs measures songs, those of the set when none are named, and shows
// progress.
func measureSongs(ctx context.Context, show *shows.Show, songs []int32, errOut io.Writer) (*plan.Night, error) {
	var p *terminal.Progress
	defer func() { p.Done() }()
	at := 0
	return plan.Measure(ctx, show, plan.Options{Songs: songs, Progress: func(done, all clock.Time) {
		if p == nil {
			p = terminal.NewProgress(errOut, "measuring songs", int(all/clock.Second), clock.NewBase().Now)
		}
		p.Step(int(done/clock.Second) - at)
		at = int(done / clock.Second)
	}})
}

// inputsText says that the planned night is without the show's inputs; "" without any.
func inputsText(show *shows.Show) string {
	if len(show.Inputs) == 0 {
		return ""
	}
	var names []string
	for i := range show.Inputs {
		names = append(names, show.Inputs[i].Label())
	}
	return "Measured without what comes in from " + strings.Join(names, ", ") + "."
}

// checkText is the report in words.
func checkText(show *shows.Show, r *plan.Summary) string {
	var b strings.Builder
	fmt.Fprintln(&b, summary(show))
	if text := inputsText(show); text != "" {
		fmt.Fprintln(&b, text)
	}
	for _, a := range r.Adjusted {
		fmt.Fprintf(&b, "Adjusted in show.yaml: %s is %v%s, by default %v.\n", a.Limit, a.Value, unitOf(a.Unit), a.Default)
	}
	writeFindings(&b, r.Show)
	writeSet(&b, r.Set)
	for i := range r.Songs {
		s := &r.Songs[i]
		fmt.Fprintf(&b, "\n%s", s.Name)
		if s.Follows != nil {
			fmt.Fprintf(&b, ": light and energy agree by %.2f", *s.Follows)
		}
		fmt.Fprint(&b, "\n\n")
		width := len("section")
		for k := range s.Sections {
			width = max(width, utf8.RuneCountInString(s.Sections[k].Name))
		}
		fmt.Fprintf(&b, "  %-*s  energy      strength          L*  motion  flashes\n", width, "section")
		for k := range s.Sections {
			x := &s.Sections[k]
			fmt.Fprintf(&b, "  %-*s  %-10s  %-10s %4.1f  %3.0f    %.2f      %.1f\n", width, x.Name,
				bars(float64(x.Energy)), bars(x.Strength), x.Strength, x.Brightness, x.Motion, x.Flashes)
		}
		writeFindings(&b, s.Findings)
	}
	fmt.Fprintf(&b, "\n%s, %s, %s.\n", count(r.Count(plan.Error), "error"), count(r.Count(plan.Warning), "warning"), count(r.Count(plan.Hint), "hint"))
	return b.String()
}

// unitOf returns a unit with a space before it, or "".
func unitOf(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// limitsText lists all limits: name, value in force, range, what each decides, and why.
func limitsText(set *limits.Set) string {
	var b strings.Builder
	fmt.Fprintln(&b, `The limits that check judges by. A show adjusts them under "judge" in show.yaml:
judge: {quiet motion: 0.2}`)
	for k := range limits.NumLimits {
		l := &limits.Table()[k]
		fmt.Fprintf(&b, "\n%s: %s, %v to %v\n", l.Name, l.Text(set.Value(k)), l.Least, l.Most)
		if set.Adjusted(k) {
			fmt.Fprintf(&b, "  adjusted in show.yaml; by default %s\n", l.Text(l.Default))
		}
		fmt.Fprintf(&b, "  %s\n  Reason: %s.\n", l.Meaning, l.Reason)
	}
	fmt.Fprint(&b, "\nThe traits in which songs are compared, and the difference in each that counts in full:\n\n")
	for _, t := range plan.AllTraits() {
		fmt.Fprintf(&b, "  %s: %v (%s)\n", t.Name, t.Scale, t.Reason)
	}
	return b.String()
}

// writeSet writes what is measured of the set as a whole.
func writeSet(b *strings.Builder, s *plan.SetSummary) {
	if s == nil {
		return
	}
	var songs []string
	width := len("song")
	for i := range s.Songs {
		x := &s.Songs[i]
		songs = append(songs, fmt.Sprintf("%s %s %.1f", x.Part, x.Name, x.Strength))
		width = max(width, utf8.RuneCountInString(x.Name))
	}
	fmt.Fprintf(b, "\nSet %q by mean strength: %s\n\n", s.Name, strings.Join(songs, ", "))
	fmt.Fprintf(b, "  %-*s  strength          hue        motion  dark  flashes\n", width, "song")
	for i := range s.Songs {
		x := &s.Songs[i]
		fmt.Fprintf(b, "  %-*s  %-10s  %4.1f  %-9s    %.3f  %4d  %7.1f\n", width, x.Name, bars(x.Strength), x.Strength, x.HueName, x.Motion, x.Blackouts, x.Flashes)
	}
	fmt.Fprintf(b, "\n  Songs that follow one another differ by %.2f of 1 on average, and by %.2f at least: %s and %s.\n", s.Mean, s.Least, s.Alike[0], s.Alike[1])
	fmt.Fprintf(b, "  %s, %d of them in two songs or more.\n", count(s.Looks.Used, "look"), s.Looks.Shared)
}

// bars draws 0..10, a letter each.
func bars(v float64) string { return strings.Repeat("=", max(0, min(10, int(v+0.5)))) }

func writeFindings(b *strings.Builder, list []plan.Finding) {
	if len(list) > 0 {
		fmt.Fprintln(b)
	}
	for i := range list {
		f := &list[i]
		place := f.Place
		if place != "" {
			place += ": "
		}
		if f.Accepted != "" {
			fmt.Fprintf(b, "  accepted: %s%s: %s\n", place, f.Kind, f.Accepted)
			continue
		}
		fmt.Fprintf(b, "  %s: %s%s\n    %s\n    %s\n", f.Severity, place, f.Kind, f.Reason, f.Suggestion)
		if f.Written != "" {
			fmt.Fprintf(b, "    see %s\n", f.Written)
		}
	}
}

// summary says in a line what a show is made of.
func summary(show *shows.Show) string {
	p := show.Program
	return fmt.Sprintf("%s: %s, %s, %s, %s, %s, %s; set %q plays %d of them, %s long. No faults.",
		p.Name, language.Count(len(p.Patch.Placements()), "fixture"), language.Count(len(p.Heads), "head"), language.Count(len(p.Universes), "universe"),
		language.Count(len(p.Looks), "look"), language.Count(len(p.Effects), "effect"), language.Count(len(p.Songs), "song"),
		p.SetName, len(p.SetList), language.Minutes(show.Length(p.SetList)))
}
