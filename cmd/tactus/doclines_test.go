package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/text"
)

// docLine is a command line of tactus that a page has.
type docLine struct {
	page, line string
	whole      bool // stands in a block to be typed, not inside a sentence
}

// docLines returns those of a page: the lines of blocks of code, and code in
// sentences, that start with "tactus ".
func docLines(page string, src []byte) (list []docLine) {
	add := func(line string, whole bool) {
		line = strings.TrimPrefix(strings.TrimSpace(line), "$ ")
		if strings.HasPrefix(line, "tactus ") {
			list = append(list, docLine{page, line, whole})
		}
	}
	root := goldmark.New(goldmark.WithExtensions(extension.GFM)).Parser().Parse(text.NewReader(src))
	_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) { // the visit has no errors
		switch n := n.(type) {
		case *ast.FencedCodeBlock:
			for i := range n.Lines().Len() {
				if s := n.Lines().At(i); entering {
					add(string(s.Value(src)), true)
				}
			}
		case *ast.CodeSpan:
			if entering {
				for c := n.FirstChild(); c != nil; c = c.NextSibling() {
					if s, ok := c.(*ast.Text); ok {
						add(string(s.Segment.Value(src)), false)
					}
				}
			}
		}
		return ast.WalkContinue, nil
	})
	return list
}

// remark is what follows a command line in a page: after a number sign, far to
// the right as in help, or what the shell does with the output.
var remark = regexp.MustCompile(`\s+#.*|\s{3,}.*|\s+[>|] .*`)

// word is a word of a command line, in quotes or not.
var word = regexp.MustCompile(`"[^"]*"|\S+`)

// flagParts are what may be left out of a line of help, such as
// "tactus run SHOW [flags]", which has it in brackets.
var flagParts = regexp.MustCompile(`\s*\[[^\]]*\]`)

// try takes a command line apart as the program does, without running it.
func (l docLine) try() error {
	line := remark.ReplaceAllString(l.line, "")
	form := flagParts.ReplaceAllString(line, "")
	whole := l.whole && form == line
	args := word.FindAllString(form, -1)[1:]
	for i := range args {
		args[i] = strings.Trim(args[i], `"`)
	}
	root := newRoot()
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	c, rest, err := root.Find(args)
	if err != nil || c == root && len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		return fmt.Errorf("no command %q", form)
	}
	if c.HasSubCommands() && !c.Runnable() && len(rest) > 0 && c != root && rest[0] != strings.ToUpper(rest[0]) {
		return fmt.Errorf("%q has no %q", c.CommandPath(), rest[0])
	}
	c.InitDefaultHelpFlag()
	switch err := c.ParseFlags(rest); {
	case errors.Is(err, pflag.ErrHelp):
		return nil
	case err != nil && !whole && placeholder(err):
	case err != nil:
		return err
	}
	if whole && c.Runnable() {
		return c.ValidateArgs(c.Flags().Args())
	}
	return nil
}

// placeholder tells whether the fault is that a sentence names a flag alone, or
// has a word in capitals where a value goes.
func placeholder(err error) bool {
	var missing *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	return errors.As(err, &missing) || errors.As(err, &invalid) && invalid.GetValue() == strings.ToUpper(invalid.GetValue())
}

// Every command line in the documentation is one that the program takes: the
// command and its flags exist, and what is to be typed as it stands has as many
// words as the command wants.
func TestCommandLinesOfTheDocumentation(t *testing.T) {
	pages, err := filepath.Glob("../../*.md")
	require.NoError(t, err)
	for name := range pagesIn(t, docs) {
		if filepath.Ext(name) == ".md" {
			pages = append(pages, filepath.Join(docs, name))
		}
	}
	lines := 0
	seen := map[string]bool{}
	for _, page := range pages {
		src, err := os.ReadFile(page)
		require.NoError(t, err)
		for _, l := range docLines(page, src) {
			assert.NoError(t, l.try(), "%s: %s", l.page, l.line)
			lines++
			if c, _, err := newRoot().Find(strings.Fields(l.line)[1:]); err == nil {
				seen[c.Name()] = true
			}
		}
	}
	assert.Greater(t, lines, 100)
	for _, c := range newRoot().Commands() {
		if !c.Hidden {
			assert.True(t, seen[c.Name()] || c.HasSubCommands(), "no page shows how to type %q", c.Name())
		}
	}
}

// Lines that are wrong are found.
func TestCommandLinesThatAreWrong(t *testing.T) {
	page := "# Page\n\n```\n$ tactus check my-hall --strickt\ntactus chek my-hall\ntactus new\ntactus import mid song.mid\ntactus run my-hall --for soon # wrong\n" +
		"tactus run my-hall --for 90s   until it is enough\ntactus replay JOURNAL [SHOW] [flags]\ntactus notes demo > notes.txt\n```\n\nOr `tactus runs SHOW`, `tactus run --to` and `tactus run --for DURATION`.\n"
	var bad []string
	for _, l := range docLines("page.md", []byte(page)) {
		if l.try() != nil {
			bad = append(bad, l.line)
		}
	}
	assert.Equal(t, []string{
		"tactus check my-hall --strickt", "tactus chek my-hall", "tactus new", "tactus import mid song.mid", "tactus run my-hall --for soon # wrong", "tactus runs SHOW",
	}, bad)
}
