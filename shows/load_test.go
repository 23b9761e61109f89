package shows

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"tactus/shows/language"
)

func problemsOf(t *testing.T, fsys fs.FS) string {
	t.Helper()
	show, problems := Load(fsys, Options{})
	if (show == nil) != (len(problems) > 0) {
		t.Errorf("a show of %v with %d problems", show, len(problems))
	}
	return problems.Error()
}

func TestFolderFaults(t *testing.T) {
	const rest = "; a show folder has show.yaml, rig.yaml, looks.yaml, songs/*.yaml, sets/*.yaml and profiles/*.yaml"
	for _, c := range []struct {
		name  string
		spoil func(files fstest.MapFS)
		want  string
	}{
		{"no rig", func(f fstest.MapFS) { delete(f, "rig.yaml") }, "rig.yaml: the file is missing" + rest},
		{"no song", func(f fstest.MapFS) { delete(f, "songs/song.yaml") }, "songs: there is no song" + rest},
		{"empty", func(f fstest.MapFS) { f["rig.yaml"] = &fstest.MapFile{} }, "rig.yaml:1:1: the file is empty"},
		{"only a comment", func(f fstest.MapFS) { f["rig.yaml"] = &fstest.MapFile{Data: []byte("# nothing\n")} }, "rig.yaml:1:1: the file is empty"},
		{"other names", func(f fstest.MapFS) {
			f["look.yaml"] = &fstest.MapFile{}
			f["songs/x.yml"] = &fstest.MapFile{}
			f["songs/notes.txt"] = &fstest.MapFile{}
			f[".hidden.yaml"] = &fstest.MapFile{}
		}, `look.yaml: not a file of a show (did you mean "looks.yaml"?)` + rest + "\n" +
			`songs/x.yml: not a file of a show (did you mean "songs/x.yaml"?)` + rest},
		{
			"not UTF-8", func(f fstest.MapFS) { f["show.yaml"] = &fstest.MapFile{Data: []byte("# é\nshow: caf\xe9\n")} },
			"show.yaml:2:10: not UTF-8 text; save the file as UTF-8",
		},
		{"large", func(f fstest.MapFS) {
			f["show.yaml"] = &fstest.MapFile{Data: bytes.Repeat([]byte("# x\n"), language.MaxFileBytes/4+1)}
		}, "show.yaml: too large: 4194308 bytes; at most 4194304 bytes"},
		{"a folder for a file", func(f fstest.MapFS) {
			delete(f, "show.yaml")
			f["show.yaml/x"] = &fstest.MapFile{}
		}, "show.yaml: not a plain file"},
		{"a file for a folder", func(f fstest.MapFS) { f["sets"] = &fstest.MapFile{} }, "sets: not a folder" + rest},
		{"needless 0", func(f fstest.MapFS) {
			f["show.yaml"] = &fstest.MapFile{Data: []byte("show: Plain\nafter a hold: 03 s\ndaw: {first section note: 1e1}\n")}
		}, `show.yaml:2:15: after a hold: "03 s" starts with a needless 0; want a time such as 3 s or 500 ms, under 1000 s` + "\n" +
			"show.yaml:3:27: daw.first section note: 1e1 is not a plain whole number; want a MIDI note, 0 to 127"},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := over(t, nil)
			c.spoil(files)
			if got := problemsOf(t, files); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// Parse does not rely on Load for the size.
func TestParseRefusesLargeSources(t *testing.T) {
	f, problems := language.Parse("rig.yaml", bytes.Repeat([]byte("# x\n"), language.MaxFileBytes/4+1))
	if got, want := problems.Error(), "rig.yaml: too large: 4194308 bytes; at most 4194304 bytes"; f == nil || got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if _, problems := language.Parse("lights.yaml", nil); len(problems) != 1 || problems[0].What != "not a file of a show" {
		t.Errorf("a name of no kind: %v", problems)
	}
}

// A file of rubbish is cut short, and the others are heard all the same.
func TestRubbishIsCutShort(t *testing.T) {
	var b strings.Builder
	for range 5000 {
		b.WriteString("- x\n")
	}
	files := over(t, map[string]string{"songs/song.yaml": "song: 3\ntempo: 4\nmeter: 4/4\nsections:\n" + b.String(), "rig.yaml": "x: y\n"})
	_, problems := Load(files, Options{})
	songs, rig, said := 0, 0, false
	for _, p := range problems {
		switch p.File {
		case "songs/song.yaml":
			songs++
			said = said || p.What == "more than 500 faults; the rest are not listed"
		case "rig.yaml":
			rig++
		}
	}
	if songs != language.MaxProblems+1 || !said || rig != 4 {
		t.Errorf("%d faults of the song (said so: %v) and %d of the rig, want %d and 4", songs, said, rig, language.MaxProblems+1)
	}
}

// Deep nesting and references to references stay small.
func TestBombs(t *testing.T) {
	var groups strings.Builder
	groups.WriteString("  g0: lamp 1-2\n")
	for i := 1; i < 40; i++ {
		fmt.Fprintf(&groups, "  g%d: [g%d, lamp 1]\n", i, i-1)
	}
	rig := "venue: Hall\nuniverses: {u1: {virtual: yes}}\nfixtures:\n  lamp 1-2: {profile: dimmer-rgb, universe: u1, address: 1}\n  front: {profile: dimmer, universe: u1, address: 9}\ngroups:\n  lamps: lamp 1-2\n" + groups.String()
	if got := problemsOf(t, over(t, map[string]string{"rig.yaml": rig})); got != "" {
		t.Errorf("groups of groups: %s", got)
	}
	aliases := "a: &a [x, x]\n"
	for i := range 20 {
		c := string(rune('a' + i))
		aliases += string(rune('b'+i)) + ": &" + string(rune('b'+i)) + " [*" + c + ", *" + c + "]\n"
	}
	if got := problemsOf(t, over(t, map[string]string{"rig.yaml": aliases})); !strings.Contains(got, "an anchor (&a)") || strings.Count(got, "\n") > 100 {
		t.Errorf("aliases of aliases: %s", got)
	}
	deep := strings.Repeat("[", 100000)
	if got := problemsOf(t, over(t, map[string]string{"rig.yaml": deep})); !strings.Contains(got, "rig.yaml:1:") {
		t.Errorf("deep brackets: %s", got)
	}
	many, fixtures := "venue: Hall\nuniverses:\n", "fixtures:\n"
	for i := range 70 {
		many += fmt.Sprintf("  u%d: {virtual: yes}\n", i)
		fixtures += fmt.Sprintf("  x%d 1-512: {profile: dimmer, universe: u%d, address: 1}\n", i, i)
	}
	if got := problemsOf(t, over(t, map[string]string{"rig.yaml": many + fixtures})); !strings.Contains(got, "more than 32768 fixtures") {
		t.Errorf("many fixtures: %.300s", got)
	}
}

// On disk, links inside the folder are fine and others are not.
func TestLinks(t *testing.T) {
	for _, open := range []struct {
		name string
		fsys func(dir string) (fs.FS, error)
	}{
		{"DirFS", func(dir string) (fs.FS, error) { return os.DirFS(dir), nil }},
		{"Open", Open},
	} {
		t.Run(open.name, func(t *testing.T) {
			dir, outside := t.TempDir(), t.TempDir()
			if err := os.CopyFS(dir, os.DirFS(shelf+"/good/plain")); err != nil {
				t.Fatal(err)
			}
			fsys, err := open.fsys(dir)
			if err != nil {
				t.Fatal(err)
			}
			move := func(from, to string) {
				t.Helper()
				if err := os.Rename(from, to); err != nil {
					t.Fatal(err)
				}
			}
			link := func(target, name string) {
				t.Helper()
				if err := os.Symlink(target, filepath.Join(dir, name)); err != nil {
					t.Skip("needs symbolic links:", err)
				}
			}
			move(filepath.Join(dir, "rig.yaml"), filepath.Join(dir, "hall"))
			link("hall", "rig.yaml")
			if got := problemsOf(t, fsys); got != "" {
				t.Errorf("a link inside the folder: %s", got)
			}
			move(filepath.Join(dir, "looks.yaml"), filepath.Join(outside, "looks.yaml"))
			link(filepath.Join(outside, "looks.yaml"), "looks.yaml")
			move(filepath.Join(dir, "songs"), filepath.Join(outside, "songs"))
			link("../"+filepath.Base(outside)+"/songs", "songs")
			link("nowhere", "sets")
			got := problemsOf(t, fsys)
			for _, want := range []string{"looks.yaml: a link out of the show folder", "songs: a link out of the show folder", `sets: a link to "nowhere", where there is no file`} {
				if !strings.Contains(got, want) {
					t.Errorf("missing %q in:\n%s", want, got)
				}
			}
		})
	}
	if _, err := Open(filepath.Join(t.TempDir(), "none")); err == nil {
		t.Error("a folder that is not there was opened")
	}
}

func TestNearest(t *testing.T) {
	names := []string{"embers", "dark", "tide", "full sail", "singalong"}
	for word, want := range map[string]string{
		"ember": "embers", "Embers": "embers", "dakr": "dark", "tids": "tide", "fullsail": "full sail",
		"zzz": "", "": "", "sinaglong": "singalong", strings.Repeat("x", 200): "",
	} {
		if got := language.Nearest(word, names); got != want {
			t.Errorf("nearest to %q is %q, want %q", word, got, want)
		}
	}
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"abc", "", 3}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"ca", "abc", 3}} {
		if got := language.Distance([]rune(c.a), []rune(c.b)); got != c.want {
			t.Errorf("distance of %q and %q is %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

// Files that other systems wrote read the same.
func TestLineEndsAndByteOrderMark(t *testing.T) {
	demo := folder(t, "harbour-hall")
	want, problems := Load(demo, Options{})
	if problems.Err() != nil {
		t.Fatal(problems)
	}
	for _, f := range demo {
		f.Data = append([]byte("\xef\xbb\xbf"), bytes.ReplaceAll(f.Data, []byte("\n"), []byte("\r\n"))...)
	}
	got, problems := Load(demo, Options{})
	if problems.Err() != nil {
		t.Fatalf("with CR LF and a byte order mark: %v", problems)
	}
	if summary(got) != summary(want) {
		t.Error("CR LF and a byte order mark change the show")
	}
	demo["show.yaml"].Data = []byte("\xef\xbb\xbfshow: 3\r\nshwo: 4\r\n")
	if got, want := problemsOf(t, demo), "show.yaml:1:7: "; !strings.HasPrefix(got, want) || !strings.Contains(got, "show.yaml:2:1: ") {
		t.Errorf("places after a byte order mark: %s", got)
	}
}

// FuzzLoad puts any text in the place of one file of the demo.
func FuzzLoad(f *testing.F) {
	names := []string{"show.yaml", "rig.yaml", "looks.yaml", "songs/lanterns.yaml", "sets/november.yaml"}
	demo := folder(f, "harbour-hall")
	f.Add(uint8(4), []byte("set: a\rmissing: 1\u0085also: 2\u2028more: 3\n"))
	for i, name := range names {
		f.Add(uint8(i), demo[name].Data)
	}
	for _, class := range []string{"structure", "reference", "spelling"} {
		for _, dir := range cases(f, "bad/"+class) {
			for name, file := range folder(f, dir) {
				kind, _ := language.KindOf(name)
				for i, k := range language.Kinds() {
					if k == kind {
						f.Add(uint8(i), file.Data)
					}
				}
			}
		}
	}
	parsed := map[string]*language.File{}
	for name, file := range demo {
		if _, ok := language.KindOf(name); ok {
			parsed[name], _ = language.Parse(name, file.Data)
		}
	}
	f.Fuzz(func(t *testing.T, which uint8, src []byte) {
		name := names[int(which)%len(names)]
		spoilt, problems := language.Parse(name, src)
		files := []*language.File{spoilt}
		for other, file := range parsed {
			if other != name {
				files = append(files, file)
			}
		}
		show, more := Compile(files, Options{})
		problems = append(problems, more...)
		if (show == nil) != (len(problems) > 0) {
			t.Fatalf("a show of %v with %d problems", show, len(problems))
		}
		for _, p := range problems {
			if p.File == "" || p.What == "" || p.Line < 0 || p.Line > yamlLines(src) && p.File == name {
				t.Fatalf("a problem without a place: %+v", p)
			}
		}
		if show != nil {
			sound(t, show)
		}
	})
}

// yamlLines counts lines as YAML 1.1 does (section 5.4, line breaks): a carriage
// return, a next line, a line or a paragraph separator end one too.
func yamlLines(src []byte) int {
	n := 1 + bytes.Count(src, []byte("\n")) + bytes.Count(src, []byte("\r")) - bytes.Count(src, []byte("\r\n"))
	for _, b := range []string{"\u0085", "\u2028", "\u2029"} {
		n += bytes.Count(src, []byte(b))
	}
	return n
}

// sound checks that every index of a program leads somewhere.
func sound(t *testing.T, s *Show) {
	t.Helper()
	p := s.Program
	if p.Patch == nil || p.Patch.Heads() != len(p.Heads) || p.Patch.Universes() != len(s.Outputs.Universes) {
		t.Fatal("the patch does not match the rig")
	}
	heads := func(hs []int32) {
		for _, h := range hs {
			if h < 0 || int(h) >= len(p.Heads) {
				t.Fatalf("head %d of %d", h, len(p.Heads))
			}
		}
	}
	for i := range p.Effects {
		e := &p.Effects[i]
		if heads(e.Heads); len(e.Heads) != len(e.Offsets) || e.Pulses < 1 || e.Period.Den < 1 || e.Period.Num < 1 {
			t.Fatalf("effect %+v", e)
		}
	}
	all := append([]int32{}, p.SetList...)
	for _, i := range all {
		if int(i) >= len(p.Songs) {
			t.Fatalf("song %d of %d", i, len(p.Songs))
		}
	}
	for i := range p.Songs {
		last := -1
		for _, c := range p.Songs[i].Cues {
			if int(c.At) <= last || c.At >= p.Songs[i].Length() || c.Fade.Length.Den < 1 {
				t.Fatalf("cue %+v after %d", c, last)
			}
			last = int(c.At)
			for _, e := range c.Effects {
				if int(e) >= len(p.Effects) {
					t.Fatalf("effect %d of %d", e, len(p.Effects))
				}
			}
			for _, part := range c.Parts {
				heads(part.Heads)
			}
		}
	}
}
