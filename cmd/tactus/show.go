package main

import (
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/terminal"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/engine"
	"tactus/shows"
	"tactus/shows/find"
	"tactus/shows/language"
)

// loadShow reads and compiles a show, or prints every fault in it.
func loadShow(name, set string, errOut io.Writer) (*shows.Show, error) {
	files, err := showfiles.Open(name)
	if err != nil {
		return nil, err
	}
	return loadFiles(files, set, errOut)
}

// loadFiles compiles the files of a show, or prints every fault in them.
func loadFiles(files fs.FS, set string, errOut io.Writer) (*shows.Show, error) {
	show, problems := shows.Load(files, shows.Options{Set: set})
	if len(problems) == 0 {
		return show, nil
	}
	printProblems(errOut, problems)
	return nil, errShown
}

// messageWidth is how many letters of a long list of names stand on a line.
const messageWidth = 100

// printProblems prints a line for each fault, with a long list of names below it, and
// how many faults there are.
func printProblems(w io.Writer, problems language.Problems) {
	for _, line := range problems.Lines() {
		fmt.Fprintln(w, terminal.PrintableLines(language.WrapList(line, messageWidth)))
	}
	fmt.Fprintln(w, count(len(problems), "fault"))
}

// count prints "1 fault" or "2 faults".
func count(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

// songsNamed finds the songs that --song names, by name or file, each once.
func songsNamed(show *shows.Show, names ...string) (songs []int32, err error) {
	for _, name := range names {
		place, fault := find.Place(show, name)
		if fault != nil {
			return nil, fault
		}
		if place.Song == engine.None || place.At != 0 {
			return nil, usage.Errorf("--song %q: want the name of a song", name)
		}
		if !slices.Contains(songs, place.Song) {
			songs = append(songs, place.Song)
		}
	}
	return songs, nil
}

// songsOfSet returns the songs of the set in its order, each once.
func songsOfSet(show *shows.Show) (songs []int32) {
	for _, s := range show.Program.SetList {
		if !slices.Contains(songs, s) {
			songs = append(songs, s)
		}
	}
	return songs
}

// songStem is the name of a song's file without its ending.
func songStem(show *shows.Show, song int32) string {
	return strings.TrimSuffix(path.Base(show.Files[song]), path.Ext(show.Files[song]))
}

// deliverFile prints src where no file is named, else writes the file, and says so with
// what there is to add.
func deliverFile(out io.Writer, name string, src []byte, force bool, add string, args ...any) error {
	if name == "" {
		_, err := out.Write(src)
		return err
	}
	err := wholefile.WriteNew(name, src, force)
	if err == nil {
		fmt.Fprintf(out, "Wrote %s"+add+"\n", append([]any{name}, args...)...)
	}
	return err
}

// writeJSON prints a value as people read it: a line a member.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// completeShow offers the demo and folders.
func completeShow(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return []string{showfiles.Demo}, cobra.ShellCompDirectiveFilterDirs
}
