package main

import (
	"cmp"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/rogpeppe/go-internal/diff"
	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/draft"
	"tactus/shows/find"
	"tactus/shows/language"
)

func newDraft() *cobra.Command {
	var dry, clearing bool
	c := &cobra.Command{
		Use:   "draft SHOW SONG",
		Short: "Write a song's cues from its sections and energies",
		Long: `Write the cues of a song: from its sections with their energies, its tempo, and
the ladder in looks.yaml, which has the rig's looks and effects by energy. SONG
goes by its name or its file; the path of the file alone will do too.

Each drafted line ends in a comment with its reason and a check sum. Change
anything in a line, and it is yours: the next draft leaves it alone. The others
follow when energies, sections or the ladder change, and go when nothing asks for
them any more: the table that is printed lists those last. A line that is commented
out stays out. Nothing else in the file changes.

A section with a look, effects or levels of its own is not drafted, nor is what
a cue of yours is at.`,
		Example: `  tactus draft my-hall/songs/long-shore.yaml
  tactus draft my-hall "Long Shore"
  tactus draft my-hall long-shore --dry-run       print what would change
  tactus draft my-hall long-shore --clear         take drafted lines out again`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			song, err := findSong(args, c.ErrOrStderr())
			if err != nil {
				return err
			}
			if clearing {
				return song.clear(c.OutOrStdout(), c.ErrOrStderr(), dry)
			}
			return song.draft(c.OutOrStdout(), c.ErrOrStderr(), dry)
		},
	}
	c.Flags().BoolVar(&dry, "dry-run", false, "print what would change, and write nothing")
	c.Flags().BoolVar(&clearing, "clear", false, "take out the drafted lines that nobody has changed")
	return c
}

// songFile is a song's file in the folder of its show.
type songFile struct {
	show string // as on the command line: a folder, or the demo
	file string // slash path in it
	src  []byte
	fsys fs.FS
}

// findSong finds a song by SHOW SONG, or by the path of its file.
func findSong(args []string, errOut io.Writer) (*songFile, error) {
	s := &songFile{show: args[0]}
	if len(args) == 1 {
		folder := filepath.Dir(args[0])
		if info, err := os.Stat(args[0]); err != nil || info.IsDir() || filepath.Base(folder) != "songs" {
			return nil, whichSong(args[0])
		}
		s.show, s.file = filepath.Dir(folder), path.Join("songs", filepath.Base(args[0]))
	}
	var err error
	if s.fsys, err = showfiles.Open(s.show); err != nil {
		return nil, err
	}
	if s.file == "" {
		if s.file, err = songNamed(s.fsys, args[1], errOut); err != nil {
			return nil, err
		}
	}
	s.src, err = fs.ReadFile(s.fsys, s.file)
	return s, err
}

// whichSong says what is missing from a command line with one word.
func whichSong(name string) error {
	files, err := showfiles.Open(name)
	if err != nil {
		if _, missing := os.Stat(name); missing == nil {
			return usage.Errorf("%q is no song of a show; a song is a file in the folder songs of one", name)
		}
		return usage.Errorf("no file %q; want a song's file such as my-hall/songs/long-shore.yaml, or a show and a song", name)
	}
	names, _ := fs.Glob(files, "songs/*.yaml")
	for i := range names {
		names[i] = strings.TrimSuffix(path.Base(names[i]), ".yaml")
	}
	return usage.Errorf("which song of %s? It has: %s", name, strings.Join(names, ", "))
}

// songNamed finds a song by its file's name, which takes no whole show without
// faults, or by its own.
func songNamed(files fs.FS, name string, errOut io.Writer) (string, error) {
	if file := path.Join("songs", name+".yaml"); fs.ValidPath(file) {
		if _, err := fs.Stat(files, file); err == nil {
			return file, nil
		}
	}
	show, problems := shows.Load(files, shows.Options{})
	if len(problems) > 0 {
		printProblems(errOut, problems)
		return "", errShown
	}
	at, fault := find.Place(show, name)
	if fault != nil || at.Song < 0 {
		var names, files []string
		for i := range show.Program.Songs {
			names, files = append(names, show.Program.Songs[i].Name), append(files, songStem(show, int32(i)))
		}
		return "", usage.Errorf("no song %q%s; %s", name, didYouMean(name, slices.Concat(names, files)), language.Listed("songs are", names))
	}
	return show.Files[at.Song], nil
}

// didYouMean asks for the nearest of the names, or is empty if none is near.
func didYouMean(word string, names []string) string {
	if nearest := language.Nearest(word, names); nearest != "" {
		return fmt.Sprintf(" (did you mean %q?)", nearest)
	}
	return ""
}

func (s *songFile) draft(out, errOut io.Writer, dry bool) error {
	session, err := showfiles.Compose(s.show, "")
	if err != nil {
		return err
	}
	d, err := session.DraftOf(session.View(), s.file, nil)
	switch {
	case err != nil:
		return shown(errOut, err)
	case dry:
		return s.print(out, d.Source)
	}
	if err := s.take(session, &compose.DraftSong{Song: s.file}, errOut); err != nil {
		return err
	}
	if err := printDraft(out, d.Draft); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nNext: tactus check %s\n", s.show)
	return nil
}

func (s *songFile) clear(out, errOut io.Writer, dry bool) error {
	cleared, n := draft.Clear(s.src)
	if dry {
		return s.print(out, cleared)
	}
	session, err := showfiles.Compose(s.show, "")
	if err != nil {
		return err
	}
	if err := s.take(session, &compose.ClearDraft{Song: s.file}, errOut); err != nil {
		return err
	}
	fmt.Fprintf(out, "%s: %d drafted lines taken out.\n", s.file, n)
	return nil
}

func (s *songFile) print(out io.Writer, now []byte) error {
	_, err := out.Write(diff.Diff(s.file, s.src, s.file+" (drafted)", now))
	return err
}

// take makes an edit of the show's files, and saves it.
func (s *songFile) take(session *compose.Session, edit compose.Edit, errOut io.Writer) error {
	if s.show == showfiles.Demo {
		return usage.Errorf("the demo is built in and cannot be written; 'tactus new my-hall' copies it, and --dry-run shows what a draft would be")
	}
	return saveEdits(session, errOut, edit)
}

// printDraft prints what each part of the song looks like, and why.
func printDraft(out io.Writer, d *draft.Draft) error {
	fmt.Fprintf(out, "%s\nCharacter: %s, %s.\n\n", d.Song, d.Character, d.Why)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "section\tenergy\tlook\teffects\tfade\twhy")
	for _, r := range d.Rows {
		effects := strings.Join(r.Effects, ", ")
		if !r.Removed {
			effects = cmp.Or(effects, "none")
		}
		energy := ""
		if r.Energy >= 0 {
			energy = strconv.Itoa(r.Energy)
		}
		at := r.At
		if r.In != "" {
			at += ", " + r.In
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", at, energy, r.Look, effects, r.Fade, r.Reason)
	}
	return w.Flush()
}
