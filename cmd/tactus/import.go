package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/terminal"
	"tactus/protocol/midi"
	"tactus/shows/smf"
)

func newImport() *cobra.Command {
	return newGroup("import", "Make a song file of what a DAW has",
		`Read a song from a file of another program.`,
		`  tactus import midi long-shore.mid
  tactus import midi long-shore.mid --out my-hall/songs/long-shore.yaml`, newImportMIDI())
}

func newImportMIDI() *cobra.Command {
	var name, out string
	var force bool
	c := &cobra.Command{
		Use:   "midi FILE.mid",
		Short: "Make a song file of a MIDI file with markers",
		Long: `Read a Standard MIDI File, as a DAW exports it, and print a song file to fill in:
its tempo and meter with their changes, and a section for each marker. Notes and
other tracks do not matter.

Markers are understood in several languages and spellings (Verse 2, Strophe 2,
Couplet, V2, PC, CHORUS (x2), Refrão, Puente, Schluss), and give each section an
energy by its kind: a guess, so change it. Others become sections by their own
name. A marker "End" is where the song is over.

What could not be used, or not as it stands, is listed on the error stream.`,
		Example: `  tactus import midi long-shore.mid
  tactus import midi long-shore.mid --out my-hall/songs/long-shore.yaml
  tactus import midi take-3.mid --name "Long Shore"`,
		RunE: func(c *cobra.Command, args []string) error {
			return importMIDI(args[0], name, out, force, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&name, "name", "", "name of the song (default: the name inside the file, or the file's name)")
	c.Flags().StringVar(&out, "out", "", "write the song to this file (default: print it)")
	c.Flags().BoolVar(&force, "force", false, "write over a file that exists")
	return c
}

// maxImport is the largest MIDI file that is read, in bytes: what a DAW exports
// of one song has a thousandth of it.
const maxImport = 16 << 20

func importMIDI(file, name, to string, force bool, out, errOut io.Writer) error {
	src, err := readUpTo(file, maxImport)
	if err != nil {
		return err
	}
	stem := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	song, err := smf.Read(src, terminal.Printable(stem))
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	if name != "" {
		song.Song.Name = smf.SongName(name)
	}
	for _, l := range song.Left {
		fmt.Fprintf(errOut, "note: %s\n", terminal.Printable(l))
	}
	return deliverFile(out, to, song.AppendTo(nil), force,
		": %d sections. Put the energies right, then add looks, or let 'tactus draft' do it.", len(song.Song.Sections))
}

// readUpTo reads a whole file of at most some bytes.
func readUpTo(name string, most int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(src)) > most {
		err = fmt.Errorf("%s: %w: over %d bytes", name, midi.ErrSize, most)
	}
	return src, err
}
