package draw

import (
	"flag"
	"os"
	"regexp"
	"strings"
	"testing"

	"tactus/clock"
	"tactus/engine"
)

var update = flag.Bool("update", false, "rewrite the golden files; look at them and review the diff")

var sequence = regexp.MustCompile(`\x1b\[[?0-9;]*[A-Za-z]`)

// textOf is what a person reads: rows without control sequences.
func textOf(frame []byte) string {
	s := regexp.MustCompile(`\x1b\[[0-9]+;1H`).ReplaceAllString(string(frame), "\n")
	lines := strings.Split(sequence.ReplaceAllString(s, ""), "\n")[1:]
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n") + "\n"
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run with -update once)", err)
	}
	if got != string(want) {
		t.Errorf("%s differs\ngot:\n%s\nwant:\n%s", path, got, want)
	}
}

const quarter = clock.Quarter

func TestFrameGolden(t *testing.T) {
	p := harbour(t)
	chorus := playing(p, 0, 4, 2*4*quarter)
	armed := playing(p, 1, 1, 3*quarter)
	armed.Status.Armed, armed.Status.ArmedAt = 5, armed.Status.Beat+quarter*3/2*3
	armed.Status.Held, armed.Status.Blackout = true, true
	armed.Pos.Sync, armed.Status.Grand = clock.Holdover, 0.8
	stopped := playing(p, 0, 0, 0)
	stopped.Pos.Playing, stopped.Status.Song, stopped.Status.Section = false, engine.None, engine.None
	stopped.Status.Look, stopped.Pos.Sync, stopped.Pos.Source = "doors", clock.Free, clock.Internal
	for _, c := range []struct {
		name   string
		w, h   int
		colour bool
		s      *engine.Snapshot
	}{
		{"chorus-80x24.txt", 80, 24, true, chorus},
		{"chorus-80x24-no-colour.txt", 80, 24, false, chorus},
		{"chorus-60x16.txt", 60, 16, true, chorus},
		{"chorus-160x48.txt", 160, 48, true, chorus},
		{"armed-100x30.txt", 100, 30, true, armed},
		{"no-song-80x24.txt", 80, 24, true, stopped},
		{"small-40x12.txt", 40, 12, true, armed},
	} {
		frame := New(p, c.w, c.h, c.colour).Frame(nil, c.s)
		golden(t, c.name, textOf(frame))
		if c.name == "chorus-80x24.txt" {
			golden(t, "chorus-80x24.ansi", string(frame))
		}
		if dir := os.Getenv("DRAW_RAW"); dir != "" {
			os.WriteFile(dir+"/"+c.name+".ansi", frame, 0o644)
		}
	}
}
