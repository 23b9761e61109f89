package main

import (
	"errors"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"tactus/protocol/midi"
)

func newPorts() *cobra.Command {
	return &cobra.Command{
		Use:   "ports",
		Short: "List the MIDI inputs and outputs of this machine",
		Long: `List the MIDI inputs that --midi can name, and the outputs that MIDI can be sent
to: raw devices, and the ports of the operating system's MIDI driver where this
build has one. A raw device may be able to do one of the two only.

Besides these, --midi takes a FIFO or any other raw byte stream by its path, and
a Standard MIDI File as file:PATH. An output may be a FIFO by its path, or
file:PATH, which gets the octets.`,
		Example: `  tactus ports
  tactus run my-hall --midi "Studio Interface"     a port by name
  tactus run my-hall --midi /dev/snd/midiC1D0      a raw device
  mkfifo /tmp/daw; tactus run my-hall --midi /tmp/daw`,
		Args: cobra.NoArgs,
		RunE: listPorts,
	}
}

func listPorts(c *cobra.Command, _ []string) error {
	ins, err := midi.List(c.Context(), midi.Options{})
	outs, outErr := midi.ListOutputs(c.Context(), midi.OutputOptions{})
	out := c.OutOrStdout()
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, p := range ins {
		fmt.Fprintf(w, "in\t%s\t%s\n", p.Spec, p.Name)
	}
	for _, p := range outs {
		fmt.Fprintf(w, "out\t%s\t%s\n", p.Spec, p.Name)
	}
	w.Flush()
	if len(ins) == 0 {
		fmt.Fprintln(out, "No MIDI inputs found. A FIFO or a file works without any: see --help.")
	}
	if len(outs) == 0 {
		fmt.Fprintln(out, "No MIDI outputs found. A FIFO or a file works without any: see --help.")
	}
	if err := errors.Join(err, outErr); err != nil {
		fmt.Fprintf(c.ErrOrStderr(), "tactus: %v\n", err)
	}
	return nil
}
