package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"tactus/clock"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/wholefile"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/protocol/dmx"
	"tactus/shows"
)

func newReplay() *cobra.Command {
	var capture string
	var report bool
	c := &cobra.Command{
		Use:   "replay JOURNAL [SHOW] [EDITED...]",
		Short: "Play a journal again, and tell whether every frame comes out the same",
		Long: `Play what "tactus run --journal" recorded again: offline, as fast as it goes,
through the same clock and engine. Every frame's checksum is compared. Exit code
1 says that a frame differs, and the first one is named with its time.

SHOW is the show as it was then; without it, the one that the journal names. A
show that was changed since gives other light, and that is told.

A show that was edited while it ran is another show from there on: give the show as
it was after each edit, in order, behind SHOW. The replay ends at an edit for which
there is none, and says so.

A journal that a power cut has left is read up to its last whole line.

--pcapng writes the packets again that went over the wire, at their times: the
same senders make them. What is not known afterwards is told in other words: the
sender's address is 192.0.2.1, an interface's broadcast address 255.255.255.255,
and Art-Net polls, and nodes that were found by them, are missing.`,
		Example: `  tactus replay friday.journal
  tactus replay friday.journal --report
  tactus replay friday.journal my-hall-as-it-was --pcapng friday.pcapng
  tactus replay friday.journal my-hall-at-eight my-hall-at-nine`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			return replay(c, args, capture, report)
		},
	}
	c.Flags().StringVar(&capture, "pcapng", "", "write what went over the wire to this FILE, for a network analyser")
	c.Flags().BoolVar(&report, "report", false, "print what was played beside what was planned")
	return c
}

// replayed is a journal on its way through the engine.
type replayed struct {
	read    *journal.Reader
	show    *shows.Show
	program *engine.Program // that plays: of the show, or as it was edited
	edited  []*shows.Show   // after each edit that is still to come
	play    *engine.Replay
	frames  uint64
	differ  uint64
	lost    uint64 // records that are not in the journal
	last    clock.Time
	first   string // the first frame that differs
	end     string // why it ends before its end; "" at the end
	broken  bool   // the file cannot be what was written
	onFrame []func(r *engine.Record, u []dmx.Universe) error
	onOther []func(r *engine.Record) error
	onEdit  func(at clock.Time, p *engine.Program)
}

