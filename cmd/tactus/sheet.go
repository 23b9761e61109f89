package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tactus/cmd/tactus/live"
	"tactus/cmd/tactus/usage"
	"tactus/cmd/tactus/wholefile"
	"tactus/shows"
	"tactus/shows/paper"
)

type sheetFlags struct {
	set, song, out, paper, page string
	formats                     []string
	force                       bool
}

func newSheet() *cobra.Command {
	var f sheetFlags
	c := &cobra.Command{
		Use:   "sheet SHOW",
		Short: "Print cue sheets, set list, patch and power on paper",
		Long: `Write a PDF and a page for a browser to print: the set list for the band, a cue
sheet for each song with its notes and what to watch, what to do if something
goes wrong, patch and power, and notices for the entrance where a song flashes or
a hazer is patched.

Songs are measured as planned to find out about flashes. The notices are drafts:
adapt them to local rules; the hall's rules come first. Letters are Latin, Greek
and Cyrillic in the PDF; others show as boxes there, and as they are in the page.`,
		Example: `  tactus sheet my-hall
  tactus sheet my-hall --out paper --paper letter
  tactus sheet my-hall --panel-at 10.0.0.5:4480
  tactus sheet my-hall --song "Long Shore" --format pdf`,
		RunE: func(c *cobra.Command, args []string) error { return runSheet(c, args[0], &f) },
	}
	flags := c.Flags()
	flags.StringVar(&f.set, "set", "", "set list, by name or file (default: the first)")
	flags.StringVar(&f.song, "song", "", "only this song's cue sheet, by name or file")
	flags.StringVar(&f.page, "panel-at", "", "ADDRESS:PORT of the page, as run has it, to print on the page for when\nsomething goes wrong (default: a line to write it on)")
	flags.StringVar(&f.out, "out", ".", "the folder to write into")
	flags.StringVar(&f.paper, "paper", "a4", "a4 or letter")
	flags.StringSliceVar(&f.formats, "format", []string{"pdf", "html"}, "pdf, html or both")
	flags.BoolVar(&f.force, "force", false, "write over files that exist")
	return c
}

func runSheet(c *cobra.Command, name string, f *sheetFlags) error {
	size, known := map[string]paper.Size{"a4": paper.A4, "letter": paper.Letter}[strings.ToLower(f.paper)]
	if !known {
		return usage.Errorf("--paper %s: want a4 or letter", f.paper)
	}
	for _, format := range f.formats {
		if format != "pdf" && format != "html" {
			return usage.Errorf("--format %s: want pdf or html", format)
		}
	}
	show, err := loadShow(name, f.set, c.ErrOrStderr())
	if err != nil {
		return err
	}
	songs, stem, err := f.songToPrint(show)
	if err != nil {
		return err
	}
	var files []string
	for _, format := range f.formats {
		files = append(files, filepath.Join(f.out, stem+"."+format))
	}
	if err := wholefile.CheckNew(f.force, files...); err != nil {
		return err
	}
	book, err := bookOf(c.Context(), show, songs, f.page, c.ErrOrStderr())
	if err != nil {
		return err
	}
	if err := os.MkdirAll(f.out, 0o755); err != nil {
		return err
	}
	for i, format := range f.formats {
		file := files[i]
		err := wholefile.Write(c.Context(), file, func(w io.Writer) error {
			if format == "pdf" {
				return paper.PDF(w, book, size)
			}
			return paper.HTML(w, book)
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(c.OutOrStdout(), "Wrote %s.\n", file)
	}
	return nil
}

// songToPrint returns the song of --song, or none for the whole night, and the file's
// name without its ending.
func (f *sheetFlags) songToPrint(show *shows.Show) ([]int32, string, error) {
	if f.song == "" {
		return nil, "sheets", nil
	}
	songs, err := songsNamed(show, f.song)
	if err != nil {
		return nil, "", err
	}
	return songs, songStem(show, songs[0]), nil
}

// bookOf returns what to print: the cue sheets of songs, or without songs the whole
// night, which it measures.
func bookOf(ctx context.Context, show *shows.Show, songs []int32, page string, errOut io.Writer) (*paper.Book, error) {
	if len(songs) > 0 {
		return paper.NewBook(show, paper.Options{Songs: songs, Only: true}), nil
	}
	night, err := measureSongs(ctx, show, nil, errOut)
	if errors.Is(err, context.Canceled) {
		err = wholefile.ErrInterrupted
	}
	if err != nil {
		return nil, err
	}
	return paper.NewBook(show, paper.Options{Night: night, Page: page, Usual: live.PageAddress}), nil
}
