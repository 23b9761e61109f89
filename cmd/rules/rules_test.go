package rules

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rule is one of the repository's rules.
type rule struct {
	name  string
	why   string
	check func(*tree) []fault
}

func rules() []rule {
	return []rule{
		{"ranks", "the core must run and be tested without any adapter", ranks},
		{"map", "a reader finds a package by the map", maps},
		{"bans", "each ban carries its own reason", bans},
		{"third party", "whatever may fail at a show is chosen on purpose", thirdParty},
		{"time", "a frame reads no clock: time is an argument, read in one file", clockReads},
		{"timers", "the loop's timer paces the show; each other timer is one more thing that can be late", timers},
		{"sleep", "a sleep is either too short or too long: wait for what you wait for", sleeps},
		{"package docs", "a package's job, picture and sources are where a reader looks first", packageDocs},
		{"exported docs", "a public name says its range, unit and errors", exportedDocs},
		{"sizes", "a file is read whole and a function fits a screen", sizes},
		{"init", "what happens at start is called by main, in an order that can be read", inits},
		{"variables", "shared mutable state makes two runs differ", variables},
		{"names", "a file is named after what is in it", names},
		{"words", "unfinished work and one machine's paths stay out of the tree", words},
		{"links", "a link that leads nowhere is worse than none", links},
		{"named tests", "a figure whose test is gone cannot be measured again", namedTests},
		{"assertions", "a failure is understood from its text: what was wanted, what came", assertions},
		{"fuzz seeds", "without a seed a fuzz target tests little in a short run", fuzzSeeds},
	}
}

// TestRules checks the whole repository.
func TestRules(t *testing.T) {
	tr, err := load(os.DirFS("../.."))
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(tr.product()), 10, "product files found: the tree was not read")
	for _, r := range rules() {
		t.Run(r.name, func(t *testing.T) {
			for _, f := range r.check(tr) {
				assert.Fail(t, fmt.Sprintf("%s: %s", f.where, f.what))
			}
			if t.Failed() {
				t.Logf("why this rule: %s", r.why)
			}
		})
	}
}