func replay(c *cobra.Command, args []string, capture string, report bool) error {
	file, err := os.Open(args[0])
	if err != nil {
		return err
	}
	defer file.Close()
	far := terminal.NewReader(c.ErrOrStderr(), "replaying", file)
	defer far.Done()
	read, err := journal.NewReader(heedingReader{c.Context(), far})
	if err != nil {
		return fmt.Errorf("%s: %w", args[0], err)
	}
	h := &read.Header
	name := h.Show
	if len(args) > 1 {
		name = args[1]
	}
	show, err := loadShow(name, h.Set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	notes(c.ErrOrStderr(), h, name)
	r := &replayed{read: read, show: show, program: show.Program, play: engine.NewReplay(show.Program, h.Clock, h.Lead)}
	if err := r.load(c, args[min(len(args), 2):]); err != nil {
		return err
	}
	var papers []*playedReport
	if report {
		begin := func(at clock.Time, p *engine.Program) {
			paper := newPlayedReport(p, h.Started, at, r.play)
			papers = append(papers, paper)
		}
		begin(0, show.Program)
		r.onEdit = begin
		r.watch(func(rec *engine.Record, u []dmx.Universe) error { return papers[len(papers)-1].frame(rec, u) },
			func(rec *engine.Record) error { return papers[len(papers)-1].other(rec) })
	}
	if capture != "" {
		film, err := newFilm(capture, h, show)
		if err != nil {
			return err
		}
		defer film.file.Drop()
		r.watch(film.frame, film.other)
		if err := r.run(); err != nil {
			return err
		}
		if err := film.keep(); err != nil {
			return err
		}
		fmt.Fprintf(c.OutOrStdout(), "%d packets in %s\n", film.packets, capture)
	} else if err := r.run(); err != nil {
		return err
	}
	for _, paper := range papers {
		paper.print(c.OutOrStdout())
	}
	return r.verdict(c.OutOrStdout(), c.ErrOrStderr())
}

// load reads the shows as they were edited.
func (r *replayed) load(c *cobra.Command, names []string) error {
	for _, name := range names {
		edited, err := loadShow(name, r.read.Header.Set, c.ErrOrStderr())
		if err != nil {
			return err
		}
		if err := showfiles.SameOutputs(r.show, edited); err != nil {
			return fmt.Errorf("%s is no edit of the show before: %w", name, err)
		}
		r.edited = append(r.edited, edited)
	}
	return nil
}

// notes tells what makes a replay other than the run.
func notes(out io.Writer, h *journal.Header, name string) {
	if content, err := showfiles.Content(name); err == nil && content != h.Content {
		fmt.Fprintf(out, "%s is not the show that was played: its files have changed; frames may differ\n", name)
	}
	if program := programName(); program != h.Program {
		fmt.Fprintf(out, "recorded by %q, replayed by %q\n", h.Program, program)
	}
}

func (r *replayed) watch(frame func(*engine.Record, []dmx.Universe) error, other func(*engine.Record) error) {
	r.onFrame = append(r.onFrame, frame)
	r.onOther = append(r.onOther, other)
}

// run takes record after record, to the end or as far as there is sense in it.
func (r *replayed) run() error {
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
		case engine.Ended:
			r.end = ""
			return nil
		case engine.Revised:
			if err := r.edit(rec.At); err != nil {
				r.end = fmt.Sprintf("the show was edited at %s while it ran; what follows was another show: %v", r.when(rec.At), err)
				return nil
			}
		}
	}
}

// edit goes on with the show as it was after the next edit.
func (r *replayed) edit(at clock.Time) error {
	if len(r.edited) == 0 {
		return errors.New("give it too, behind SHOW, to go on")
	}
	revision, err := engine.NewRevision(r.program, r.edited[0].Program)
	if err != nil {
		return err
	}
	if !r.play.Revise(revision) {
		return errors.New("it is not one of the show before")
	}
	r.program, r.edited = revision.Program(), r.edited[1:]
	if r.onEdit != nil {
		r.onEdit(at, r.program)
	}
	return nil
}

func (r *replayed) take(rec *engine.Record) error {
	r.last = rec.At
	if rec.Kind == engine.Gap {
		r.lost += rec.Count
	}
	u := r.play.Take(rec)
	if rec.Kind != engine.Framed {
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
func (r *replayed) when(at clock.Time) string {
	wall := r.read.Header.Started.Add(time.Duration(at)).Local()
	return fmt.Sprintf("%d.%09d s (%s)", at/clock.Second, at%clock.Second, wall.Format("15:04:05.000"))
}

// verdict says whether the replay is what was played.
func (r *replayed) verdict(out, errOut io.Writer) error {
	if r.end != "" {
		fmt.Fprintln(errOut, r.end)
	}
	if r.lost > 0 {
		fmt.Fprintf(errOut, "%d records were lost in the run: the disk was too slow; frames after that may differ\n", r.lost)
	}
	span := time.Duration(r.last).Round(time.Millisecond)
	if r.differ > 0 {
		fmt.Fprintf(errOut, "%s\n%d of %d frames differ\n", r.first, r.differ, r.frames)
		return errShown
	}
	fmt.Fprintf(out, "%d frames in %s: every one as it was played\n", r.frames, span)
	if r.broken {
		return errShown
	}
	return nil
}

// heedingReader is a reader that ends with a context.
type heedingReader struct {
	ctx  context.Context
	from io.Reader
}

func (r heedingReader) Read(b []byte) (int, error) {
	n, err := r.from.Read(b)
	if r.ctx.Err() != nil {
		return 0, wholefile.ErrBroken
	}
	return n, err
}
