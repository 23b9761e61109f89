package main

import (
	"tactus/cmd/tactus/laptop"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/usage"
	"time"
)

// sessionOptions say how a show is played. The zero value asks for nothing that
// the show does not.
type sessionOptions struct {
	senders.Options
	midi     []string      // inputs, as midi.Open takes them, "demo" or "plan"; the clock of the first counts
	set      string        // set list, by name or file; "": the first
	clock    string        // who leads: auto, midi, tap, internal; "": the show's choice
	health   time.Duration // between lines of health; 0: none
	rise     time.Duration // how long the stage takes to come up
	lead     time.Duration // ahead of the beat, added to a universe's own
	grid     string        // beat or free; "": the show's choice
	journal  string        // file; "": none
	name     string        // of the show, as it was given
	program  string        // this program and its version, for the journal
	midiOut  string        // MIDI output for what cues send; "": none
	oscTo    string        // ADDRESS:PORT that takes the OSC of cues; "": none
	oscIn    string        // PORT or ADDRESS:PORT to take commands on; "": none
	panel    bool          // serve the page
	panelAt  string        // ADDRESS:PORT of the page; "": its usual one
	messages bool          // where cues send goes by what the show says, too
	repeat   bool          // play a MIDI file again at its end
	realTime bool          // ask for real-time priority and locked memory
	exact    bool          // wait for frames with the system's own sleep; not in fake time
	probe    *laptop.Probe // of the loop's wakes; or nil
	ticks    *laptop.Ticks // that want to see the clock; or nil
}

// mostLead is as far ahead as the clock can be read without running back when
// it is corrected: its 250 ms less what a frame may be late.
const mostLead = 200 * time.Millisecond

// checked refuses times below zero, and a lead that is too long.
func (f *sessionOptions) checked() error {
	for name, d := range map[string]time.Duration{"rise": f.rise, "health": f.health} {
		if d < 0 {
			return usage.Errorf("--%s %s is below zero", name, d)
		}
	}
	if f.lead < 0 || f.lead > mostLead {
		return usage.Errorf("--lead %s: want 0s to %s", f.lead, mostLead)
	}
	return nil
}
