package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"github.com/rogpeppe/go-internal/diff"
	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/wholefile"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/language"
	"tactus/shows/merge"
	"tactus/shows/smf"
)

func newImport() *cobra.Command {
	return newGroup("import", "Make a song file of what a DAW has",
		`Read a song from a file of another program.`,
		`  tactus import midi long-shore.mid
  tactus import midi long-shore.mid --out my-hall/songs/long-shore.yaml`, newImportMIDI())
}

// songImport has the flags of import midi.
type songImport struct {
	name, out  string
	force, dry bool
}

func newImportMIDI() *cobra.Command {
	var f songImport
	c := &cobra.Command{
		Use:   "midi FILE.mid",
		Short: "Make a song file of a MIDI file, or bring one up to date",
		Long: `Read a Standard MIDI File, as a DAW exports it, and print a song file to fill in:
its tempo and meter with their changes, and a section for each marker.

Markers are understood in several languages and spellings (Verse 2, Str. 2, Couplet,
V2, REF 1, PC, CHORUS (x2), Refrão, Puente, Schluss), and give each section an energy
by its kind: a guess, so change it. Others become sections by their own name. A marker
"End" is where the song is over; without one it is over with the bar of its last note.

A file without markers gets proposals: sections where the notes change, parts that
repeat by the same name, and energies by how much is played and how loud. Each line
says why. They are proposals: listen, and change them.

With --out and a song file that exists, that file is brought up to date. From the MIDI
file come the sections with their names, order and bars, and tempo and meter with their
changes. All else stays: energies, looks, cues, palette, comments. Sections are matched
by name and order, then by place. What changed is printed. Sections that are gone, and
cues that stood in them, stay as comments with the reason. Without markers the sections
stay too. Nothing is written if nothing changes, or if the show would not load.

What could not be used, or not as it stands, is listed on the error stream.`,
		Example: `  tactus import midi long-shore.mid
  tactus import midi long-shore.mid --out my-hall/songs/long-shore.yaml
  tactus import midi long-shore.mid --out my-hall/songs/long-shore.yaml --dry-run
  tactus import midi take-3.mid --name "Long Shore"`,
		RunE: func(c *cobra.Command, args []string) error {
			return importMIDI(args[0], f, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVar(&f.name, "name", "", "name of a new song (default: the name inside the file, or the file's name)")
	c.Flags().StringVar(&f.out, "out", "", "write the song to this file, or bring it up to date if it exists (default: print a song)")
	c.Flags().BoolVar(&f.force, "force", false, "write a new song over a file that exists, and lose what is in it")
	c.Flags().BoolVar(&f.dry, "dry-run", false, "print what would change in a file that exists, and write nothing")
	return c
}

// maxImport is the largest MIDI file that is read, in bytes: what a DAW exports
// of one song has a thousandth of it.
const maxImport = 16 << 20

func importMIDI(file string, f songImport, out, errOut io.Writer) error {
	src, err := readUpTo(file, maxImport)
	if err != nil {
		return err
	}
	stem := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	song, err := smf.Read(src, terminal.Printable(stem))
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	if f.name != "" {
		song.Song.Name = smf.SongName(f.name)
	}
	for _, l := range song.Left {
		fmt.Fprintf(errOut, "note: %s\n", terminal.Printable(l))
	}
	if f.out != "" && !f.force {
		if info, err := os.Stat(f.out); err == nil && info.Mode().IsRegular() {
			if f.name != "" {
				fmt.Fprintf(errOut, "note: %s keeps its song's name; --name is for a new song\n", f.out)
			}
			return mergeSong(f.out, song, terminal.Printable(filepath.Base(file)), f.dry, out, errOut)
		}
	}
	for _, l := range song.Proposed() {
		fmt.Fprintln(errOut, l)
	}
	if f.dry {
		f.out = ""
	}
	return deliverFile(out, f.out, song.AppendTo(nil), f.force,
		": %d sections. Put the energies right, then add looks, or let 'tactus draft' do it.", len(song.Song.Sections))
}

// mergeSong brings a song's file up to date with a MIDI file, and prints what changes.
func mergeSong(name string, song *smf.Import, from string, dry bool, out, errOut io.Writer) error {
	was, merged, write, err := mergeInShow(name, song, from, errOut)
	if errors.Is(err, errNoShow) {
		was, merged, write, err = mergeAlone(name, song, from)
	}
	if err != nil {
		return shown(errOut, err)
	}
	for _, line := range merged.Report {
		fmt.Fprintln(out, line)
	}
	switch {
	case bytes.Equal(was, merged.Source):
		fmt.Fprintf(out, "%s is up to date with %s; nothing is written.\n", name, from)
		return nil
	case dry:
		_, err := out.Write(diff.Diff(name, was, name+" (merged)", merged.Source))
		return err
	}
	if err := write(); err != nil {
		return err
	}
	fmt.Fprintf(out, "Wrote %s.\n", name)
	if show := filepath.Dir(filepath.Dir(name)); merged.Drafted > 0 {
		fmt.Fprintf(out, "Its drafted lines fit the song as it was. Next: tactus draft %s %s\n", show, shows.StemOf(filepath.ToSlash(name)))
	}
	return nil
}

// errNoShow means that a song's file lies in no show.
var errNoShow = errors.New("the file lies in no show")

// mergeAlone merges a song's file that lies in no show.
func mergeAlone(name string, song *smf.Import, from string) (was []byte, merged *merge.Merged, write func() error, err error) {
	if was, err = readUpTo(name, language.MaxFileBytes); err != nil {
		return nil, nil, nil, err
	}
	merged, err = merge.New(name, was, song, from)
	return was, merged, func() error { return wholefile.WriteNew(name, merged.Source, true) }, err
}

// mergeInShow merges a song's file as an edit of the show that it lies in. write refuses if
// the show would have faults.
func mergeInShow(name string, song *smf.Import, from string, errOut io.Writer) (was []byte, merged *merge.Merged, write func() error, err error) {
	show := filepath.Dir(filepath.Dir(name))
	if _, err := os.Stat(filepath.Join(show, language.ShowFile.Where())); err != nil || filepath.Base(filepath.Dir(name)) != "songs" {
		return nil, nil, nil, errNoShow
	}
	session, err := showfiles.Compose(show, "")
	if err != nil {
		return nil, nil, nil, err
	}
	edit := &compose.TakeMIDI{Song: path.Join("songs", filepath.Base(name)), MIDI: song, From: from, Called: name}
	was = session.Sources()[edit.Song]
	state, err := session.Apply(session.State().Revision, []compose.Edit{edit})
	if edit.Merged == nil {
		return nil, nil, nil, reasonOf(err)
	}
	return was, edit.Merged, func() error {
		if problems := faultsWith(state, err); len(problems) > 0 {
			fmt.Fprintf(errOut, "%s is as it was. Merged with %s, the show would have faults:\n", name, from)
			printProblems(errOut, placed(problems, edit))
			return errShown
		}
		return saveSession(session, state.Revision, errOut)
	}, nil
}

// reasonOf returns why an edit is refused without what the edit is.
func reasonOf(err error) error {
	refused := (*compose.Refused)(nil)
	if !errors.As(err, &refused) {
		return err
	}
	if p := refused.Problems; len(p) == 1 && p[0].File == "" {
		return errors.New(p[0].What) // a sentence with file and line
	}
	return refused.Problems
}

// faultsWith returns the faults that a show has with edits, whether they were made or
// refused for them.
func faultsWith(state compose.State, err error) language.Problems {
	if refused := (*compose.Refused)(nil); errors.As(err, &refused) {
		return refused.Problems
	}
	return state.Faults
}

// placed returns problems with the places of the song's own in its file as it was, and
// before those of others.
func placed(problems language.Problems, edit *compose.TakeMIDI) language.Problems {
	var own, others language.Problems
	for _, p := range problems {
		if p.File == edit.Song {
			own = append(own, p)
		} else {
			others = append(others, p)
		}
	}
	return append(edit.Merged.Places(own), others...)
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
