package rules

import (
	"go/ast"
	"strings"
)

// fuzzSeeds wants f.Add, here or in a function that f is handed to, or a
// folder of inputs for each fuzz target.
func fuzzSeeds(t *tree) (out []fault) {
	for _, f := range t.files {
		for _, d := range f.ast.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !f.test || !ok || fn.Recv != nil || !strings.HasPrefix(fn.Name.Name, "Fuzz") {
				continue
			}
			if !t.seeds(f.dir, fn, 0) && !t.holds(f.dir+"/testdata/fuzz/"+fn.Name.Name+"/") {
				out = append(out, t.fault(fn, "%s has no seed: call f.Add or commit inputs", fn.Name.Name))
			}
		}
	}
	return out
}

// seeds tells whether fn calls f.Add or hands f to a function that does.
func (t *tree) seeds(dir string, fn *ast.FuncDecl, depth int) (found bool) {
	ast.Inspect(fn, func(n ast.Node) bool {
		c, ok := n.(*ast.CallExpr)
		switch {
		case !ok:
		case selector(c.Fun) == "f.Add":
			found = true
		case depth < 3 && len(c.Args) > 0 && isName(c.Args[0], "f"):
			if id, ok := c.Fun.(*ast.Ident); ok {
				if called := t.function(dir, id.Name); called != nil {
					found = found || t.seeds(dir, called, depth+1)
				}
			}
		}
		return true
	})
	return found
}

func isName(e ast.Expr, name string) bool {
	id, ok := e.(*ast.Ident)
	return ok && id.Name == name
}

// function returns a package's function by name, or nil.
func (t *tree) function(dir, name string) *ast.FuncDecl {
	for _, f := range t.files {
		for _, d := range f.ast.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && f.dir == dir && fn.Recv == nil && fn.Name.Name == name {
				return fn
			}
		}
	}
	return nil
}

// holds tells whether a text file lies in a folder.
func (t *tree) holds(dir string) bool {
	for p := range t.texts {
		if strings.HasPrefix(p, dir) {
			return true
		}
	}
	return false
}
