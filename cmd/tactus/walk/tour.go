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
	"tactus/protocol/midi"
)

// Words are the words that a tour obeys, for the help.
const Words = `  Enter, next, n      the next fixture, in the order of the patch
  back, b             the one before
  find NAME, f        a fixture or group by its name
  group, g            the next group
  all, a              everything
  colour, c [NAME]    the next colour, or white, red, green, blue
  dark, d             nothing but what blackout spares, such as house lights
  wrong WHY, w        write down that this fixture is wrong, and why
  quit, q             fade out and leave`

// Tour connects a walk to what is typed, played and asked by the page, and to a
// running show.
type Tour struct {
	mu     sync.Mutex // one word at a time
	walker *Walker
	base   clock.Base
	ask    func(engine.Input) bool
	out    io.Writer
	marks  string
	show   string
}

// NewTour walks by w. It asks the loop for looks through ask, which returns false
// where there is no room; it prints what it does to out, and adds what is wrong to
// the file marks, under the show's name.
func NewTour(w *Walker, base clock.Base, ask func(engine.Input) bool, out io.Writer, marks, show string) *Tour {
	return &Tour{walker: w, base: base, ask: ask, out: out, marks: marks, show: show}
}

// Read obeys lines until one asks to leave, or input ends.
func (t *Tour) Read(in io.Reader) (leave bool) {
	fmt.Fprintln(t.out, t.walker.describe()+"\nType help for the words.")
	lines := bufio.NewScanner(in)
	for lines.Scan() {
		word, rest, _ := strings.Cut(strings.TrimSpace(lines.Text()), " ")
		if word == "quit" || word == "q" {
			return true
		}
		t.Walk(word, strings.TrimSpace(rest))
	}
	return false
}

// Walk implements [panel.Walker]: it obeys a word, and prints the answer that it
// returns.
func (t *Tour) Walk(word, rest string) string {
	t.mu.Lock()
	defer t.mu.Unlock()
	answer := t.answer(word, rest)
	fmt.Fprintln(t.out, answer)
	return answer
}

func (t *Tour) answer(word, rest string) string {
	switch word {
	case "help", "?":
		return Words
	case "wrong", "w":
		line, err := t.noteFault(rest)
		if err != nil {
			return "cannot write that down: " + err.Error()
		}
		return "noted in " + t.marks + ": " + line
	}
	if err := t.walker.runWord(word, rest); err != nil {
		return err.Error()
	}
	if !t.ask(engine.Input{Command: engine.Command{Kind: engine.ShowLook, Index: t.walker.lookIndex()}}) {
		return "this computer is too busy to change the light; try again"
	}
	return t.walker.describe()
}

// noteFault adds a line to the file of faults.
func (t *Tour) noteFault(reason string) (line string, err error) {
	if t.walker.at < 0 {
		return "", errors.New("no fixture is lit")
	}
	s := &t.walker.stops[t.walker.at]
	if reason == "" {
		reason = "no reason given"
	}
	file, err := os.OpenFile(t.marks, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return "", err
	}
	at := t.base.Wall(t.base.Now()).Format("2006-01-02 15:04")
	line = fmt.Sprintf("%s  %s: %s (%s): %s", at, t.show, s.name, s.where, terminal.Printable(reason))
	_, err = fmt.Fprintln(file, line)
	return line, errors.Join(err, file.Close())
}

// wordOf returns the word that a MIDI note stands for; "" for none.
func wordOf(note uint8) string {
	return map[uint8]string{60: "next", 58: "back", 62: "group", 64: "colour", 65: "all", 67: "wrong"}[note]
}

// Listen obeys MIDI notes until ctx ends.
func (t *Tour) Listen(ctx context.Context, from <-chan midi.Message) {
	for {
		select {
		case <-ctx.Done():
			return
		case m := <-from:
			if word := wordOf(m.Note()); word != "" && m.Kind() == midi.NoteOn {
				t.Walk(word, "")
			}
		}
	}
}
