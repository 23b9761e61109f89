package showfiles

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tactus/engine"
	"tactus/shows"
)

func (f folder) reloader() *Reloader {
	f.t.Helper()
	files, err := Open(f.dir)
	if err != nil {
		f.t.Fatal(err)
	}
	show, problems := shows.Load(files, shows.Options{})
	if len(problems) > 0 {
		f.t.Fatal(problems)
	}
	return NewReloader(f.dir, "", show)
}

// looked looks twice: the first look sees a change, the second that it stands.
func looked(t *testing.T, r *Reloader) *Edit {
	t.Helper()
	if e := r.look(); e != nil {
		t.Fatalf("taken at the first look: %q", e.Lines())
	}
	return r.look()
}

func wantLines(t *testing.T, e *Edit, phrases ...string) {
	t.Helper()
	if e == nil {
		t.Fatalf("nothing found; want %q", phrases)
	}
	all := strings.Join(e.Lines(), "\n")
	for _, p := range phrases {
		if !strings.Contains(all, p) {
			t.Errorf("no %q in:\n%s", p, all)
		}
	}
}

func TestReloadTakesAnEditOnce(t *testing.T) {
	f := newFolder(t)
	r := f.reloader()
	if e := looked(t, r); e != nil {
		t.Fatalf("nothing was edited: %q", e.Lines())
	}
	f.edit("looks.yaml", "intensity: 10 %", "intensity: 60 %") // of the same size
	e := looked(t, r)
	wantLines(t, e, "taken over")
	if e.Revision == nil || e.Revision.Program() != r.program {
		t.Fatal("no revision")
	}
	if e := looked(t, r); e != nil {
		t.Errorf("told twice: %q", e.Lines())
	}
	f.write("songs/third.yaml", strings.Replace(f.read("songs/first.yaml"), "song: First\nprogram: 1", "song: Third\nprogram: 3", 1))
	wantLines(t, looked(t, r), "taken over")
	f.edit("looks.yaml", "twenty", "score")
	f.edit("songs/first.yaml", "twenty", "score")
	f.edit("songs/third.yaml", "twenty", "score")
	wantLines(t, looked(t, r), "taken over", `no longer in the show: look "twenty"`)
}

// A file that is being written is not taken, however much of it would do.
func TestReloadWaitsForTheWholeFile(t *testing.T) {
	f := newFolder(t)
	r := f.reloader()
	whole := f.read("looks.yaml")
	for i := 1; i < len(whole); i += len(whole) / 20 {
		if err := os.WriteFile(filepath.Join(f.dir, "looks.yaml"), []byte(whole[:i]), 0o644); err != nil {
			t.Fatal(err)
		}
		if e := r.look(); e != nil {
			t.Fatalf("%d bytes of %d were taken: %q", i, len(whole), e.Lines())
		}
	}
	f.write("looks.yaml", whole+"# done\n")
	wantLines(t, looked(t, r), "taken over")
}

// Every fault is told, with its line, once for each content; nothing changes
// until the files are whole, and then what they say is taken.
func TestReloadTellsFaults(t *testing.T) {
	f := newFolder(t)
	r := f.reloader()
	playing, whole := r.program, f.read("looks.yaml")
	f.edit("looks.yaml", "intensity: 10 %", "intensity: 10")
	f.edit("songs/second.yaml", "look: sixty", "look: sixteen")
	wantLines(t, looked(t, r), "looks.yaml:3:", "songs/second.yaml:", "no unit", `no look "sixteen"`, "faults: 2")
	if r.program != playing {
		t.Error("a faulty show plays")
	}
	if e := looked(t, r); e != nil {
		t.Errorf("told twice: %q", e.Lines())
	}
	f.edit("looks.yaml", "intensity: 20 %", "intensity: twenty")
	wantLines(t, looked(t, r), "faults: 3", "looks.yaml:4:")
	f.write("looks.yaml", whole)
	wantLines(t, looked(t, r), "faults: 1")
	f.edit("songs/second.yaml", "look: sixteen", "look: sixty")
	e := looked(t, r)
	wantLines(t, e, "as they play")
	if e.Revision != nil || r.program != playing {
		t.Error("a revision without a change")
	}
	if err := os.RemoveAll(filepath.Join(f.dir, "songs")); err != nil {
		t.Fatal(err)
	}
	if e := looked(t, r); e == nil || e.Faults == nil {
		t.Error("a show without songs is taken")
	}
}

// What is set up once at the start is named, and nothing else is taken with it.
func TestReloadAsksForARestart(t *testing.T) {
	for want, change := range map[string]func(f folder){
		`fixture "pulse" has another address`: func(f folder) { f.edit("rig.yaml", "address: 2}", "address: 7}") },
		`fixture "pulse 2" is new`: func(f folder) {
			f.edit("rig.yaml", "groups:", "  pulse 2: {profile: dimmer, universe: bench, address: 9}\ngroups:")
		},
		"universes": func(f folder) { f.edit("rig.yaml", "sacn: 1,", "sacn: 11,") },
		"on exit":   func(f folder) { f.edit("show.yaml", "on exit: terminate", "on exit: hold") },
	} {
		f := newFolder(t)
		r := f.reloader()
		playing := r.program
		change(f)
		f.edit("looks.yaml", "intensity: 10 %", "intensity: 60 %")
		e := looked(t, r)
		wantLines(t, e, want, "restart", "nothing changes")
		if e.Revision != nil || r.program != playing {
			t.Errorf("%s: taken all the same", want)
		}
	}
}

// The demo that is built in has no files to watch.
func TestReloadLeavesTheDemo(t *testing.T) {
	if NewReloader(Demo, "", &shows.Show{Program: &engine.Program{}}) != nil {
		t.Error("the demo is watched")
	}
}
