package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows"
)

type walkFlags struct {
	live  liveFlags
	level int // percent
	marks string
}

const walkWords = `  Enter, next, n      the next fixture, in the order of the patch
  back, b             the one before
  find NAME, f        a fixture or group by its name
  group, g            the next group
  all, a              everything
  colour, c [NAME]    the next colour, or white, red, green, blue
  dark, d             nothing but what blackout spares, such as house lights
  wrong WHY, w        write down that this fixture is wrong, and why
  quit, q             fade out and leave`

func newWalk() *cobra.Command {
	var f walkFlags
	c := &cobra.Command{
		Use:   "walk SHOW",
		Short: "Light one fixture after another, to find what is patched wrong",
		Long: `Light one fixture after another on the show's own outputs, to see whether each
is where the patch says. Light comes and goes slowly, at 30 % unless told
otherwise; house lights and whatever else blackout spares stay at half, and
hazers stay off. Nothing flashes, nothing moves.

Type a word and Enter:
` + walkWords + `

The end of input leaves too, unless there is a MIDI port or a page to go on with. MIDI
notes of any channel do the same: 60 next, 58 back, 62 group, 64 colour,
65 all, 67 wrong (without a reason).

What is marked wrong is added to a text file, with the date.

CAUTION: tell people on ladders before light comes up, and keep eyes off lenses.`,
		Example: `  tactus walk my-hall --interface eth0
  tactus walk my-hall --midi /dev/snd/midiC1D0 --level 20
  tactus walk my-hall --panel                           with buttons, in a browser
  tactus walk demo --protocol virtual`,
		Args:              cobra.ExactArgs(1),
		ValidArgsFunction: completeShow,
		RunE:              func(c *cobra.Command, args []string) error { return walk(c, args[0], &f) },
	}
	f.live.add(c)
	for _, name := range []string{"clock", "repeat", "lead", "set"} {
		_ = c.Flags().MarkHidden(name) // a walk has no music
	}
	c.Flags().IntVar(&f.level, "level", 30, "how bright, in percent, 5 to 60")
	c.Flags().StringVar(&f.marks, "marks", "walk-marks.txt", "file that what is wrong is added to")
	return c
}

func walk(c *cobra.Command, name string, f *walkFlags) error {
	if err := f.live.checked(); err != nil {
		return err
	}
	if f.level < 5 || f.level > 60 {
		return usage.Errorf("--level %d: want 5 to 60 %%", f.level)
	}
	show, err := loadShow(name, f.live.set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	w := newWalker(show)
	walked := *show
	walked.Program = w.program(show.Program, float64(f.level)/100)
	walked.Clock = shows.Sources{MIDI: true} // nothing starts by itself
	log := zerolog.New(zerolog.ConsoleWriter{Out: c.ErrOrStderr(), NoColor: !coloured(c.ErrOrStderr()), TimeFormat: time.TimeOnly}).With().Timestamp().Logger()
	s, err := newSession(&walked, &f.live, log)
	if err != nil {
		return err
	}
	for _, line := range s.wire.Describe {
		fmt.Fprintln(c.OutOrStdout(), line)
	}
	if len(s.wire.List) == 0 {
		fmt.Fprintln(c.OutOrStdout(), "virtual: nothing leaves this computer")
	}
	ctx, cancel := f.live.limited(c.Context())
	defer cancel()
	t := &tour{walker: w, session: s, out: c.OutOrStdout(), marks: f.marks, show: show.Program.Name}
	s.walker = t.over(ctx)
	if err := s.openPanel(&f.live, false, &notice{}); err != nil {
		return err
	}
	if s.page != nil {
		fmt.Fprintf(c.ErrOrStderr(), "page: %s\n", s.page.url())
	}
	return t.run(ctx, cancel, c.InOrStdin())
}

// tour joins a walk to what is typed and played, and to a running session.
type tour struct {
	mu      sync.Mutex // keyboard and MIDI take turns
	walker  *walker
	session *session
	out     io.Writer
	marks   string
	show    string
}

// run lights the rig until ctx ends or somebody leaves.
func (t *tour) run(ctx context.Context, cancel func(), in io.Reader) error {
	s := t.session
	defer s.wire.Close()
	side, stop := context.WithCancel(context.Background())
	var group sync.WaitGroup
	group.Go(func() { t.listen(ctx) })
	group.Go(func() { s.watchHealth(side) })
	s.runRehearsal(side, &group)
	for _, p := range s.ports {
		group.Go(func() {
			if err := p.Run(side, s.inbox); err != nil && !errors.Is(err, context.Canceled) {
				s.log.Error().Str("port", p.Name()).Err(err).Msg("MIDI port given up")
			}
		})
	}
	go func() { // a read cannot be called off: it ends with the program
		if t.read(ctx, in) || len(s.ports) == 0 && s.page == nil {
			cancel()
		}
	}()
	err := s.runLoop(ctx)
	stop()
	group.Wait()
	return err
}

// read obeys lines until one says to leave, or input ends.
func (t *tour) read(ctx context.Context, in io.Reader) (leave bool) {
	t.say(t.walker.says() + "\nType help for the words.")
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		word, rest, _ := strings.Cut(strings.TrimSpace(lines.Text()), " ")
		if word == "quit" || word == "q" {
			return true
		}
		t.obey(ctx, word, strings.TrimSpace(rest))
	}
	return false
}

