package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/shows"
	"tactus/shows/smf"
)

func newExport() *cobra.Command {
	return newGroup("export", "Write songs for a DAW",
		`Write songs into files for other programs.`,
		`  tactus export midi my-hall
  tactus export midi my-hall --song "Long Shore" --out long-shore.mid`, newExportMIDI())
}

type exportFlags struct {
	set, song, out string
	force          bool
}

func newExportMIDI() *cobra.Command {
	var f exportFlags
	c := &cobra.Command{
		Use:   "midi SHOW",
		Short: "Write songs as MIDI files whose notes enter every section",
		Long: `Write a Standard MIDI File for each song of the set, to be put into the song's
DAW project at its first downbeat: a note on every section's downbeat, on the
channel and of the number that the show listens to, the program change that
selects the song, a marker for each section, the tempo map and the meters. Cues
inside sections need no notes: they follow the song position.

Program numbers belong to songs, so that a file made for one set selects the same
song in every other. Songs of a set whose file has no "program" get one: their
place in this set, or a free number for songs of other sets only. It is written
into the song's file, which otherwise stays as it is. With more songs in sets than
there are programs, 128, none is written. If one cannot be written, nothing is.

Send the track to the port that tactus listens on, together with MIDI clock.
Files are named after the songs' files. 'tactus import midi' reads them back.`,
		Example: `  tactus export midi my-hall                          every song of the set, here
  tactus export midi my-hall --set november --out for-the-daw
  tactus export midi my-hall --song "Long Shore" --out long-shore.mid`,
		RunE: func(c *cobra.Command, args []string) error {
			show, err := loadShow(args[0], f.set, c.ErrOrStderr())
			if err != nil {
				return err
			}
			list, err := newNumbers(args[0], show, c.ErrOrStderr())
			if err != nil {
				return err
			}
			if err := exportMIDI(show, &f, c.OutOrStdout(), c.ErrOrStderr()); err != nil {
				return err
			}
			return writeNumbers(args[0], show, list, c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&f.song, "song", "", "only this song, by name or file")
	c.Flags().StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	c.Flags().StringVar(&f.out, "out", ".", "the folder to write into, or with --song a file that ends in .mid")
	c.Flags().BoolVar(&f.force, "force", false, "write over files that exist")
	return c
}

func exportMIDI(show *shows.Show, f *exportFlags, out, errOut io.Writer) error {
	songs := songsOfSet(show)
	if f.song != "" {
		var err error
		if songs, err = songsNamed(show, f.song); err != nil {
			return err
		}
	}
	single := strings.HasSuffix(strings.ToLower(f.out), ".mid")
	if single && f.song == "" {
		return usage.Errorf("--out %s is one file; want --song with it, or a folder", f.out)
	}
	for _, i := range songs {
		name := f.out
		if !single {
			name = filepath.Join(f.out, songStem(show, i)+".mid")
		}
		if err := exportSong(show, i, name, f.force, out, errOut); err != nil {
			return err
		}
	}
	return nil
}

func exportSong(show *shows.Show, i int32, name string, force bool, out, errOut io.Writer) error {
	song := &show.Program.Songs[i]
	src, silent, err := smf.WriteSong(show.Program, i)
	if err != nil {
		return err
	}
	if smf.ProgramOf(show.Program, i) < 0 {
		fmt.Fprintf(errOut, "note: %s: no program change selects it; put it into the set, or give it a program\n", song.Name)
	}
	for _, m := range silent {
		fmt.Fprintf(errOut, "note: %s: no note enters %s; it follows the song position only\n", song.Name, m)
	}
	if err := wholefile.WriteNew(name, src, force); err != nil {
		return err
	}
	fmt.Fprintf(out, "Wrote %s: %s, %d sections, %d of them with a note.\n", name, song.Name, len(song.Sections), len(song.Sections)-len(silent))
	return nil
}

// newNumbers returns a program number for each song of a set whose file has none, to be
// written after the songs. The demo cannot be written.
func newNumbers(name string, show *shows.Show, errOut io.Writer) ([]shows.NumberedSong, error) {
	if name == showfiles.Demo {
		return nil, nil
	}
	files, err := showfiles.Open(name)
	if err != nil {
		return nil, err
	}
	list, err := shows.NumberSongs(files, show)
	switch {
	case errors.Is(err, shows.ErrPrograms):
		fmt.Fprintf(errOut, "note: no program numbers are written into songs: %v\n", err)
		return nil, nil
	case err != nil:
		return nil, err
	}
	sources := map[string][]byte{}
	for _, n := range list {
		sources[show.Files[n.Song]] = n.Source
	}
	if _, problems := shows.Load(files, shows.Options{Set: show.Program.SetName, Instead: sources}); len(problems) > 0 {
		return nil, fmt.Errorf("%w: %s: with program numbers, %s", shows.ErrNumber, name, problems[0])
	}
	return list, nil
}

// writeNumbers writes the files of songs with their program numbers.
func writeNumbers(name string, show *shows.Show, list []shows.NumberedSong, out io.Writer) error {
	for _, n := range list {
		file := show.Files[n.Song]
		if err := wholefile.WriteNew(filepath.Join(name, filepath.FromSlash(file)), n.Source, true); err != nil {
			return err
		}
		fmt.Fprintf(out, "Wrote program: %d into %s: program changes select %s by it in every set.\n", n.Program+1, file, show.Program.Songs[n.Song].Name)
	}
	return nil
}
