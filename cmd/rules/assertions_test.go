package rules

import (
	"go/ast"
	"path"
	"slices"
)

// failures are the methods of testing.TB that make a test fail. Tests call
// assert and require of testify instead: these print what was wanted and what
// came by themselves.
var failures = []string{"Error", "Errorf", "Fatal", "Fatalf", "Fail", "FailNow"}

// ownFailures may call the methods above.
func ownFailures() map[string]string {
	return map[string]string{} // file: why testify does not do there
}

// assertions forbids failures by hand in tests. A package's function of such a
// name (fmt.Errorf, require.Error) is none, nor is the text of an error, for
// which err.Error() is called without arguments and its result used.
func assertions(t *tree) (out []fault) {
	for _, f := range t.files {
		if _, ok := ownFailures()[f.path]; ok || !f.test {
			continue
		}
		packages, texts := f.localNames(), map[ast.Node]bool{}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ExprStmt:
				if c, ok := n.X.(*ast.CallExpr); ok {
					texts[c.Fun] = false // the result is not used
				}
			case *ast.CallExpr:
				if _, seen := texts[n.Fun]; !seen {
					texts[n.Fun] = len(n.Args) == 0
				}
			case *ast.SelectorExpr:
				if id, ok := n.X.(*ast.Ident); ok && packages[id.Name] {
					return true
				}
				if slices.Contains(failures, n.Sel.Name) && !(n.Sel.Name == "Error" && texts[n]) {
					out = append(out, t.fault(n, "%s: call assert or require of testify, which say what was wanted and what came", n.Sel.Name))
				}
			}
			return true
		})
	}
	return out
}

// localNames returns the names by which a file calls what it imports.
func (f *file) localNames() map[string]bool {
	m := map[string]bool{}
	for imp := range f.imports() {
		m[path.Base(imp)] = true
		m[f.localName(imp)] = true
	}
	return m
}
