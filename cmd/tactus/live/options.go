package live

import (
	"time"

	"tactus/clock"
	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
)

// Options say how a show is played. The zero value asks for nothing that
// the show does not.
type Options struct {
	senders.Options
	MIDI     []string      // inputs, as midi.Open takes them, "demo" or "plan"; the clock of the first counts
	Set      string        // set list, by name or file; "": the first
	Clock    string        // who leads: auto, midi, tap, internal; "": the show's choice
	Health   time.Duration // between lines of health; 0: none
	Rise     time.Duration // how long the stage takes to come up
	Lead     time.Duration // ahead of the beat, added to a universe's own
	Grid     string        // beat or free; "": the show's choice
	Journal  string        // file; "": none
	Name     string        // of the show, as it was given
	Program  string        // this program and its version, for the journal
	MIDIOut  string        // MIDI output for what cues send; "": none
	OSCTo    string        // ADDRESS:PORT that takes the OSC of cues; "": none
	OSCIn    string        // PORT or ADDRESS:PORT to take commands on; "": none
	Page     bool          // serve the page
	PageAt   string        // ADDRESS:PORT of the page; "": its usual one
	Messages bool          // where cues send goes by what the show says, too
	Inputs   bool          // receive the universes that the show takes in
	Others   bool          // listen for other sources of the show's own universes, without inputs too
	Repeat   bool          // play a MIDI file again at its end
	RealTime bool          // ask for real-time priority and locked memory
	Follows  bool          // begin by following another computer; needs Standing
	Archive  []byte        // of the show's files, for another computer; nil: they are packed
	Ticking  *clock.Config // of the clock, as another computer has it; nil: as the show and Clock say
	Base     *clock.Base   // of all times; nil: a new one
	Kept     *Kept         // keeps the state for a run after a crash; or nil
	Exact    bool          // wait for frames with the system's own sleep; not in fake time
	Probe    *laptop.Probe // measures how late the loop wakes; or nil
	Ticks    *laptop.Ticks // measures the clock as it comes in; or nil
}

// base returns the base of all times: that of a run before, or of another computer, where
// this one goes on with theirs.
func (f *Options) base() clock.Base {
	switch {
	case f.Kept != nil:
		return f.Kept.base
	case f.Base != nil:
		return *f.Base
	}
	return clock.NewBase()
}

// ticking returns how the clock is set up: as another computer has it, or as own says.
func (f *Options) ticking(own clock.Config) clock.Config {
	if f.Ticking != nil {
		return *f.Ticking
	}
	return own
}

// MostLead is the largest lead: the 250 ms by which the clock can be read ahead
// without running back, less what a frame may be late.
const MostLead = 200 * time.Millisecond

// Check refuses times below zero, and a lead that is too long.
func (f *Options) Check() error {
	for name, d := range map[string]time.Duration{"rise": f.Rise, "health": f.Health} {
		if d < 0 {
			return usage.Errorf("--%s %s is below zero", name, d)
		}
	}
	if f.Lead < 0 || f.Lead > MostLead {
		return usage.Errorf("--lead %s: want 0s to %s", f.Lead, MostLead)
	}
	return nil
}
