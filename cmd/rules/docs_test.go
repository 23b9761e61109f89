package rules

import (
	"go/ast"
	"go/token"
	"strings"
)

// packageDocs wants one package comment, in doc.go (of a command: in main.go).
func packageDocs(t *tree) (out []fault) {
	for dir, files := range t.dirs() {
		found := false
		for _, f := range files {
			home, start := "doc.go", "Package "+f.ast.Name.Name+" "
			if f.ast.Name.Name == "main" {
				home, start = "main.go", ""
			}
			switch doc := f.ast.Doc; {
			case doc == nil:
			case f.name != home:
				out = append(out, t.fault(doc, "the package comment belongs in %s", home))
			case !strings.HasPrefix(doc.Text(), start):
				out = append(out, t.fault(doc, "a package comment must start with %q", start))
			default:
				found = true
			}
		}
		if !found {
			out = append(out, fault{dir, "no package comment in doc.go (of a command: in main.go)"})
		}
	}
	return out
}

// exportedDocs wants a comment on every exported name. A group of constants or
// variables may share one.
func exportedDocs(t *tree) (out []fault) {
	for _, f := range t.product() {
		for _, d := range f.ast.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && d.Doc == nil && receiverExported(d) {
					out = append(out, t.fault(d, "%s has no comment", d.Name.Name))
				}
			case *ast.GenDecl:
				out = append(out, t.undocumented(d)...)
			}
		}
	}
	return out
}

func (t *tree) undocumented(d *ast.GenDecl) (out []fault) {
	for _, s := range d.Specs {
		switch s := s.(type) {
		case *ast.TypeSpec:
			if s.Name.IsExported() && s.Doc == nil && (d.Doc == nil || d.Lparen.IsValid()) {
				out = append(out, t.fault(s, "%s has no comment", s.Name.Name))
			}
		case *ast.ValueSpec:
			for _, n := range s.Names {
				if n.IsExported() && s.Doc == nil && s.Comment == nil && d.Doc == nil {
					out = append(out, t.fault(n, "%s has no comment", n.Name))
				}
			}
		}
	}
	return out
}

// receiverExported tells whether a function is one, or a method that can be
// seen from outside.
func receiverExported(d *ast.FuncDecl) bool {
	if d.Recv == nil {
		return true
	}
	name := ""
	ast.Inspect(d.Recv.List[0].Type, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok && name == "" {
			name = id.Name
		}
		return true
	})
	return token.IsExported(name)
}