// broken maps each rule to small trees that break it, and to what the fault
// must say. A tree is one file, its path on the first line.
var broken = map[string][][2]string{
	"ranks": {
		{"engine/a.go\npackage engine\nimport _ \"tactus/shows\"", "engine (rank 5) imports tactus/shows (rank 12)"},
		{"fixtures/a.go\npackage fixtures\nimport _ \"tactus/protocol/sacn\"", "same rank"},
		{"shows/a.go\npackage shows\nimport _ \"tactus/shows/plan\"", "shows (rank 12) imports"},
		{"shows/smf/a.go\npackage smf\nimport _ \"tactus/shows\"", "shows/smf (rank 10) imports"},
		{"engine/a_test.go\npackage engine_test\nimport _ \"tactus/cmd/tactus\"", "imports tactus/cmd/tactus"},
		{"spare/a.go\npackage spare", "has no rank"},
	},
	"map": {
		{"DEVELOPERS.md\n   3  engine/  plays", "the map has engine at rank 3; its rank is 5"},
		{"DEVELOPERS.md\n   3  spare/  spare", "the map has spare, which is no package"},
		{"DEVELOPERS.md\n   0  clock/  ticks\n   0  clock/  ticks", "the map has clock twice"},
		{"DEVELOPERS.md\n   0  clock/  ticks", "the map lacks engine, of rank 5"},
	},
	"bans": {
		{"engine/a.go\npackage engine\nimport _ \"net/netip\"", "net/netip"},
		{"engine/a.go\npackage engine\nimport _ \"os\"", "imports os"},
		{"fixtures/a.go\npackage fixtures\nimport _ \"os/exec\"", "imports os/exec"},
		{"clock/a.go\npackage clock\nimport _ \"log/slog\"", "log/slog"},
		{"protocol/midi/a.go\npackage midi\nimport _ \"log\"", "imports log"},
		{"shows/a.go\npackage shows\nimport _ \"math/rand\"", "math/rand"},
		{"shows/a.go\npackage shows\nimport _ \"unsafe\"", "unsafe"},
		{"protocol/midi/a.go\npackage midi\nimport \"C\"", "imports C"},
	},
	"third party": {
		{"clock/a.go\npackage clock\nimport _ \"github.com/google/uuid\"", "github.com/google/uuid"},
		{"engine/a.go\npackage engine\nimport _ \"golang.org/x/sys/unix\"", "golang.org/x/sys"},
		{"clock/a_test.go\npackage clock\nimport _ \"example.org/new\"", "example.org/new"},
	},
	"time": {
		{"engine/a.go\npackage engine\nimport \"time\"\nvar now = time.Now", "time.Now"},
		{"clock/lock.go\npackage clock\nimport t \"time\"\nfunc f(x t.Time) { t.Since(x) }", "time.Since"},
		{"engine/a.go\npackage engine\nimport . \"time\"", "by its name"},
	},
	"timers": {
		{"engine/fade.go\npackage engine\nimport \"time\"\nfunc f() { time.NewTicker(1) }", "time.NewTicker"},
		{"shows/a.go\npackage shows\nimport \"time\"\nfunc f() { <-time.After(1) }", "time.After"},
	},
	"sleep": {
		{"engine/a.go\npackage engine\nimport \"time\"\nfunc f() { time.Sleep(1) }", "time.Sleep"},
		{"engine/a_test.go\npackage engine\nimport \"time\"\nfunc f() { time.Sleep(1) }", "time.Sleep"},
		{"engine/a_test.go\npackage engine\nimport \"time\"\nimport \"testing/synctest\"\nfunc f() { time.Sleep(1) }\nfunc g() { synctest.Wait() }", "time.Sleep"},
	},
	"package docs": {
		{"engine/a.go\npackage engine", "no package comment"},
		{"engine/engine.go\n// Package engine plays.\npackage engine", "belongs in doc.go"},
		{"engine/doc.go\n// Plays shows.\npackage engine", "start with"},
		{"cmd/tactus/run.go\n// Tactus plays.\npackage main", "belongs in main.go"},
	},
	"exported docs": {
		{"engine/a.go\npackage engine\nfunc New() {}", "New"},
		{"engine/a.go\npackage engine\ntype Wave int", "Wave"},
		{"engine/a.go\npackage engine\nconst Max = 1", "Max"},
		{"engine/a.go\npackage engine\n// E is one.\ntype E struct{}\nfunc (*E) Do() {}", "Do"},
	},
	"sizes": {
		{"engine/a.go\npackage engine" + strings.Repeat("\n", 402), "lines, at most"},
		{"engine/a.go\npackage engine\nfunc f() {" + strings.Repeat("\n", 60) + "}", "f has 61 lines"},
	},
	"init": {
		{"engine/a.go\npackage engine\nfunc init() {}", "init"},
	},
	"variables": {
		{"engine/a.go\npackage engine\nvar n int", "var n"},
		{"engine/a.go\npackage engine\nvar n = 1", "var n"},
		{"engine/a.go\npackage engine\ntype e struct{}\nvar the = &e{}", "var the"},
		{"engine/a.go\npackage engine\nvar table = [2]int{1, 2}\nfunc f() { table[0] = 3 }", "table is written"},
		{"engine/a.go\npackage engine\nvar table = [2]int{1, 2}\nfunc f() *int { return &table[0] }", "table is written"},
		{"engine/a.go\npackage engine\nvar cache = map[string]int{}", "var cache"},
	},
	"names": {
		{"engine/util.go\npackage engine", "util"},
		{"engine/types_test.go\npackage engine", "types"},
		{"engine/helpers_linux.go\npackage engine", "helpers"},
		{"common/a.go\npackage common", "common"},
	},
	"words": {
		{"engine/a.go\npackage engine\n// TO" + "DO: later", "TO" + "DO"},
		{"README.md\nFIX" + "ME", "FIX" + "ME"},
		{"Makefile\nrun:\n\tcat /wo" + "rk/x", "/wo" + "rk/"},
	},
	"named tests": {
		{"docs/a.md\nsee TestGone", "names TestGone, which does not exist"},
	},
	"links": {
		{"README.md\nSee [the map](docs/map.md).", "docs/map.md, which does not exist"},
		{"docs/night.md\n![the page](page.png)", "page.png, which does not exist"},
		{"docs/night.md\n<img src=\"page.png\" alt=\"the page\">", "page.png, which does not exist"},
		{"README.md\n# One `night`\n\n[there](#one-day)", "no such heading"},
	},
	"assertions": {
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc TestA(t *testing.T) { t.Errorf(\"have %d\", 1) }", "Errorf: call assert"},
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc TestA(t *testing.T) { t.Error() }", "Error: call assert"},
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc TestA(t *testing.T) { defer t.Error(1) }", "Error: call assert"},
		{"engine/a_test.go\npackage engine\nfunc (r *rig) check(err error) { r.t.Fatal(err) }", "Fatal: call assert"},
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc TestA(t *testing.T) { each(t.Fatalf) }", "Fatalf: call assert"},
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc FuzzA(f *testing.F) { f.Add(1); f.FailNow() }", "FailNow: call assert"},
	},
	"fuzz seeds": {
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc FuzzParse(f *testing.F) { run(f) }\nfunc run(f *testing.F) { f.Helper() }", "FuzzParse"},
		{"engine/a_test.go\npackage engine\nimport \"testing\"\nfunc FuzzParse(f *testing.F) { f.Fuzz(func(*testing.T, []byte) {}) }", "FuzzParse"},
	},
}

// TestEachRuleBites runs every rule on trees that break it.
func TestEachRuleBites(t *testing.T) {
	for _, r := range rules() {
		assert.NotEmpty(t, broken[r.name], "rule %q has no tree that breaks it", r.name)
		for _, c := range broken[r.name] {
			name, src, _ := strings.Cut(c[0], "\n")
			tr, err := load(fstest.MapFS{name: {Data: []byte(src)}})
			require.NoError(t, err, "%s: %s", r.name, name)
			faults := r.check(tr)
			assert.True(t, slices.ContainsFunc(faults, func(f fault) bool { return strings.Contains(f.what, c[1]) }), "%s: %s: got %q, want a fault with %q", r.name, name, faults, c[1])
		}
	}
}

// TestSoundTree shows that a tree in order raises nothing: the rules do not
// fire at everything.
func TestSoundTree(t *testing.T) {
	tr, err := load(fstest.MapFS{
		"clock/doc.go": {Data: []byte("// Package clock tells time.\npackage clock\n")},
		"clock/now.go": {Data: []byte("package clock\n\nimport \"time\"\n\n// Now reads.\nfunc Now() int64 { return time.Now().UnixNano() }\n")},
		"clock/beat.go": {Data: []byte(`package clock

import "errors"

// ErrBeat and its kind are sentinels.
var ErrBeat = errors.New("clock: no beat")

var names = [...]string{"a", "b"}

var _ error = ErrBeat

func name(i int) string {
	names := names[:] // a local of the same name
	names[i] = "c"
	return names[i]
}
`)},
		"clock/beat_test.go":             {Data: []byte("package clock\n\nimport \"testing\"\n\nfunc FuzzBeat(f *testing.F) { f.Add(1); f.Fuzz(func(*testing.T, int) {}) }\nfunc FuzzTick(f *testing.F) {}\nfunc FuzzTap(f *testing.F) { run(f) }\nfunc run(f *testing.F) { f.Add(1) }\n")},
		"clock/err_test.go":              {Data: []byte("package clock\n\nimport (\n\t\"fmt\"\n\t\"testing\"\n\n\t\"github.com/stretchr/testify/require\"\n)\n\nfunc TestErr(t *testing.T) {\n\terr := fmt.Errorf(\"a\")\n\trequire.Error(t, err, err.Error())\n\tt.Skip(t.Failed())\n}\n")},
		"clock/now_test.go":              {Data: []byte("package clock\n\nimport (\n\t\"testing/synctest\"\n\t\"time\"\n)\n\nfunc f() { time.Sleep(1); synctest.Wait() }\n")},
		"clock/testdata/fuzz/FuzzTick/a": {Data: []byte("go test fuzz v1\n")},
		"README.md":                      {Data: []byte("# What? `one night`\n\n## Again\n\n## Again\n\n[up](#what-one-night) [on](clock/doc.go) [again](README.md#again-1) [out](https://example.org/#x)\n")},
		"cmd/tactus/main.go":             {Data: []byte("// Tactus plays.\npackage main\n\nimport _ \"tactus/clock\"\n")},
	})
	require.NoError(t, err)
	for _, r := range rules() {
		for _, f := range r.check(tr) {
			assert.Fail(t, fmt.Sprintf("%s: %s: %s", r.name, f.where, f.what))
		}
	}
}
