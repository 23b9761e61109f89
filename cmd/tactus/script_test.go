package main

import (
	"flag"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite expected output; read the diff with care")

// peerFolder holds the independent npm libraries and the scripts that use them.
const peerFolder = "../../testdata/wire"

// The program under test is the test binary itself, run as a process of its
// own: exit codes, signals and child processes are the real ones.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tactus": main})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "../../testdata/script",
		UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_CONFIG_HOME", e.WorkDir+"/config")
			e.Setenv("GOCOVERDIR", os.Getenv("GOCOVERDIR"))
			return nil
		},
	})
}
