package replay

import (
	"errors"
	"fmt"
	"io"
	"time"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/shows"
)

// Replay plays a journal through the engine, and counts frames that differ.
type Replay struct {
	read            *journal.Reader
	program         *engine.Program // that plays: of the show, or as it was edited
	edited          []*shows.Show   // the shows after edits that are still to come
	play            *engine.Replay
	frames          uint64
	differing       uint64
	firstDifference string     // in words
	lost            uint64     // records that are not in the journal
	began           clock.Time // where the run went on from; 0: it began with the show
	last            clock.Time
	earlyEnd        string // why the replay ends before the end of the show; ""
	broken          bool   // the file cannot be what was written

	outputs *shows.Outputs  // of the show
	reports []*playedReport // for the show and for each edit of it; none if not asked for
	capture *capture        // or nil
}

// New begins a replay of a show, and of what it became by edits. It returns an error if the
// run went on from the state of a run before, and that is not a state of this show.
func New(read *journal.Reader, show *shows.Show, edited []*shows.Show) (*Replay, error) {
	h := &read.Header
	r := &Replay{read: read, outputs: &show.Outputs, program: show.Program, edited: edited}
	if h.Checkpoint == nil {
		r.play = engine.NewReplay(show.Program, h.Clock, h.Lead)
		return r, nil
	}
	from, err := engine.RestoreCheckpoint(show.Program, h.Checkpoint)
	if err != nil {
		return nil, fmt.Errorf("the run went on after a crash, from a state that does not fit this show: %w; give the show as it was then", err)
	}
	r.began, r.play = from.Info.At, engine.ResumeReplay(from)
	return r, nil
}

// Report asks for what was played beside what was planned.
func (r *Replay) Report() { r.report(r.began) }

// report begins the report on the present program, from a moment on.
func (r *Replay) report(from clock.Time) {
	report := newPlayedReport(r.program, r.read.Header.Started, from, r.play)
	if n := len(r.reports); n > 0 {
		report.changes = r.reports[n-1].changes // an edit keeps the counts
	}
	r.reports = append(r.reports, report)
}

// Capture asks for the packets in a file that names program as its writer. drop
// removes the file unless Run has completed it.
func (r *Replay) Capture(name, program string) (drop func(), err error) {
	if r.capture, err = newCapture(name, program, &r.read.Header, r.outputs); err != nil {
		return nil, err
	}
	return r.capture.file.Drop, nil
}

// Print prints the reports that were asked for, and how much was captured.
func (r *Replay) Print(out io.Writer) {
	if r.capture != nil {
		fmt.Fprintf(out, "%d packets in %s\n", r.capture.packets, r.capture.name)
	}
	for _, report := range r.reports {
		report.print(out)
	}
}

// Run plays the journal to its end, or as far as it can be read, and completes the
// capture.
func (r *Replay) Run() error {
	err := r.readAll()
	if err == nil && r.capture != nil {
		err = r.capture.finish()
	}
	return err
}

func (r *Replay) readAll() error {
	r.earlyEnd = "the journal ends before the show does"
	for {
		rec, err := r.read.Next()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.Is(err, journal.ErrCut):
			r.earlyEnd = fmt.Sprintf("the journal is cut off in line %d; all before it is read", r.read.Line())
			return nil
		case errors.Is(err, journal.ErrLine):
			r.earlyEnd, r.broken = fmt.Sprintf("%v; all before it is read", err), true
			return nil
		case err != nil:
			return err
		}
		if err := r.takeRecord(&rec); err != nil {
			return err
		}
		switch rec.Kind {
		case engine.RecordEnd:
			r.earlyEnd = ""
			return nil
		case engine.RecordReload:
			if err := r.applyEdit(rec.At); err != nil {
				r.earlyEnd = fmt.Sprintf("the show was edited at %s while it ran; what follows was another show: %v", r.timeText(rec.At), err)
				return nil
			}
		}
	}
}

// applyEdit goes on with the show as it was after the next edit.
func (r *Replay) applyEdit(at clock.Time) error {
	if len(r.edited) == 0 {
		return errors.New("give it too, behind SHOW, to go on")
	}
	reload, err := engine.NewReload(r.program, r.edited[0].Program)
	if err != nil {
		return err
	}
	if !r.play.Reload(reload) {
		return errors.New("it is not one of the show before")
	}
	r.program, r.edited = reload.Program(), r.edited[1:]
	if r.reports != nil {
		r.report(at)
	}
	return nil
}

func (r *Replay) takeRecord(rec *engine.Record) error {
	r.last = rec.At
	if rec.Kind == engine.RecordGap {
		r.lost += rec.Count
	}
	u := r.play.PlayRecord(rec)
	if rec.Kind == engine.RecordFrame {
		r.frames++
		if sum := engine.Sum(u); sum != rec.Sum {
			if r.differing++; r.differing == 1 {
				r.firstDifference = fmt.Sprintf("frame %d at %s: checksum %08x, in the journal %08x", rec.Frame, r.timeText(rec.At), sum, rec.Sum)
			}
		}
	}
	if n := len(r.reports); n > 0 {
		r.reports[n-1].record(rec)
	}
	if r.capture != nil {
		return r.capture.record(rec, u)
	}
	return nil
}

// timeText names a moment: seconds as in the journal, and the time of day.
func (r *Replay) timeText(at clock.Time) string {
	wall := r.read.Header.Started.Add(time.Duration(at)).Local()
	return fmt.Sprintf("%d.%09d s (%s)", at/clock.Second, at%clock.Second, wall.Format("15:04:05.000"))
}

// Verdict says whether every frame is as it was played, and returns it.
func (r *Replay) Verdict(out, errOut io.Writer) bool {
	if r.earlyEnd != "" {
		fmt.Fprintln(errOut, r.earlyEnd)
	}
	if r.lost > 0 {
		fmt.Fprintf(errOut, "%d records were lost in the run: the disk was too slow; frames after that may differ\n", r.lost)
	}
	span := time.Duration(r.last - r.began).Round(time.Millisecond)
	if r.differing > 0 {
		fmt.Fprintf(errOut, "%s\n%d of %d frames differ\n", r.firstDifference, r.differing, r.frames)
		return false
	}
	fmt.Fprintf(out, "%d frames in %s: every one as it was played\n", r.frames, span)
	return !r.broken
}
