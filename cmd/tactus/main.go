// Command tactus drives stage lights over sACN and Art-Net, locked to the
// music. See README.md.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/protocol/midi"
	"tactus/shows/language"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// Exit codes.
const (
	exitOK    = 0
	exitFail  = 1 // the show has faults, or the work could not be done
	exitUsage = 2 // the command line makes no sense
)

// childCommand starts the process that holds the system's MIDI driver; it is hidden.
const childCommand = "midi-child"

// errShown ends a command that has printed what is wrong.
var errShown = errors.New("shown")

// run is the program without its process, so that tests can call it.
func run(args []string, in io.Reader, out, errOut io.Writer) int {
	if len(args) > 0 && args[0] == childCommand {
		return midi.ChildMain(args[1:])
	}
	ctx, stop := withSignals(context.Background(), errOut)
	defer stop()
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errOut)
	err := root.ExecuteContext(ctx)
	var usage usage.Error
	switch {
	case err == nil:
		return exitOK
	case errors.Is(err, errShown):
		return exitFail
	case errors.As(err, &usage):
		fmt.Fprintf(errOut, "%s\nSee 'tactus --help', or 'tactus COMMAND --help' for examples.\n", terminal.PrintableLines(language.WrapList("tactus: "+err.Error(), messageWidth)))
		return exitUsage
	default:
		fmt.Fprintln(errOut, terminal.PrintableLines(language.WrapList("tactus: "+err.Error(), messageWidth)))
		return exitFail
	}
}

// echo is for how long after a signal a second one counts as the same: programs that
// end others often send it to the process and to its group.
const echo = 500 * time.Millisecond

// Times of an exit after a signal.
const (
	exitLook  = 50 * time.Millisecond
	exitGrace = 900 * time.Millisecond // for a command to clean up after itself
)

// goodbyes counts the shows that are ending as they were told to, which may take long.
type goodbyes struct{ atomic.Int32 }

type goodbyesKey struct{}

// sayingGoodbye lets a command take as long as its goodbye needs after a signal, until
// the returned function is called.
func sayingGoodbye(ctx context.Context) (over func()) {
	g, ok := ctx.Value(goodbyesKey{}).(*goodbyes)
	if !ok {
		return func() {}
	}
	g.Add(1)
	return func() { g.Add(-1) }
}

// withSignals returns a context that the first SIGINT or SIGTERM ends, so that a show
// says goodbye. A command that is still there a second later, such as one that waits
// for a full pipe, is ended, unless it is a show's goodbye; a second signal ends that
// too. SIGHUP is ignored: a show goes on without its terminal.
func withSignals(parent context.Context, errOut io.Writer) (context.Context, func()) {
	var shows goodbyes
	ctx, cancel := context.WithCancel(context.WithValue(parent, goodbyesKey{}, &shows))
	signals := make(chan os.Signal, 2)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	signal.Ignore(syscall.SIGHUP)
	done := make(chan struct{})
	go func() {
		select {
		case <-signals:
			cancel()
		case <-done:
			return
		}
		look, waited := time.NewTicker(exitLook), time.Duration(0)
		defer look.Stop()
		for echoing := time.After(echo); ; {
			select {
			case <-echoing:
				echoing = nil
			case s := <-signals:
				if echoing == nil {
					leave(errOut, fmt.Sprintf("tactus: %s again: leaving at once\n", s))
				}
			case <-look.C:
				if shows.Load() > 0 {
					waited = 0
				} else if waited += exitLook; waited >= exitGrace {
					leave(errOut, "tactus: interrupted\n")
				}
			case <-done:
				return
			}
		}
	}()
	return ctx, func() {
		signal.Stop(signals)
		close(done)
		cancel()
	}
}

// leave ends the process. It waits only briefly for a terminal to take the reason.
func leave(errOut io.Writer, reason string) {
	d := terminal.NewDropWriter(errOut, tellLost)
	io.WriteString(d, reason)
	ctx, cancel := context.WithTimeout(context.Background(), exitLook)
	defer cancel()
	d.Close(ctx)
	os.Exit(exitFail)
}

// newGroup makes a command that only has others below it.
func newGroup(name, short, long, example string, below ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{
		Use: name, Short: short, Long: long, Example: example, Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(below...)
	return c
}

// checkWords has a command, and those below it, say how it is called when it is given
// too few words or too many: one is wanted where the command does not say otherwise.
// A command that begins with a SHOW completes its name.
func checkWords(c *cobra.Command) {
	check := c.Args
	if check == nil {
		check = cobra.ExactArgs(1)
	}
	words := strings.TrimPrefix(c.Use, c.Name())
	if strings.HasPrefix(words, " SHOW") || strings.HasPrefix(words, " [SHOW") {
		c.ValidArgsFunction = completeShow
	}
	c.Args = func(c *cobra.Command, args []string) error {
		err := check(c, args)
		var ours usage.Error // says by itself what is wrong
		switch {
		case err == nil || errors.As(err, &ours):
			return err
		case len(args) == 0:
			return usage.Errorf("something is missing; want: %s%s", c.CommandPath(), words)
		}
		return usage.Errorf("too many words; want: %s%s; a name with spaces goes in quotes", c.CommandPath(), words)
	}
	for _, below := range c.Commands() {
		checkWords(below)
	}
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "tactus",
		Short: "Stage light that keeps to the beat",
		Long: `tactus drives stage lights over sACN (ANSI E1.31) and Art-Net, locked to the
music: a DAW's MIDI clock and notes go in, light comes out on the downbeat.

SHOW is a folder of show files, or "demo" for the one that is built in.

Flashing light can harm people: read the cautions in README.md.`,
		Example: `  tactus rehearse demo             see the demo show here, without any hardware
  tactus new my-hall               copy it as a starting point
  tactus check my-hall             find every fault in the files
  tactus run my-hall --midi /dev/snd/midiC1D0 --interface eth0`,
		SilenceUsage:  true,
		SilenceErrors: true,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usage.Wrap(err) })
	root.AddCommand(newRun(), newRehearse(), newCheck(), newWatch(), newPorts(), newPassphrase(), newPair(), newAlign(), newNotes(), newLaptop(), newSchema(), newColours(), newNew(),
		newFixtures(), newImport(), newListen(), newExport(), newPatch(), newSheet(), newPlot(), newWalk(), newDraft(), newExplain(), newReplay(), newService(), newDocs())
	for _, c := range root.Commands() {
		checkWords(c)
	}
	root.Args = func(_ *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		var names []string
		for _, c := range root.Commands() {
			if c.IsAvailableCommand() {
				names = append(names, c.Name())
			}
		}
		return usage.Errorf("no command %q%s; commands are: %s", args[0], didYouMean(args[0], names), strings.Join(names, ", "))
	}
	return root
}
