package main

import (
	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/usage"
)

// alignOptions say what is flashed and clicked.
type alignOptions struct {
	live.Options
	fixtures []string // by their names in the rig
	note     uint8    // of the click, 0 to 127
	channel  uint8    // of the click, 1 to 16
	tempo    float64  // flashes a minute, 20 to 120
	leadSaid bool     // the options' lead counts, else the show's
}

// mostFlashes is how many flashes a minute are let through: two a second. Three
// a second and more is the range named as risky (WCAG 2.2, 2.3.1).
const mostFlashes = 120

// check refuses flashes that can harm, and what MIDI has no number for.
func (f *alignOptions) check() error {
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
	return f.Check()
}
