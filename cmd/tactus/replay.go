package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/replay"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/wholefile"
	"tactus/engine/journal"
	"tactus/shows"
)

func newReplay() *cobra.Command {
	var capture string
	var report, force bool
	c := &cobra.Command{
		Use:   "replay JOURNAL [SHOW] [EDITED...]",
		Short: "Play a journal again, and tell whether every frame comes out the same",
		Long: `Play what "tactus run --journal" recorded again: offline, as fast as it goes,
through the same clock and engine. Every frame's checksum is compared. Exit code
1 says that a frame differs, and the first one is named with its time.

SHOW is the show as it was then; without it, the one that the journal names. A
show that has changed since gives other light; the output says that it has.

A show that was edited while it ran is another show from there on: give the show as
it was after each edit, in order, behind SHOW. The replay ends at an edit for which
there is none, and says so. Where songs had faults after an edit, the run kept them
as they were and left out new ones, and so does the replay.

A journal that a power cut has left is read up to its last whole line. After a crash
"run --resume" begins a new journal, with the state that the show goes on from at
its head, and the replay begins there.

--pcapng writes the packets again that went over the wire, at their times: the
same senders make them. What a journal does not hold is replaced or missing: the
sender's address is 192.0.2.1, an interface's broadcast address 255.255.255.255,
and there are no Art-Net polls and none of the nodes that were found by them. In the
journal of a run that went on after a crash, sequence numbers begin anew.`,
		Example: `  tactus replay friday.journal
  tactus replay friday.journal --report
  tactus replay friday.journal my-hall-as-it-was --pcapng friday.pcapng
  tactus replay friday.journal my-hall-at-eight my-hall-at-nine`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return runReplay(c, args, capture, report, force) },
	}
	c.Flags().StringVar(&capture, "pcapng", "", "write what went over the wire to this FILE, for a network analyser")
	c.Flags().BoolVar(&force, "force", false, "write over a file that exists")
	c.Flags().BoolVar(&report, "report", false, "print what was played beside what was planned")
	return c
}

func runReplay(c *cobra.Command, args []string, capture string, report, force bool) error {
	if err := wholefile.CheckNew(force, capture); err != nil {
		return err
	}
	file, err := os.Open(args[0])
	if err != nil {
		return err
	}
	defer file.Close()
	far := terminal.NewReader(c.ErrOrStderr(), "replaying", file)
	defer far.Done()
	read, err := journal.NewReader(interruptible{c.Context(), far})
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
	warnOfChanges(c.ErrOrStderr(), h, name)
	edited, err := loadEdited(show, showfiles.Songs(name), args[min(len(args), 2):], h.Set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	r, err := replay.New(read, show, edited)
	if err != nil {
		return fmt.Errorf("%s: %w", args[0], err)
	}
	if report {
		r.Report()
	}
	if capture != "" {
		drop, err := r.Capture(capture, programName())
		if err != nil {
			return err
		}
		defer drop()
	}
	if err := r.Run(); err != nil {
		return err
	}
	r.Print(c.OutOrStdout())
	if !r.Verdict(c.OutOrStdout(), c.ErrOrStderr()) {
		return errShown
	}
	return nil
}

// loadEdited reads the shows as they were edited, as the run did: a song with faults
// stays as it was in the show before. songs has the sources of the first show's songs.
func loadEdited(first *shows.Show, songs map[string][]byte, names []string, set string, errOut io.Writer) (list []*shows.Show, err error) {
	for _, name := range names {
		if _, err := showfiles.Open(name); err != nil {
			return nil, err
		}
		edited := showfiles.LoadEdited(name, set, songs)
		if edited.Show == nil {
			printProblems(errOut, edited.Faults)
			return nil, errShown
		}
		if len(edited.Faults) > 0 {
			fmt.Fprintf(errOut, "%s: songs with faults are replayed as they were in the show before; new ones are left out:\n", name)
			printProblems(errOut, edited.Faults)
		}
		if err := showfiles.SameOutputs(first, edited.Show); err != nil {
			return nil, fmt.Errorf("%s is not an edit of the show before it: %w", name, err)
		}
		list, songs = append(list, edited.Show), edited.Songs
	}
	return list, nil
}

// warnOfChanges says what may make a replay differ from the run.
func warnOfChanges(out io.Writer, h *journal.Header, name string) {
	if content, err := showfiles.Content(name); err == nil && content != h.Content {
		fmt.Fprintf(out, "%s is not the show that was played: its files have changed; frames may differ\n", terminal.Printable(name))
	}
	if program := programName(); program != h.Program {
		fmt.Fprintf(out, "recorded by %q, replayed by %q\n", h.Program, program)
	}
}

// interruptible is a reader that ends with a context.
type interruptible struct {
	ctx  context.Context
	from io.Reader
}

func (r interruptible) Read(b []byte) (int, error) {
	n, err := r.from.Read(b)
	if r.ctx.Err() != nil {
		return 0, wholefile.ErrInterrupted
	}
	return n, err
}
