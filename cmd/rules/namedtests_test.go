package rules

import (
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// testName finds names of tests and benchmarks in prose, each with its package where that
// is written right before it, as in "`./engine` TestFaderIsHeld".
var testName = regexp.MustCompile("(?:`\\./([a-z0-9/]+)` )?\\b((?:Test|Benchmark)[A-Z][A-Za-z0-9]+)\\b")

// namedTests wants every test and benchmark that a page in docs names to exist, in the
// package that is named with it. A name may be the beginning of others, as after -run.
func namedTests(t *tree) (out []fault) {
	type test struct{ folder, name string }
	var tests []test
	for _, f := range t.files {
		if f.test {
			for name := range f.ast.Scope.Objects {
				tests = append(tests, test{path.Dir(f.path), name})
			}
		}
	}
	for page, src := range t.texts {
		if !strings.HasPrefix(page, "docs/") || path.Ext(page) != ".md" {
			continue
		}
		for _, found := range testName.FindAllStringSubmatch(string(src), -1) {
			folder, name := found[1], found[2]
			is := func(t test) bool {
				return strings.HasPrefix(t.name, name) && (folder == "" || t.folder == folder)
			}
			if !slices.ContainsFunc(tests, is) {
				out = append(out, fault{page, fmt.Sprintf("names %s, which does not exist", found[0])})
			}
		}
	}
	return out
}

// A test that exists in another package than the one that is named is a fault.
func TestNamedTestsLieInTheirPackage(t *testing.T) {
	tr, err := load(fstest.MapFS{
		"clock/beat_test.go": {Data: []byte("package clock\n\nimport \"testing\"\n\nfunc TestBeat(t *testing.T) { t.Skip(t.Failed()) }\n")},
		"docs/a.md":          {Data: []byte("`./clock` TestBeat, `./engine` TestBeat, TestBeat\n")},
	})
	require.NoError(t, err)
	assert.Equal(t, []fault{{"docs/a.md", "names `./engine` TestBeat, which does not exist"}}, namedTests(tr))
}
