package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/shows"
	"tactus/shows/compose"
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
			numbered, err := numberSongs(args[0], show, c.ErrOrStderr())
			if err != nil {
				return err
			}
			files, err := midiFiles(numbered.show, &f, c.ErrOrStderr())
			if err != nil {
				return err
			}
			if err := numbered.save(c.OutOrStdout(), c.ErrOrStderr()); err != nil {
				return err
			}
			return writeMIDIFiles(files, f.force, c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&f.song, "song", "", "only this song, by name or file")
	c.Flags().StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	c.Flags().StringVar(&f.out, "out", ".", "the folder to write into, or with --song a file that ends in .mid")
	c.Flags().BoolVar(&f.force, "force", false, "write over files that exist")
	return c
}

// midiFile is the MIDI file of a song, before it is written.
type midiFile struct {
	name           string
	source         []byte
	song           string
	sections, mute int // sections of the song, and how many of them have no note
}

// midiFiles makes the MIDI file of each song that is asked for, and writes none. It
// prints a note for what a DAW cannot choose by them.
func midiFiles(show *shows.Show, f *exportFlags, errOut io.Writer) (files []midiFile, err error) {
	songs := songsOfSet(show)
	if f.song != "" {
		if songs, err = songsNamed(show, f.song); err != nil {
			return nil, err
		}
	}
	single := strings.HasSuffix(strings.ToLower(f.out), ".mid")
	if single && f.song == "" {
		return nil, usage.Errorf("--out %s is one file; want --song with it, or a folder", f.out)
	}
	var names []string
	for _, i := range songs {
		song := &show.Program.Songs[i]
		src, mute, err := smf.WriteSong(show.Program, i)
		if err != nil {
			return nil, err
		}
		if smf.ProgramOf(show.Program, i) < 0 {
			fmt.Fprintf(errOut, "note: %s: no program change selects it; put it into the set, or give it a program\n", song.Name)
		}
		for _, m := range mute {
			fmt.Fprintf(errOut, "note: %s: no note enters %s; it follows the song position only\n", song.Name, m)
		}
		name := f.out
		if !single {
			name = filepath.Join(f.out, songStem(show, i)+".mid")
		}
		names = append(names, name)
		files = append(files, midiFile{name, src, song.Name, len(song.Sections), len(mute)})
	}
	return files, wholefile.CheckNew(f.force, names...)
}

func writeMIDIFiles(files []midiFile, force bool, out io.Writer) error {
	for i := range files {
		f := &files[i]
		if err := wholefile.WriteNew(f.name, f.source, force); err != nil {
			return err
		}
		fmt.Fprintf(out, "Wrote %s: %s, %d sections, %d of them with a note.\n", f.name, f.song, f.sections, f.sections-f.mute)
	}
	return nil
}

// numberedShow is a show whose songs have program numbers of their own, in edits that are
// not saved yet.
type numberedShow struct {
	show    *shows.Show
	session *compose.Session // nil: no number is missing
	list    []shows.NumberedSong
}

// numberSongs gives a program number to each song of a set whose file has none, and writes
// none. The demo cannot be written and stays as it is, and so does a show with more songs
// in sets than there are programs.
func numberSongs(name string, show *shows.Show, errOut io.Writer) (*numberedShow, error) {
	if name == showfiles.Demo {
		return &numberedShow{show: show}, nil
	}
	list, err := shows.NumberSongs(show)
	switch {
	case err != nil:
		fmt.Fprintf(errOut, "note: no program numbers are written into songs: %v\n", err)
		return &numberedShow{show: show}, nil
	case len(list) == 0:
		return &numberedShow{show: show}, nil
	}
	var edits []compose.Edit
	for _, n := range list {
		edits = append(edits, &compose.SetSong{Song: show.Files[n.Song], Key: "program", To: compose.Number(int(n.Program) + 1)})
	}
	session, err := showfiles.Compose(name, show.Program.SetName)
	if err != nil {
		return nil, err
	}
	if _, err := session.Apply(session.State().Revision, edits); err != nil {
		return nil, shown(errOut, err)
	}
	return &numberedShow{session.Show(), session, list}, nil
}

// save writes the program numbers into the songs' files.
func (n *numberedShow) save(out, errOut io.Writer) error {
	if n.session == nil {
		return nil
	}
	if err := saveSession(n.session, n.session.State().Revision, errOut); err != nil {
		return err
	}
	for _, s := range n.list {
		fmt.Fprintf(out, "Wrote program: %d into %s: program changes select %s by it in every set.\n", s.Program+1, n.show.Files[s.Song], n.show.Program.Songs[s.Song].Name)
	}
	return nil
}
