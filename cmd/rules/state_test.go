package rules

import (
	"go/ast"
	"go/token"
	"slices"
)

// inits forbids func init, in tests too.
func inits(t *tree) (out []fault) {
	for _, f := range t.files {
		for _, d := range f.ast.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && fn.Recv == nil && fn.Name.Name == "init" {
				out = append(out, t.fault(fn, "func init: let main call it"))
			}
		}
	}
	return out
}

// constructors return values that nobody can change afterwards.
var constructors = []string{"errors.New", "fmt.Errorf", "regexp.MustCompile", "sync.OnceValue"}

// lent tables are handed out by address, to readers only.
var lent = map[string]string{
	"engine.plain": "the palette in force is a pointer, and is this one before any song",
}

// variables forbids package variables that can change. Allowed kinds: error
// sentinels, expressions, embedded files, and tables of values that nobody writes to.
func variables(t *tree) (out []fault) {
	for dir, files := range t.dirs() {
		tables := map[string]bool{}
		for _, f := range files {
			for _, d := range f.ast.Decls {
				if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.VAR {
					out = append(out, t.vars(g, tables)...)
				}
			}
		}
		for _, f := range t.files {
			if f.dir == dir {
				out = append(out, t.writes(f, tables)...)
			}
		}
	}
	return out
}

// vars reports the variables of one declaration that are of no allowed kind,
// and notes those that are tables.
func (t *tree) vars(g *ast.GenDecl, tables map[string]bool) (out []fault) {
	for _, s := range g.Specs {
		v := s.(*ast.ValueSpec)
		for i, n := range v.Names {
			var value ast.Expr
			if i < len(v.Values) {
				value = v.Values[i]
			}
			switch {
			case n.Name == "_" || isEmbed(v.Type) || isSentinel(value):
			case isTable(value):
				tables[n.Name] = true
			default:
				out = append(out, t.fault(n, "var %s can change: make it a constant, a field or a function", n.Name))
			}
		}
	}
	return out
}

func isEmbed(e ast.Expr) bool { return selector(e) == "embed.FS" }

func isSentinel(e ast.Expr) bool {
	call, ok := e.(*ast.CallExpr)
	return ok && slices.Contains(constructors, selector(call.Fun))
}

// isTable tells whether e is a literal with elements.
func isTable(e ast.Expr) bool {
	lit, ok := e.(*ast.CompositeLit)
	return ok && len(lit.Elts) > 0
}

// selector returns "a.b" of such an expression, else "".
func selector(e ast.Expr) string {
	if s, ok := e.(*ast.SelectorExpr); ok {
		if x, ok := s.X.(*ast.Ident); ok {
			return x.Name + "." + s.Sel.Name
		}
	}
	return ""
}

// writes reports where a table is assigned to, counted up or pointed at.
func (t *tree) writes(f *file, tables map[string]bool) (out []fault) {
	check := func(e ast.Expr) {
		id := root(e)
		if id == nil || !tables[id.Name] {
			return
		}
		if id.Obj != nil {
			if _, global := id.Obj.Decl.(*ast.ValueSpec); !global || !atTop(f, id.Obj.Decl.(*ast.ValueSpec)) {
				return // a local variable of the same name
			}
		}
		out = append(out, t.fault(e, "table %s is written to", id.Name))
	}
	ast.Inspect(f.ast, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.AssignStmt:
			for _, e := range n.Lhs {
				check(e)
			}
		case *ast.IncDecStmt:
			check(n.X)
		case *ast.UnaryExpr:
			if id, whole := n.X.(*ast.Ident); n.Op == token.AND && !f.test && !(whole && lent[f.dir+"."+id.Name] != "") {
				check(n.X)
			}
		}
		return true
	})
	return out
}

// root returns the variable that an expression such as a.b[c] starts from.
func root(e ast.Expr) *ast.Ident {
	for {
		switch x := e.(type) {
		case *ast.Ident:
			return x
		case *ast.IndexExpr:
			e = x.X
		case *ast.SelectorExpr:
			e = x.X
		case *ast.ParenExpr:
			e = x.X
		default:
			return nil
		}
	}
}

// atTop tells whether a declaration stands outside every function.
func atTop(f *file, v *ast.ValueSpec) bool {
	for _, d := range f.ast.Decls {
		if g, ok := d.(*ast.GenDecl); ok && slices.Contains(g.Specs, ast.Spec(v)) {
			return true
		}
	}
	return false
}
