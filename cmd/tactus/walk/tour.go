package walk

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"

	"tactus/clock"
	"tactus/cmd/tactus/terminal"
	"tactus/engine"
	"tactus/panel"
	"tactus/protocol/midi"
)

// Words are the words that a tour obeys, for its help.
const Words = `  Enter, next, n      the next fixture, in the order of the patch
  back, b             the one before
  find NAME, f        a fixture or group by its name
  group, g            the next group
  all, a              everything
  colour, c [NAME]    the next colour, or white, red, green, blue
  dark, d             nothing but what blackout spares, such as house lights
  wrong WHY, w        write down that this fixture is wrong, and why
  quit, q             fade out and leave`

// Tour joins a walk to what is typed and played, and to a running show.
type Tour struct {
	mu     sync.Mutex // keyboard and MIDI take turns
	walker *Walker
	base   clock.Base
	to     chan<- engine.Input
	out    io.Writer
	marks  string
	show   string
}

// NewTour walks by w. Looks are asked for through to; what comes of it is
// written to out, and what is wrong to the file marks, under the show's name.
func NewTour(w *Walker, base clock.Base, to chan<- engine.Input, out io.Writer, marks, show string) *Tour {
	return &Tour{walker: w, base: base, to: to, out: out, marks: marks, show: show}
}

// Read obeys lines until one says to leave, or input ends.
func (t *Tour) Read(ctx context.Context, in io.Reader) (leave bool) {
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

func (t *Tour) say(text string) { fmt.Fprintln(t.out, text) }

// obey does what a word asks and shows it.
func (t *Tour) obey(ctx context.Context, word, rest string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.say(t.answer(ctx, word, rest))
}

// answer does what a word asks and tells what came of it: all that a way of
// asking needs, be it keys, notes or a page. The caller holds mu.
func (t *Tour) answer(ctx context.Context, word, rest string) string {
	switch word {
	case "help", "?":
		return Words
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
	case t.to <- engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: t.walker.look()}}:
	case <-ctx.Done():
	}
	return t.walker.says()
}

// byPage asks a tour from a page.
type byPage struct {
	*Tour
	ctx context.Context
}

// For returns the tour for a page, while ctx lasts.
func (t *Tour) For(ctx context.Context) panel.Walker { return byPage{t, ctx} }

// Walk implements [panel.Walker].
func (b byPage) Walk(word, rest string) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	says := b.answer(b.ctx, word, rest)
	b.say(says)
	return says
}

// mark adds a line to the file of what is wrong.
func (t *Tour) mark(why string) (line string, err error) {
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
	at := t.base.Wall(t.base.Now()).Format("2006-01-02 15:04")
	line = fmt.Sprintf("%s  %s: %s (%s): %s", at, t.show, s.name, s.where, terminal.Printable(why))
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

// Listen obeys MIDI notes until ctx ends.
func (t *Tour) Listen(ctx context.Context, from <-chan midi.Message) {
	for {
		select {
		case <-ctx.Done():
			return
		case m := <-from:
			if m.Kind() != midi.NoteOn {
				continue
			}
			if word, ok := walkNotes(m.Note()); ok {
				t.obey(ctx, word, "")
			}
		}
	}
}
