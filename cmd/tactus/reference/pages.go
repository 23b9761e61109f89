package reference

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"tactus/shows/language"
)

// notice is the first line of each page.
const notice = "<!-- Written by \"make docs\" from the program. Change it there: see DEVELOPERS.md. -->\n\n"

// Write writes all pages into a folder, in the layout of docs. It changes root, so
// pass one that nothing else uses. Errors are those of files.
func Write(folder string, root *cobra.Command) error {
	list := all(root)
	pages := map[string][]byte{"osc.md": OSC(), "reference/README.md": index(list)}
	for _, kind := range language.Kinds() {
		pages["reference/"+string(kind)+".md"] = language.Reference(kind)
	}
	for _, c := range list {
		var page bytes.Buffer
		if err := doc.GenMarkdown(c, &page); err != nil {
			return err
		}
		pages["reference/commands/"+fileOf(c)+".md"] = page.Bytes()
	}
	for name, page := range pages {
		if err := write(filepath.Join(folder, filepath.FromSlash(name)), append([]byte(notice), page...)); err != nil {
			return err
		}
	}
	return nil
}

// Man writes a man page of section 1 for each command into a folder. Its date is
// SOURCE_DATE_EPOCH of the environment, or today.
func Man(folder string, root *cobra.Command) error {
	for _, c := range all(root) {
		var page bytes.Buffer
		title := &doc.GenManHeader{Title: strings.ToUpper(strings.ReplaceAll(c.CommandPath(), " ", "-")), Section: "1", Source: "tactus", Manual: "tactus"}
		if err := doc.GenMan(c, title, &page); err != nil {
			return err
		}
		if err := write(filepath.Join(folder, strings.ReplaceAll(c.CommandPath(), " ", "-")+".1"), page.Bytes()); err != nil {
			return err
		}
	}
	return nil
}

func write(path string, page []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	return os.WriteFile(path, page, 0o644)
}

// fileOf returns the name that the library uses for a command's page in links.
func fileOf(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "_") }

// all lists the visible commands, each before its subcommands, with their texts
// converted to Markdown.
func all(root *cobra.Command) []*cobra.Command {
	root.InitDefaultCompletionCmd()
	root.DisableAutoGenTag = true
	var list []*cobra.Command
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		c.Long = markdown(c.Long)
		list = append(list, c)
		for _, below := range c.Commands() {
			if below.IsAvailableCommand() && !below.IsAdditionalHelpTopicCommand() {
				visit(below)
			}
		}
	}
	visit(root)
	return list
}

// markdown converts a help text and keeps its indented lines, such as lists of keys,
// unchanged.
func markdown(help string) string {
	var out []string
	fenced := false
	for _, line := range strings.Split(help, "\n") {
		indented := strings.HasPrefix(line, "  ") || strings.HasPrefix(line, "\t")
		switch {
		case indented && !fenced:
			out = append(out, "", "```")
		case !indented && fenced:
			out = append(out, "```", "")
		}
		fenced = indented
		out = append(out, line)
	}
	if fenced {
		out = append(out, "```")
	}
	return strings.Join(out, "\n")
}

// index returns the page with links to all others.
func index(list []*cobra.Command) []byte {
	var out bytes.Buffer
	out.WriteString("# Reference\n\nEvery command, file and address, as the program itself describes them.\n\n## Commands\n\n")
	for _, c := range list {
		fmt.Fprintf(&out, "- [`%s`](commands/%s.md): %s\n", c.CommandPath(), fileOf(c), lower(c.Short))
	}
	out.WriteString("\n## Files\n\n")
	for _, kind := range language.Kinds() {
		fmt.Fprintf(&out, "- [%s](%s.md)\n", kind, kind)
	}
	out.WriteString("\n## Requests\n\n- [OSC, the page, notes and journals](../osc.md)\n")
	return out.Bytes()
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
