package main

import (
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"tactus/protocol/midi"
)

func newPorts() *cobra.Command {
	return &cobra.Command{
		Use:   "ports",
		Short: "List the MIDI inputs that --midi can name",
		Long: `List the MIDI inputs of this machine: raw devices, and the ports of the operating
system's MIDI driver where this build has one.

Besides these, --midi takes a FIFO or any other raw byte stream by its path, and
a Standard MIDI File as file:PATH.`,
		Example: `  tactus ports
  tactus run my-hall --midi "Studio Interface"     a port by name
  tactus run my-hall --midi /dev/snd/midiC1D0      a raw device
  mkfifo /tmp/daw; tactus run my-hall --midi /tmp/daw`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			list, err := midi.List(c.Context(), midi.Options{})
			out := c.OutOrStdout()
			w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
			for _, p := range list {
				fmt.Fprintf(w, "%s\t%s\n", p.Spec, p.Name)
			}
			w.Flush()
			if len(list) == 0 {
				fmt.Fprintln(out, "No MIDI inputs found. A FIFO or a file works without any: see --help.")
			}
			if err != nil {
				fmt.Fprintf(c.ErrOrStderr(), "tactus: %v\n", err)
			}
			return nil
		},
	}
}
