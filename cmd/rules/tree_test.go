package rules

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
)

// tree is the repository: its Go files parsed, its other text files as bytes.
type tree struct {
	fsys  fs.FS
	fset  *token.FileSet
	files []*file
	texts map[string][]byte // every text file, Go or not, by path
}

// file is one Go file.
type file struct {
	path, dir, name string
	test            bool
	lines           int
	ast             *ast.File
}

// fault is one place where a rule is broken.
type fault struct {
	where string // path:line
	what  string
}

// skipped are the folders that hold nothing of ours.
var skipped = []string{".git", "node_modules", "bin"}

// load reads the whole tree.
func load(fsys fs.FS) (*tree, error) {
	t := &tree{fsys: fsys, fset: token.NewFileSet(), texts: map[string][]byte{}}
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && slices.Contains(skipped, d.Name()):
			return fs.SkipDir
		case !d.Type().IsRegular() || d.Name() == ".git": // a file, in a second checkout of git's
			return nil
		}
		src, err := fs.ReadFile(fsys, p)
		if err != nil {
			return err
		}
		if bytes.IndexByte(src, 0) < 0 {
			t.texts[p] = src
		}
		if path.Ext(p) == ".go" && !strings.Contains("/"+p, "/testdata/") {
			return t.parse(p, src)
		}
		return nil
	})
	return t, err
}

func (t *tree) parse(p string, src []byte) error {
	a, err := parser.ParseFile(t.fset, p, src, parser.ParseComments)
	if err != nil {
		return err
	}
	t.files = append(t.files, &file{
		path: p, dir: path.Dir(p), name: path.Base(p),
		test:  strings.HasSuffix(p, "_test.go"),
		lines: bytes.Count(src, []byte("\n")),
		ast:   a,
	})
	return nil
}

// fault reports a broken rule at a node.
func (t *tree) fault(n ast.Node, format string, args ...any) fault {
	pos := t.fset.Position(n.Pos())
	return fault{fmt.Sprintf("%s:%d", pos.Filename, pos.Line), fmt.Sprintf(format, args...)}
}

// product returns the files that are not tests.
func (t *tree) product() []*file {
	return slices.DeleteFunc(slices.Clone(t.files), func(f *file) bool { return f.test })
}

// dirs returns each folder with product files, and those files.
func (t *tree) dirs() map[string][]*file {
	m := map[string][]*file{}
	for _, f := range t.product() {
		m[f.dir] = append(m[f.dir], f)
	}
	return m
}

// imports returns what a file imports.
func (f *file) imports() map[string]ast.Node {
	m := map[string]ast.Node{}
	for _, s := range f.ast.Imports {
		p, _ := strconv.Unquote(s.Path.Value)
		m[p] = s
	}
	return m
}

// localName returns the name that a file gives to an imported package, or "".
func (f *file) localName(pkg string) string {
	for _, s := range f.ast.Imports {
		if p, _ := strconv.Unquote(s.Path.Value); p == pkg {
			if s.Name != nil {
				return s.Name.Name
			}
			return path.Base(pkg)
		}
	}
	return ""
}
