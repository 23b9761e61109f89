package panel

import (
	"fmt"

	"tactus/clock"
	"tactus/engine"
)

// Report is the health of the night. Its Notes are messages for the operator, worst
// first.
type Report struct {
	Ports  []Port   `json:"ports"`  // MIDI inputs
	Nodes  []string `json:"nodes"`  // Art-Net nodes, in words
	Links  []string `json:"links"`  // network interfaces by which nothing can leave, in words
	Inputs []string `json:"inputs"` // universes that come in, and other sources of the show's own, in words
	Faults []string `json:"faults"` // errors in the edited files
	// Counts since the program began.
	Frames      uint64  `json:"frames"`
	Missed      uint64  `json:"missed"`
	Errors      uint64  `json:"errors"`      // failed sends
	Unknown     uint64  `json:"unknown"`     // requests for what the show lacks
	Dropped     uint64  `json:"dropped"`     // MIDI messages lost because they arrived too fast
	OSCDropped  uint64  `json:"oscDropped"`  // commands by OSC, likewise
	PageDropped uint64  `json:"pageDropped"` // requests of the page, likewise; their senders were told
	LateMS      float64 `json:"lateMs"`      // latest wake of the last second
	OutputFault string  `json:"outputFault"`
	Limiter     Limiter `json:"limiter"`
	Source      string  `json:"source"`
	Sync        string  `json:"sync"`
	ErrorMS     float64 `json:"errorMs"`
	Clock       Clock   `json:"clock"`
	Bars        Bars    `json:"bars"`
	Pair        *Pair   `json:"pair,omitempty"` // with a second computer
}

// Limiter is the state of the flash limiter.
type Limiter struct {
	Acts  bool   `json:"acts"`  // it limits the light now
	Count uint64 `json:"count"` // how often it began to act
	Words string `json:"words"`
}

// Port is a MIDI input.
type Port struct {
	Name  string  `json:"name"`
	Up    bool    `json:"up"`
	Fault string  `json:"fault"`
	Quiet float64 `json:"quiet"` // seconds since the last message; -1: none yet
}

// report adds the counts of the snapshot to the report of Config.
func (p *Panel) report(s *engine.Snapshot) Report {
	var r Report
	if p.c.Report != nil {
		r = p.c.Report()
	}
	r.Frames, r.Missed, r.Errors, r.Unknown = s.Health.Frames, s.Health.Missed, s.Health.Errors, s.Status.Unknown
	r.LateMS = round(float64(s.Health.WorstAt)/float64(clock.Millisecond), 100)
	if s.Health.LastErr != nil {
		r.OutputFault = s.Health.LastErr.Error()
	}
	if f := &s.Status.Limiter; f.Count > 0 {
		r.Limiter = Limiter{f.Acting, f.Count, fmt.Sprintf("%s, %.3g a second asked for, %.3g let through", f.Area, f.Wanted, f.LetThrough)}
	}
	r.Source, r.Sync = s.Pos.Source.String(), s.Pos.Sync.String()
	r.ErrorMS = milliseconds(s.Pos.Err)
	r.Clock, r.Bars, r.Pair = clockOf(s), barsOf(s), p.pair()
	return r
}
