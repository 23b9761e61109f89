package rules

import "go/ast"

// Limits of product code, in lines.
const (
	maxFile = 400
	maxFunc = 60
)

// sizes limits product files and functions.
func sizes(t *tree) (out []fault) {
	for _, f := range t.product() {
		if f.lines > maxFile {
			out = append(out, t.fault(f.ast.Name, "%d lines, at most %d: split it by what it does", f.lines, maxFile))
		}
		for _, d := range f.ast.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Body == nil {
				continue
			}
			if n := t.fset.Position(fn.End()).Line - t.fset.Position(fn.Pos()).Line + 1; n > maxFunc {
				out = append(out, t.fault(fn, "%s has %d lines, at most %d", fn.Name.Name, n, maxFunc))
			}
		}
	}
	return out
}
