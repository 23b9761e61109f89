package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tactus/cmd/tactus/pairing"
	"tactus/cmd/tactus/usage"
)

func newPair() *cobra.Command {
	var state string
	var enter, show, replace bool
	c := &cobra.Command{
		Use:   "pair",
		Short: "Make the key that two computers share, so that one can stand by for the other",
		Long: `Make a pairing key, or bring that of another computer: two computers with the
same key can stand by for each other ("tactus run --standby"). Nobody else can
connect to them, read what they send each other, or take the light over.

The key is kept in a file of this user's configuration folder that only this user
can read. It never crosses the network. Bring it to the other computer by hand:
"tactus pair --show" prints it, "tactus pair --enter" there takes it. Both then
print the same check mark.

CAUTION: whoever has the key can take over the light. Do not put it where others
read along; make a new one with --new when a computer is lost.`,
		Example: `  tactus pair             on the first computer: make the key, print its check mark
  tactus pair --show      print the key itself, to type it on the other computer
  tactus pair --enter     on the other computer: take the key from the keyboard`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if enter && (show || replace) {
				return usage.Errorf("--enter brings a key that exists; leave out --show and --new")
			}
			k, err := pairingKey(c, state, enter, replace)
			if err != nil {
				return err
			}
			if show {
				fmt.Fprintln(c.OutOrStdout(), k.Text())
			}
			fmt.Fprintf(c.OutOrStdout(), "check mark: %s (the same on both computers)\n", k.CheckMark())
			if !enter && !show {
				fmt.Fprintln(c.OutOrStdout(), `Bring the key to the other computer: "tactus pair --show" prints it here,
"tactus pair --enter" takes it there.`)
			}
			return nil
		},
	}
	c.Flags().StringVar(&state, "state", "", "folder that keeps the key (default: the user's configuration folder)")
	c.Flags().BoolVar(&enter, "enter", false, "take a key from the keyboard or the first line of standard input")
	c.Flags().BoolVar(&show, "show", false, "print the key itself")
	c.Flags().BoolVar(&replace, "new", false, "make a new key in place of the one that is there")
	return c
}

// pairingKey returns the key of this computer, after it has been made or entered.
func pairingKey(c *cobra.Command, state string, enter, replace bool) (pairing.Key, error) {
	if enter {
		text, err := readKey(c.Context(), c.InOrStdin(), c.ErrOrStderr())
		if err != nil {
			return pairing.Key{}, err
		}
		k, err := pairing.ParseKey(text)
		if err != nil {
			return k, usage.Wrap(err)
		}
		path, err := pairing.Save(state, k, true)
		if err == nil {
			fmt.Fprintf(c.OutOrStdout(), "The key is in %s.\n", path)
		}
		return k, err
	}
	k, err := pairing.Load(state)
	if !replace && (err == nil || !errors.Is(err, pairing.ErrNoKey)) {
		return k, err
	}
	k = pairing.NewKey()
	path, err := pairing.Save(state, k, replace)
	if err == nil {
		fmt.Fprintf(c.OutOrStdout(), "A new key is in %s.\n", path)
	}
	return k, err
}

// readKey reads a line; a terminal does not show it.
func readKey(ctx context.Context, in io.Reader, ask io.Writer) (string, error) {
	if f, ok := in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		fmt.Fprint(ask, "key: ")
		text, err := readHidden(ctx, f)
		fmt.Fprintln(ask)
		return string(text), err
	}
	line := bufio.NewScanner(io.LimitReader(in, 4<<10))
	line.Scan()
	return line.Text(), line.Err()
}
