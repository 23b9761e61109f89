package rules

import (
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"
)

// testName finds names of tests and benchmarks in prose.
var testName = regexp.MustCompile(`\b(?:Test|Benchmark)[A-Z][A-Za-z0-9]+\b`)

// namedTests wants every test and benchmark that a page in docs names to exist. A name may
// be the beginning of others, as after -run.
func namedTests(t *tree) (out []fault) {
	var names []string
	for _, f := range t.files {
		if f.test {
			for name := range f.ast.Scope.Objects {
				names = append(names, name)
			}
		}
	}
	for page, src := range t.texts {
		if !strings.HasPrefix(page, "docs/") || path.Ext(page) != ".md" {
			continue
		}
		for _, name := range testName.FindAllString(string(src), -1) {
			if !slices.ContainsFunc(names, func(n string) bool { return strings.HasPrefix(n, name) }) {
				out = append(out, fault{page, fmt.Sprintf("names %s, which does not exist", name)})
			}
		}
	}
	return out
}