func (t *tour) say(text string) { fmt.Fprintln(t.out, text) }

// obey does what a word asks and shows it.
func (t *tour) obey(ctx context.Context, word, rest string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.say(t.answer(ctx, word, rest))
}

// answer does what a word asks and tells what came of it: all that a way of
// asking needs, be it keys, notes or a page. The caller holds mu.
func (t *tour) answer(ctx context.Context, word, rest string) string {
	switch word {
	case "help", "?":
		return walkWords
	case "wrong", "w":
		line, err := t.mark(rest)
		if err != nil {
			return "cannot write that down: " + err.Error()
		}
		return "noted in " + t.marks + ": " + line
	}
	if err := t.walker.do(word, rest); err != nil {
		return err.Error()
	}
	select {
	case t.session.input <- engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: t.walker.look()}}:
	case <-ctx.Done():
	}
	return t.walker.says()
}

// byPage asks a tour from a page.
type byPage struct {
	*tour
	ctx context.Context
}

// over returns the tour for a page, while ctx lasts.
func (t *tour) over(ctx context.Context) byPage { return byPage{t, ctx} }

// Walk implements [panel.Walker].
func (b byPage) Walk(word, rest string) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	says := b.answer(b.ctx, word, rest)
	b.say(says)
	return says
}

// mark adds a line to the file of what is wrong.
func (t *tour) mark(why string) (line string, err error) {
	if t.walker.at < 0 {
		return "", errors.New("no fixture is lit")
	}
	s := &t.walker.stops[t.walker.at]
	if why == "" {
		why = "no reason given"
	}
	file, err := os.OpenFile(t.marks, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return "", err
	}
	at := t.session.base.Wall(t.session.base.Now()).Format("2006-01-02 15:04")
	line = fmt.Sprintf("%s  %s: %s (%s): %s", at, t.show, s.name, s.where, printable(why))
	_, err = fmt.Fprintln(file, line)
	return line, errors.Join(err, file.Close())
}

// walkNotes are the MIDI notes of a walk.
func walkNotes(note uint8) (word string, ok bool) {
	switch note {
	case 60:
		return "next", true
	case 58:
		return "back", true
	case 62:
		return "group", true
	case 64:
		return "colour", true
	case 65:
		return "all", true
	case 67:
		return "wrong", true
	}
	return "", false
}

// listen obeys MIDI notes until ctx ends.
func (t *tour) listen(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case m := <-t.session.inbox.Messages():
			if m.Kind() != midi.NoteOn {
				continue
			}
			if word, ok := walkNotes(m.Note()); ok {
				t.obey(ctx, word, "")
			}
		}
	}
}
