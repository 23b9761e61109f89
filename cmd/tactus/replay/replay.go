package replay

import (
	"errors"
	"fmt"
	"io"
	"time"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/protocol/dmx"
	"tactus/shows"
)

// Replay is a journal on its way through the engine.
type Replay struct {
	read     *journal.Reader
	show     *shows.Show
	program  *engine.Program // that plays: of the show, or as it was edited
	edited   []*shows.Show   // after each edit that is still to come
	play     *engine.Replay
	frames   uint64
	differ   uint64
	lost     uint64 // records that are not in the journal
	last     clock.Time
	first    string // the first frame that differs
	end      string // why it ends before its end; "" at the end
	broken   bool   // the file cannot be what was written
	onFrame  []func(r *engine.Record, u []dmx.Universe) error
	onOther  []func(r *engine.Record) error
	onEdit   func(at clock.Time, p *engine.Program)
	papers   []*playedReport
	captured *capture // of the wire; or nil
}

// New begins a replay of a show, and of what it became by edits.
func New(read *journal.Reader, show *shows.Show, edited []*shows.Show) *Replay {
	h := &read.Header
	return &Replay{read: read, show: show, program: show.Program, edited: edited, play: engine.NewReplay(show.Program, h.Clock, h.Lead)}
}

// Report has what was played put beside what was planned.
func (r *Replay) Report() {
	r.onEdit = func(at clock.Time, p *engine.Program) {
		r.papers = append(r.papers, newPlayedReport(p, r.read.Header.Started, at, r.play))
	}
	r.onEdit(0, r.show.Program)
	r.watch(func(rec *engine.Record, u []dmx.Universe) error { return r.papers[len(r.papers)-1].frame(rec, u) },
		func(rec *engine.Record) error { return r.papers[len(r.papers)-1].other(rec) })
}

// Capture has the packets written into a file, in the name of a program. drop
// takes the file away again unless the run came to its end.
func (r *Replay) Capture(name, program string) (drop func(), err error) {
	if r.captured, err = newCapture(name, program, &r.read.Header, r.show); err != nil {
		return nil, err
	}
	r.watch(r.captured.frame, r.captured.other)
	return r.captured.file.Drop, nil
}

// Print prints the reports that were asked for, and how much was captured.
func (r *Replay) Print(out io.Writer) {
	if r.captured != nil {
		fmt.Fprintf(out, "%d packets in %s\n", r.captured.packets, r.captured.name)
	}
	for _, paper := range r.papers {
		paper.print(out)
	}
}

func (r *Replay) watch(frame func(*engine.Record, []dmx.Universe) error, other func(*engine.Record) error) {
	r.onFrame = append(r.onFrame, frame)
	r.onOther = append(r.onOther, other)
}

// Run takes record after record, to the end or as far as there is sense in it,
// and puts a capture in its place.
func (r *Replay) Run() error {
	err := r.takeAll()
	if err == nil && r.captured != nil {
		err = r.captured.keep()
	}
	return err
}

func (r *Replay) takeAll() error {
	r.end = "the journal ends without the end of the show"
	for {
		rec, err := r.read.Next()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case errors.Is(err, journal.ErrCut):
			r.end = fmt.Sprintf("the journal is cut off in line %d; all before it is read", r.read.Line())
			return nil
		case errors.Is(err, journal.ErrLine):
			r.end, r.broken = fmt.Sprintf("%v; all before it is read", err), true
			return nil
		case err != nil:
			return err
		}
		if err := r.take(&rec); err != nil {
			return err
		}
		switch rec.Kind {
		case engine.RecordEnd:
			r.end = ""
			return nil
		case engine.RecordReload:
			if err := r.edit(rec.At); err != nil {
				r.end = fmt.Sprintf("the show was edited at %s while it ran; what follows was another show: %v", r.when(rec.At), err)
				return nil
			}
		}
	}
}

// edit goes on with the show as it was after the next edit.
func (r *Replay) edit(at clock.Time) error {
	if len(r.edited) == 0 {
		return errors.New("give it too, behind SHOW, to go on")
	}
	revision, err := engine.NewReload(r.program, r.edited[0].Program)
	if err != nil {
		return err
	}
	if !r.play.Reload(revision) {
		return errors.New("it is not one of the show before")
	}
	r.program, r.edited = revision.Program(), r.edited[1:]
	if r.onEdit != nil {
		r.onEdit(at, r.program)
	}
	return nil
}

func (r *Replay) take(rec *engine.Record) error {
	r.last = rec.At
	if rec.Kind == engine.RecordGap {
		r.lost += rec.Count
	}
	u := r.play.PlayRecord(rec)
	if rec.Kind != engine.RecordFrame {
		for _, f := range r.onOther {
			if err := f(rec); err != nil {
				return err
			}
		}
		return nil
	}
	r.frames++
	if sum := engine.Sum(u); sum != rec.Sum {
		if r.differ++; r.differ == 1 {
			r.first = fmt.Sprintf("frame %d at %s: checksum %08x, in the journal %08x", rec.Frame, r.when(rec.At), sum, rec.Sum)
		}
	}
	for _, f := range r.onFrame {
		if err := f(rec, u); err != nil {
			return err
		}
	}
	return nil
}

// when names a moment: seconds as in the journal, and the time of day.
func (r *Replay) when(at clock.Time) string {
	wall := r.read.Header.Started.Add(time.Duration(at)).Local()
	return fmt.Sprintf("%d.%09d s (%s)", at/clock.Second, at%clock.Second, wall.Format("15:04:05.000"))
}

// Verdict says whether the replay is what was played; so does what it returns.
func (r *Replay) Verdict(out, errOut io.Writer) bool {
	if r.end != "" {
		fmt.Fprintln(errOut, r.end)
	}
	if r.lost > 0 {
		fmt.Fprintf(errOut, "%d records were lost in the run: the disk was too slow; frames after that may differ\n", r.lost)
	}
	span := time.Duration(r.last).Round(time.Millisecond)
	if r.differ > 0 {
		fmt.Fprintf(errOut, "%s\n%d of %d frames differ\n", r.first, r.differ, r.frames)
		return false
	}
	fmt.Fprintf(out, "%d frames in %s: every one as it was played\n", r.frames, span)
	return !r.broken
}
