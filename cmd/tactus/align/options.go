package align

import (
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/usage"
)

// Options say what is flashed and clicked.
type Options struct {
	live.Options
	Fixtures []string // by their names in the rig
	Note     uint8    // of the click, 0 to 127
	Channel  uint8    // of the click, 1 to 16
	Tempo    float64  // flashes a minute, 20 to 120
	LeadSaid bool     // the options' lead counts, else the show's
}

// mostFlashes is how many flashes a minute are let through: two a second. Three
// a second and more is the range named as risky (WCAG 2.2, 2.3.1).
const mostFlashes = 120

// CheckAll refuses flashes that can harm, and what MIDI has no number for.
func (f *Options) CheckAll() error {
	switch {
	case len(f.Fixtures) == 0:
		return usage.Errorf("--fixture is missing: the name of a fixture in the rig")
	case !(f.Tempo >= 20 && f.Tempo <= mostFlashes):
		return usage.Errorf("--tempo %g: want 20 to %d; more than two flashes a second can harm people", f.Tempo, mostFlashes)
	case f.Note > 127:
		return usage.Errorf("--note %d: want 0 to 127", f.Note)
	case f.Channel < 1 || f.Channel > 16:
		return usage.Errorf("--channel %d: want 1 to 16", f.Channel)
	}
	return f.Check()
}
