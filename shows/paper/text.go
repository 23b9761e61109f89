package paper

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
)

// Text writes a book as plain text, for a terminal.
func Text(out io.Writer, b *Book) error {
	for i := range b.Sheets {
		leaf := &b.Sheets[i]
		fmt.Fprintf(out, "%s: %s\n", b.Head(), strings.TrimSuffix(leaf.Title+", "+leaf.Under, ", "))
		printParagraphs(out, leaf.Words)
		for n := range leaf.Tables {
			w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
			fmt.Fprintf(w, "\n%s\n", strings.Join(leaf.Tables[n].Heads, "\t"))
			for _, row := range leaf.Tables[n].Rows {
				fmt.Fprintln(w, strings.Join(row.Cells, "\t"))
			}
			if err := w.Flush(); err != nil {
				return err
			}
		}
		printParagraphs(out, leaf.After)
	}
	return nil
}

func printParagraphs(out io.Writer, list []string) {
	for _, words := range list {
		fmt.Fprintf(out, "\n%s\n", words)
	}
}
