package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/panel"
)

func newPassphrase() *cobra.Command {
	var state string
	var remove bool
	c := &cobra.Command{
		Use:   "passphrase control|watch",
		Short: "Set the passphrase that the page asks for on a network",
		Long: fmt.Sprintf(`Set the passphrase of the page. "control" lets in those who steer the light,
"watch" those who only look on. The page asks for one wherever more than this
computer can reach it, and is not served there before "control" is set.

It is read from the terminal without being shown, or from the first line of
standard input; %d to %d octets. What is kept is a bcrypt hash, in this user's
configuration folder. A run takes the passphrases as they are when it starts.

CAUTION: the page is served without encryption. Whoever can listen on the
network can read the passphrase: use the lights' own network, and no passphrase
that opens anything else.`, panel.MinPassphrase, panel.MaxPassphrase),
		Example: `  tactus passphrase control
  tactus passphrase watch --remove`,
		ValidArgs: []string{"control", "watch"},
		RunE: func(c *cobra.Command, args []string) error {
			if !slices.Contains(c.ValidArgs, args[0]) {
				return usage.Errorf("%q: want control or watch", args[0])
			}
			path, err := live.PassphrasePath(state, args[0])
			if err != nil {
				return err
			}
			if remove {
				if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
					return err
				}
				fmt.Fprintf(c.OutOrStdout(), "The page lets nobody in to %s.\n", args[0])
				return nil
			}
			words, err := readPassphrase(c.Context(), c.InOrStdin(), c.ErrOrStderr())
			if err != nil {
				return err
			}
			hash, err := panel.Hash(words)
			if err != nil {
				return err
			}
			if err := wholefile.WriteSecret(path, append(hash, '\n')); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Whoever has it may %s. Runs that start from now on ask for it.\n", args[0])
			return nil
		},
	}
	c.Flags().StringVar(&state, "state", "", "folder that keeps it (default: the user's configuration folder)")
	c.Flags().BoolVar(&remove, "remove", false, "remove it instead")
	return c
}

// readPassphrase asks twice on a terminal, and reads a line elsewhere.
func readPassphrase(ctx context.Context, in io.Reader, ask io.Writer) (string, error) {
	f, ok := in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		line := bufio.NewScanner(io.LimitReader(in, 4<<10))
		line.Scan()
		return line.Text(), line.Err()
	}
	var given [2][]byte
	for i, words := range []string{"passphrase: ", "once more: "} {
		fmt.Fprint(ask, words)
		var err error
		given[i], err = readHidden(ctx, f)
		fmt.Fprintln(ask)
		if err != nil {
			return "", err
		}
	}
	if !bytes.Equal(given[0], given[1]) {
		return "", errors.New("the two passphrases differ; nothing was changed")
	}
	return string(given[0]), nil
}

// readHidden reads a line from a terminal that does not show it. When ctx ends meanwhile,
// the terminal shows what is typed again: the process ends before the line does.
func readHidden(ctx context.Context, f *os.File) ([]byte, error) {
	before, err := term.GetState(int(f.Fd()))
	if err != nil {
		return nil, err
	}
	defer context.AfterFunc(ctx, func() { _ = term.Restore(int(f.Fd()), before) })()
	return term.ReadPassword(int(f.Fd()))
}
