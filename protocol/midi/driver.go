package midi

import (
	"errors"
	"fmt"
	"strings"
)

// Errors of the operating system's ports.
var (
	ErrNoDriver  = errors.New("this build has no operating-system MIDI driver; build with -tags rtmidi (needs cgo, and libasound2-dev on Linux) or use a raw device: /dev/snd/midiC1D0, a FIFO, or file:PATH")
	ErrNoPort    = errors.New("no MIDI port of that name")
	ErrAmbiguous = errors.New("more than one MIDI port of that name; use the full name of one")
)

// driver is the part of an operating system's MIDI that the child process needs.
type driver interface {
	// inputNames lists the input ports in the driver's order; a name may be empty.
	inputNames() ([]string, error)
	// openInput opens a port of the last list. It calls message for every message,
	// from any thread, until the process ends.
	openInput(index int, message func([]byte)) error
	// outputNames lists the output ports.
	outputNames() ([]string, error)
	// openOutput opens a port of the last list of outputs. The function it returns
	// sends one message, from one goroutine at a time.
	openOutput(index int) (func([]byte) error, error)
}

// findPort returns the index of the only port that matches want. Systems add numbers
// that change when a device is plugged in again ("Keys 20:0", "Keys 2"), so findPort
// compares whole names, then names without these numbers, then parts of names. At
// each step one match is accepted and several are an error.
func findPort(want string, names []string) (int, error) {
	if strings.TrimSpace(want) == "" {
		return 0, ErrSpec
	}
	steps := []func(name string) bool{
		func(name string) bool { return name == want },
		func(name string) bool { return strings.EqualFold(withoutAddress(name), withoutAddress(want)) },
		func(name string) bool { return strings.EqualFold(withoutNumber(name), withoutNumber(want)) },
		func(name string) bool {
			return strings.Contains(strings.ToLower(name), strings.ToLower(withoutAddress(want)))
		},
	}
	for _, match := range steps {
		var found []int
		for i, name := range names {
			if match(name) {
				found = append(found, i)
			}
		}
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 {
			return 0, fmt.Errorf("%q: %w: %s", want, ErrAmbiguous, quoteSome(names, found))
		}
	}
	all := make([]int, len(names))
	for i := range all {
		all[i] = i
	}
	return 0, fmt.Errorf("%q: %w; there is %s", want, ErrNoPort, quoteSome(names, all))
}

func quoteSome(names []string, which []int) string {
	if len(which) == 0 {
		return "none"
	}
	var b strings.Builder
	for i, n := range which {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%q", names[n])
	}
	return b.String()
}

// withoutAddress strips ALSA's client:port, as in "Keys MIDI 1 20:0".
func withoutAddress(name string) string {
	name = strings.TrimSpace(name)
	rest := strings.TrimRight(name, "0123456789")
	if rest == name || !strings.HasSuffix(rest, ":") {
		return name
	}
	rest = strings.TrimSuffix(rest, ":")
	cut := strings.TrimRight(rest, "0123456789")
	if cut == rest || !strings.HasSuffix(cut, " ") {
		return name
	}
	return strings.TrimSpace(cut)
}

// withoutNumber strips the address and then a trailing index, as in "Keys 2".
func withoutNumber(name string) string {
	name = withoutAddress(name)
	rest := strings.TrimRight(name, "0123456789")
	if rest == name || !strings.HasSuffix(rest, " ") {
		return name
	}
	return strings.TrimSpace(rest)
}
