package laptop

import (
	"fmt"
	"io"
	"strings"

	"tactus/clock/inwords"
)

// Verdict is the judgement in a word or two.
type Verdict string

// The verdicts.
const (
	Fit     Verdict = "fit"
	Remarks Verdict = "fit with remarks"
	NotFit  Verdict = "not fit"
)

// Measured holds the measurements of a run.
type Measured struct {
	Seconds float64 `json:"seconds"`     // length of the run
	Rate    float64 `json:"rate_hz"`     // frame rate
	Timer   string  `json:"timer"`       // the timer used
	Frames  uint64  `json:"frames"`      // frames sent
	Missed  uint64  `json:"missed"`      // frames skipped, a whole period late
	Errors  uint64  `json:"send_errors"` // failed sends
	Fault   string  `json:"send_error"`  // the last error, or ""
	Late    Spread  `json:"late_ms"`     // lateness of wakes
	Work    Spread  `json:"work_ms"`     // work of a frame, including sending
	// Clock describes how MIDI clock arrived; null without --midi.
	Clock *Jitter `json:"midi_clock"`
}

// Remark is a finding and what to do about it.
type Remark struct {
	Grave bool   `json:"grave"` // makes the verdict "not fit"
	What  string `json:"what"`
	Do    string `json:"do"`
}

// Report is the result of the check; --json writes its JSON form. Times are in
// milliseconds unless a name says otherwise.
type Report struct {
	Verdict  Verdict  `json:"verdict"` // "fit", "fit with remarks", "not fit"
	Measured Measured `json:"measured"`
	Facts    Facts    `json:"facts"`
	Remarks  []Remark `json:"remarks"`
}

// Our own limits of lateness, in milliseconds. A frame lasts 22.7.
const (
	goodP99  = 2.0  // a downbeat this late is not seen to be late
	badP99   = 8.0  // a third of a frame, for one wake in a hundred
	badWorst = 11.4 // half a frame, for the latest wake
)

// Judge judges a computer by measurements and facts.
func Judge(m Measured, f Facts) Report {
	r := Report{Verdict: Fit, Measured: m, Facts: f, Remarks: []Remark{}}
	r.judgeLoop(&m)
	r.judgeClock(m.Clock)
	r.judgeComputer(&f)
	for _, remark := range r.Remarks {
		if remark.Grave {
			r.Verdict = NotFit
		} else if r.Verdict == Fit {
			r.Verdict = Remarks
		}
	}
	return r
}

func (r *Report) addGrave(do, format string, args ...any) {
	r.Remarks = append(r.Remarks, Remark{true, fmt.Sprintf(format, args...), do})
}

func (r *Report) addNote(do, format string, args ...any) {
	r.Remarks = append(r.Remarks, Remark{false, fmt.Sprintf(format, args...), do})
}

// judgeLoop judges wakes and sends. It allows one missed frame in a thousand.
func (r *Report) judgeLoop(m *Measured) {
	const calm = "close other programs, plug the charger in, and see the other remarks"
	if m.Frames == 0 {
		r.addGrave("run it for longer", "no frame was sent")
		return
	}
	switch share := float64(m.Missed) / float64(m.Missed+m.Frames); {
	case share > 0.001:
		r.addGrave(calm, "%d of %d frames were missed", m.Missed, m.Missed+m.Frames)
	case m.Missed > 0:
		r.addNote(calm, "%d of %d frames were missed", m.Missed, m.Missed+m.Frames)
	}
	switch {
	case m.Late.P99 > badP99:
		r.addGrave(calm, "one frame in a hundred woke more than %.1f ms late", m.Late.P99)
	case m.Late.P99 > goodP99:
		r.addNote(calm, "one frame in a hundred woke more than %.1f ms late", m.Late.P99)
	case m.Late.Worst > badWorst:
		r.addNote(calm, "one frame woke %.1f ms late", m.Late.Worst)
	}
	if m.Work.P99 > badWorst {
		r.addGrave("use a faster computer or fewer universes", "a frame's work takes up to %.1f ms, more than half of its time", m.Work.P99)
	}
	if m.Errors > 0 {
		r.addGrave("check the cable, the interface and the addresses in rig.yaml", "sending failed %d times, last: %s", m.Errors, m.Fault)
	}
}

