package main

import (
	"encoding/hex"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite expected output; read the diff with care")

// peerFolder holds the independent npm libraries and the scripts that use them.
const peerFolder = "../../testdata/wire"

// The program under test is the test binary itself, run as a process of its
// own: exit codes, signals and child processes are the real ones.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tactus": main})
}

// scriptFolder holds the scripts, and concurrent names those whose commands start
// goroutines of ours: they play a show, or send and receive.
const scriptFolder = "../../testdata/script"

var concurrent = []string{"align", "commands", "input", "journal", "laptop", "newrehearsed", "panel", "resume", "run", "walk"}

// Commands that play or send keep to their scripts.
func TestScripts(t *testing.T) {
	var files []string
	for _, name := range concurrent {
		files = append(files, filepath.Join(scriptFolder, name+".txtar"))
	}
	runScripts(t, files)
}

// So do all others. They work in one goroutine, in which the race detector can find
// nothing, and it makes them many times slower.
func TestScriptsOfOneGoroutine(t *testing.T) {
	if raceEnabled {
		t.Skip("there is one goroutine and nothing to race: make quiet runs this without the race detector")
	}
	files, err := filepath.Glob(filepath.Join(scriptFolder, "*.txtar"))
	require.NoError(t, err)
	have := len(files)
	files = slices.DeleteFunc(files, func(name string) bool {
		return slices.Contains(concurrent, strings.TrimSuffix(filepath.Base(name), ".txtar"))
	})
	require.Len(t, files, have-len(concurrent), "a script is named that is not there")
	runScripts(t, files)
}

func runScripts(t *testing.T, files []string) {
	t.Helper()
	testscript.Run(t, testscript.Params{
		Files:         files,
		UpdateScripts: *update,
		Cmds:          map[string]func(*testscript.TestScript, bool, []string){"unhex": unhex},
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_CONFIG_HOME", e.WorkDir+"/config")
			e.Setenv("GOCOVERDIR", os.Getenv("GOCOVERDIR"))
			return nil
		},
	})
}

// unhex writes a file of octets from one of hexadecimal digits: unhex FROM TO.
func unhex(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 2 {
		ts.Check(fmt.Errorf("have %q, want: unhex FROM TO", args))
	}
	src, err := hex.DecodeString(strings.Join(strings.Fields(ts.ReadFile(args[0])), ""))
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), src, 0o644))
}
