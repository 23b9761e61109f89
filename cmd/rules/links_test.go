package rules

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"unicode"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/text"
)

// links wants every link and picture of a Markdown page that points into the
// repository to find what it points to: the file, and in a page the heading.
func links(t *tree) (out []fault) {
	for page := range t.texts {
		if path.Ext(page) != ".md" {
			continue
		}
		for _, to := range t.linksOf(page) {
			file, heading, _ := strings.Cut(to, "#")
			if strings.Contains(to, "://") || strings.HasPrefix(to, "mailto:") {
				continue
			}
			at := page
			if file != "" {
				at = path.Join(path.Dir(page), file)
			}
			if _, err := fs.Stat(t.fsys, at); err != nil {
				out = append(out, fault{page, fmt.Sprintf("links to %s, which does not exist", to)})
			} else if heading != "" && !slices.Contains(t.headings(at), heading) {
				out = append(out, fault{page, fmt.Sprintf("links to %s, but %s has no such heading", to, at)})
			}
		}
	}
	return out
}

// eachNode parses a page and hands its parts to f.
func (t *tree) eachNode(page string, f func(n ast.Node)) {
	root := goldmark.New(goldmark.WithExtensions(extension.GFM)).Parser().Parse(text.NewReader(t.texts[page]))
	_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) { // f has no errors
		if entering {
			f(n)
		}
		return ast.WalkContinue, nil
	})
}

// linksOf returns where the links and pictures of a page point to.
func (t *tree) linksOf(page string) (list []string) {
	t.eachNode(page, func(n ast.Node) {
		switch n := n.(type) {
		case *ast.Link:
			list = append(list, string(n.Destination))
		case *ast.Image:
			list = append(list, string(n.Destination))
		case *ast.RawHTML:
			for i := range n.Segments.Len() {
				s := n.Segments.At(i)
				list = append(list, sources(string(s.Value(t.texts[page])))...)
			}
		case *ast.HTMLBlock:
			for i := range n.Lines().Len() {
				s := n.Lines().At(i)
				list = append(list, sources(string(s.Value(t.texts[page])))...)
			}
		}
	})
	return list
}

// sources returns the values of src and href in HTML.
func sources(html string) (list []string) {
	for _, key := range []string{`src="`, `href="`} {
		for rest := html; ; {
			_, value, found := strings.Cut(rest, key)
			if !found {
				break
			}
			value, rest, _ = strings.Cut(value, `"`)
			list = append(list, value)
		}
	}
	return list
}

// headings returns the anchors of a page's headings as GitHub makes them: small
// letters, spaces as hyphens, no signs but hyphens and underscores; what comes
// again gets a number.
func (t *tree) headings(page string) (list []string) {
	seen := map[string]int{}
	t.eachNode(page, func(n ast.Node) {
		h, ok := n.(*ast.Heading)
		if !ok {
			return
		}
		anchor := strings.Map(func(c rune) rune {
			switch {
			case c == ' ':
				return '-'
			case unicode.IsLetter(c) || unicode.IsDigit(c) || c == '-' || c == '_':
				return unicode.ToLower(c)
			}
			return -1
		}, plainText(h, t.texts[page]))
		if again := seen[anchor]; again > 0 {
			list = append(list, fmt.Sprintf("%s-%d", anchor, again))
		} else {
			list = append(list, anchor)
		}
		seen[anchor]++
	})
	return list
}

// plainText returns the text of a part of a page.
func plainText(n ast.Node, src []byte) string {
	var out strings.Builder
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		if s, ok := c.(*ast.Text); ok {
			out.Write(s.Segment.Value(src))
		} else {
			out.WriteString(plainText(c, src))
		}
	}
	return out.String()
}