// judgeClock judges the received MIDI clock and the state of the tempo lock. The
// lock removes a delay that all ticks share; its tests use noise of up to 5 ms.
func (r *Report) judgeClock(j *Jitter) {
	const wire = "use a cable and not a network, another port or driver, and close what loads the DAW's computer"
	if j == nil {
		return
	}
	switch {
	case j.Ticks == 0:
		r.addGrave("check the port's name (tactus ports) and its cable, and turn MIDI clock on in the DAW and in the interface's settings", "no MIDI clock arrived")
	case j.Ticks < fitTicks:
		r.addNote("let the DAW play for the whole test", "only %d ticks of MIDI clock arrived, too few to measure", j.Ticks)
	case j.Noise > 5:
		r.addNote(wire, "MIDI clock arrives unevenly, by %.1f ms", j.Noise)
	case j.Latest > 20:
		r.addNote(wire, "a tick of MIDI clock came %.0f ms late", j.Latest)
	}
	switch {
	case j.Level == inwords.Grave.String():
		r.addGrave(j.Help, "%s", j.Words)
	case j.Level == inwords.Remark.String():
		r.addNote(j.Help, "%s", j.Words)
	}
}

// leastFreeMB is enough memory for the show and a browser; maxLoad means that every
// processor is busy.
const (
	leastFreeMB = 300
	maxLoad     = 1.0
)

func (r *Report) judgeComputer(f *Facts) {
	if f.WSL {
		r.addGrave("run tactus on Windows itself", "this is Linux inside Windows: multicast and broadcast do not reach the lights, and there is no USB MIDI")
	}
	for _, c := range []struct {
		is       bool
		do, what string
	}{
		{f.Refused, f.Remedy, "the system gave " + f.RealTime + ": frames wake late when other programs are busy"},
		{f.AsAsked, "leave --real-time=false out", "no real-time priority was asked for"},
		{f.Battery, "plug the charger in", "the computer runs on its battery"},
		{f.Saving != "", "choose the power mode for performance", f.Saving},
		{len(f.WiFi) > 0, "use a cable: Wi-Fi delays light, loses it, and slows multicast down", "light leaves by Wi-Fi (" + strings.Join(f.WiFi, ", ") + ")"},
		{f.FreeMB > 0 && f.FreeMB < leastFreeMB, "close other programs", fmt.Sprintf("only %d MB of memory are free", f.FreeMB)},
		{f.Load > maxLoad, "close other programs, wait for updates to end, and try again", fmt.Sprintf("before the test the computer had %.1f times the work it can do", f.Load)},
	} {
		if c.is {
			r.addNote(c.do, "%s", c.what)
		}
	}
}

// WriteText prints the report in plain words.
func (r *Report) WriteText(w io.Writer) {
	m := &r.Measured
	fmt.Fprintf(w, "%.0f s, %d frames, %.1f a second, woken by %s; %s\n", m.Seconds, m.Frames, m.Rate, m.Timer, r.Facts.RealTime)
	fmt.Fprintf(w, "  woke late   half within %.3f ms, 99 in 100 within %.3f ms, worst %.3f ms\n", m.Late.P50, m.Late.P99, m.Late.Worst)
	fmt.Fprintf(w, "  frame work  half within %.3f ms, 99 in 100 within %.3f ms, worst %.3f ms\n", m.Work.P50, m.Work.P99, m.Work.Worst)
	fmt.Fprintf(w, "  missed %d frames, %d send errors\n", m.Missed, m.Errors)
	if j := m.Clock; j != nil && j.Tempo > 0 {
		fmt.Fprintf(w, "  MIDI clock  %d ticks, %.2f BPM give or take %.3f %%, noise %.2f ms, mean delay %.2f ms, latest %.1f ms\n",
			j.Ticks, j.Tempo, j.TempoError, j.Noise, j.Delay, j.Latest)
		for _, words := range []string{j.Words, j.Help} {
			if words != "" && j.Level == inwords.Well.String() { // otherwise it is printed as a remark
				fmt.Fprintf(w, "              %s\n", words)
			}
		}
	}
	if !r.Facts.Looked {
		fmt.Fprintln(w, "  battery, power saving, Wi-Fi and memory: not looked at on this system")
	}
	fmt.Fprintf(w, "\nThis computer is %s.\n", r.Verdict)
	for _, remark := range r.Remarks {
		mark := "-"
		if remark.Grave {
			mark = "!"
		}
		fmt.Fprintf(w, "  %s %s\n      %s\n", mark, remark.What, remark.Do)
	}
}
