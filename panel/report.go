package panel

import (
	"fmt"

	"tactus/clock"
	"tactus/engine"
)

// Report is the night's health. Its Notes are what a person should know, worst
// first.
type Report struct {
	Ports  []Port   `json:"ports"`  // MIDI inputs
	Nodes  []string `json:"nodes"`  // Art-Net, in words
	Faults []string `json:"faults"` // of the show's files, since they were edited
	// Counted since the program began.
	Frames      uint64  `json:"frames"`
	Missed      uint64  `json:"missed"`
	Errors      uint64  `json:"errors"`  // of outputs
	Unknown     uint64  `json:"unknown"` // requests for what the show lacks
	Dropped     uint64  `json:"dropped"` // MIDI that came too fast
	LateMS      float64 `json:"lateMs"`  // the worst wake of the last second
	OutputFault string  `json:"outputFault"`
	Limiter     Limiter `json:"limiter"`
	Source      string  `json:"source"`
	Sync        string  `json:"sync"`
	ErrorMS     float64 `json:"errorMs"`
	Clock       Clock   `json:"clock"`
	Bars        Bars    `json:"bars"`
}

// Limiter is what the flash limiter does.
type Limiter struct {
	Acts  bool   `json:"acts"`  // it holds light back now
	Count uint64 `json:"count"` // times that it began to
	Words string `json:"words"`
}

// Port is a MIDI input.
type Port struct {
	Name  string  `json:"name"`
	Up    bool    `json:"up"`
	Fault string  `json:"fault"`
	Quiet float64 `json:"quiet"` // seconds since anything came; -1: nothing yet
}

// report adds what the snapshot knows to what the Config knows.
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
	r.Clock, r.Bars = clockOf(s), barsOf(s)
	return r
}
