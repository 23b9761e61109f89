package shows_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/language"
)

func problemsOf(t *testing.T, fsys fs.FS) string {
	t.Helper()
	show, problems := shows.Load(fsys, shows.Options{})
	assert.Equal(t, len(problems) > 0, show == nil, "a show of %v with %d problems", show, len(problems))
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
			assert.Equal(t, c.want, problemsOf(t, files))
		})
	}
}

// Parse does not rely on Load for the size.
func TestParseRefusesLargeSources(t *testing.T) {
	f, problems := language.Parse("rig.yaml", bytes.Repeat([]byte("# x\n"), language.MaxFileBytes/4+1))
	assert.NotNil(t, f)
	assert.Equal(t, "rig.yaml: too large: 4194308 bytes; at most 4194304 bytes", problems.Error())
	if _, problems := language.Parse("lights.yaml", nil); assert.Len(t, problems, 1, "a name of no kind") {
		assert.Equal(t, "not a file of a show", problems[0].What, "a name of no kind")
	}
}

// A file of rubbish is cut short, and the others are heard all the same.
func TestRubbishIsCutShort(t *testing.T) {
	var b strings.Builder
	for range 5000 {
		b.WriteString("- x\n")
	}
	files := over(t, map[string]string{"songs/song.yaml": "song: 3\ntempo: 4\nmeter: 4/4\nsections:\n" + b.String(), "rig.yaml": "x: y\n"})
	_, problems := shows.Load(files, shows.Options{})
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
	assert.Equal(t, language.MaxProblems+1, songs)
	assert.True(t, said)
	assert.Equal(t, 4, rig)
}

// Deep nesting and references to references stay small.
func TestBombs(t *testing.T) {
	var groups strings.Builder
	groups.WriteString("  g0: lamp 1-2\n")
	for i := 1; i < 40; i++ {
		fmt.Fprintf(&groups, "  g%d: [g%d, lamp 1]\n", i, i-1)
	}
	rig := "venue: Hall\nuniverses: {u1: {virtual: yes}}\nfixtures:\n  lamp 1-2: {profile: dimmer-rgb, universe: u1, address: 1}\n  front: {profile: dimmer, universe: u1, address: 9}\ngroups:\n  lamps: lamp 1-2\n" + groups.String()
	assert.Empty(t, problemsOf(t, over(t, map[string]string{"rig.yaml": rig})), "groups of groups")
	aliases := "a: &a [x, x]\n"
	for i := range 20 {
		c := string(rune('a' + i))
		aliases += string(rune('b'+i)) + ": &" + string(rune('b'+i)) + " [*" + c + ", *" + c + "]\n"
	}
	got := problemsOf(t, over(t, map[string]string{"rig.yaml": aliases}))
	assert.Contains(t, got, "an anchor (&a)", "aliases of aliases")
	assert.LessOrEqual(t, strings.Count(got, "\n"), 100, "aliases of aliases")
	deep := strings.Repeat("[", 100000)
	assert.Contains(t, problemsOf(t, over(t, map[string]string{"rig.yaml": deep})), "rig.yaml:1:", "deep brackets")
	many, fixtures := "venue: Hall\nuniverses:\n", "fixtures:\n"
	for i := range 70 {
		many += fmt.Sprintf("  u%d: {virtual: yes}\n", i)
		fixtures += fmt.Sprintf("  x%d 1-512: {profile: dimmer, universe: u%d, address: 1}\n", i, i)
	}
	assert.Contains(t, problemsOf(t, over(t, map[string]string{"rig.yaml": many + fixtures})), "more than 32768 fixtures", "many fixtures")
}

// On disk, links inside the folder are fine and others are not.
func TestLinks(t *testing.T) {
	for _, open := range []struct {
		name string
		fsys func(dir string) (fs.FS, error)
	}{
		{"DirFS", func(dir string) (fs.FS, error) { return os.DirFS(dir), nil }},
		{"Open", shows.Open},
	} {
		t.Run(open.name, func(t *testing.T) {
			dir, outside := t.TempDir(), t.TempDir()
			require.NoError(t, os.CopyFS(dir, os.DirFS(shelf+"/good/plain")))
			fsys, err := open.fsys(dir)
			require.NoError(t, err)
			move := func(from, to string) {
				t.Helper()
				require.NoError(t, os.Rename(from, to))
			}
			link := func(target, name string) {
				t.Helper()
				if err := os.Symlink(target, filepath.Join(dir, name)); err != nil {
					t.Skip("needs symbolic links:", err)
				}
			}
			move(filepath.Join(dir, "rig.yaml"), filepath.Join(dir, "hall"))
			link("hall", "rig.yaml")
			assert.Empty(t, problemsOf(t, fsys), "a link inside the folder")
			move(filepath.Join(dir, "looks.yaml"), filepath.Join(outside, "looks.yaml"))
			link(filepath.Join(outside, "looks.yaml"), "looks.yaml")
			move(filepath.Join(dir, "songs"), filepath.Join(outside, "songs"))
			link("../"+filepath.Base(outside)+"/songs", "songs")
			link("nowhere", "sets")
			got := problemsOf(t, fsys)
			for _, want := range []string{"looks.yaml: a link out of the show folder", "songs: a link out of the show folder", `sets: a link to "nowhere", where there is no file`} {
				assert.Contains(t, got, want, "missing")
			}
		})
	}
	_, err := shows.Open(filepath.Join(t.TempDir(), "none"))
	assert.Error(t, err, "a folder that is not there was opened")
}

// Places in a section that the song does not have are told once, as other unknown names
// are; places in a section without that bar each on its own.
func TestAnUnknownSectionIsToldOnce(t *testing.T) {
	got := problemsOf(t, over(t, map[string]string{"songs/song.yaml": `song: Song
tempo: 120 bpm
meter: 4/4
sections:
  - verse: {bars: 8, energy: 2, look: "on"}
cues:
  - {at: coda, look: "off"}
  - {at: "coda, bar 2", look: "off"}
  - {at: "verse, bar 9", look: "off"}
  - {at: "verse, bar 9 beat 2", look: "off"}
changes:
  - {at: "coda, bar 3", tempo: 90 bpm}
accepted:
  - {finding: flat, in: coda, because: short}
`}))
	assert.Equal(t, `songs/song.yaml:7:10: cues[0].at: no section "coda"; sections are: verse; also at songs/song.yaml:8, 12, 14
songs/song.yaml:9:10: cues[2].at: verse has no bar 9; it has 8
songs/song.yaml:10:10: cues[3].at: verse has no bar 9; it has 8`, got)
}

// A rig is loaded whatever is wrong with looks, songs and sets: a file of another name,
// a faulty file, a folder that is a file or a link to nowhere.
func TestRigOnly(t *testing.T) {
	text := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	for name, spoil := range map[string]func(fstest.MapFS){
		"nothing":                 func(fstest.MapFS) {},
		"another name in songs":   func(f fstest.MapFS) { f["songs/x.yml"] = text("song: X\n") },
		"another name in sets":    func(f fstest.MapFS) { f["sets/x.yml"] = text("set: X\n") },
		"a faulty song":           func(f fstest.MapFS) { f["songs/song.yaml"] = text("song: [\n") },
		"faulty looks":            func(f fstest.MapFS) { f["looks.yaml"] = text("looks: 3\n") },
		"no looks":                func(f fstest.MapFS) { delete(f, "looks.yaml") },
		"no songs":                func(f fstest.MapFS) { delete(f, "songs/song.yaml") },
		"songs is a file":         func(f fstest.MapFS) { delete(f, "songs/song.yaml"); f["songs"] = text("") },
		"sets is a file":          func(f fstest.MapFS) { f["sets"] = text("") },
		"sets is a link":          func(f fstest.MapFS) { f["sets"] = link("nowhere") },
		"songs is a link":         func(f fstest.MapFS) { delete(f, "songs/song.yaml"); f["songs"] = link("../songs") },
		"a song is a link":        func(f fstest.MapFS) { f["songs/x.yaml"] = link("nowhere.yaml") },
		"looks is a link outside": func(f fstest.MapFS) { f["looks.yaml"] = link("../looks.yaml") },
	} {
		t.Run(name, func(t *testing.T) {
			files := over(t, nil)
			spoil(files)
			_, problems := shows.Load(files, shows.Options{})
			assert.Equal(t, name == "nothing", len(problems) == 0, "the whole show: %v", problems)
			assert.Empty(t, shows.RigFaults(problems))
			show, problems := shows.Load(files, shows.Options{RigOnly: true})
			require.Empty(t, problems)
			assert.True(t, show.RigOnly)
			assert.NotEmpty(t, show.Program.Heads)
		})
	}
	for name, spoil := range map[string]func(fstest.MapFS){
		"a faulty rig":            func(f fstest.MapFS) { f["rig.yaml"] = text("venue: 3\n") },
		"no rig":                  func(f fstest.MapFS) { delete(f, "rig.yaml") },
		"no show":                 func(f fstest.MapFS) { delete(f, "show.yaml") },
		"another name":            func(f fstest.MapFS) { f["rigs.yaml"] = text("venue: Hall\n") },
		"another name of profile": func(f fstest.MapFS) { f["profiles/x.yml"] = text("about: x\n") },
		"profiles is a link":      func(f fstest.MapFS) { f["profiles"] = link("nowhere") },
	} {
		t.Run(name, func(t *testing.T) {
			files := over(t, nil)
			spoil(files)
			_, problems := shows.Load(files, shows.Options{})
			assert.NotEmpty(t, shows.RigFaults(problems))
			show, problems := shows.Load(files, shows.Options{RigOnly: true})
			assert.NotEmpty(t, problems)
			assert.Nil(t, show)
		})
	}
	_, problems := shows.Load(over(t, map[string]string{"sets/x.yml": "set: X\n"}), shows.Options{Set: "x"})
	assert.Equal(t, `sets: no set list "x"; there are none`, shows.RigFaults(problems).Error(), "the set that was asked for")
}

// link is a symbolic link.
func link(to string) *fstest.MapFile {
	return &fstest.MapFile{Mode: fs.ModeSymlink, Data: []byte(to)}
}

func TestNearest(t *testing.T) {
	names := []string{"embers", "dark", "tide", "full sail", "singalong"}
	for word, want := range map[string]string{
		"ember": "embers", "Embers": "embers", "dakr": "dark", "tids": "tide", "fullsail": "full sail",
		"zzz": "", "": "", "sinaglong": "singalong", strings.Repeat("x", 200): "",
	} {
		assert.Equal(t, want, language.Nearest(word, names), "nearest to %q", word)
	}
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"abc", "", 3}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"ca", "abc", 3}} {
		assert.Equal(t, c.want, language.Distance([]rune(c.a), []rune(c.b)), "distance of %q and %q", c.a, c.b)
	}
}

// Files that other systems wrote read the same.
func TestLineEndsAndByteOrderMark(t *testing.T) {
	demo := folder(t, "harbour-hall")
	want, problems := shows.Load(demo, shows.Options{})
	require.NoError(t, problems.Err())
	for _, f := range demo {
		f.Data = append([]byte("\xef\xbb\xbf"), bytes.ReplaceAll(f.Data, []byte("\n"), []byte("\r\n"))...)
	}
	got, problems := shows.Load(demo, shows.Options{})
	require.NoError(t, problems.Err(), "with CR LF and a byte order mark")
	assert.Equal(t, summary(want), summary(got), "CR LF and a byte order mark change the show")
	demo["show.yaml"].Data = []byte("\xef\xbb\xbfshow: 3\r\nshwo: 4\r\n")
	if got, want := problemsOf(t, demo), "show.yaml:1:7: "; assert.True(t, strings.HasPrefix(got, want), "places after a byte order mark") {
		assert.Contains(t, got, "show.yaml:2:1: ", "places after a byte order mark")
	}
}

// FuzzLoad puts any text in the place of one file of the demo.
func FuzzLoad(f *testing.F) {
	names := []string{"show.yaml", "rig.yaml", "looks.yaml", "songs/lanterns.yaml", "sets/november.yaml"}
	demo := folder(f, "harbour-hall")
	f.Add(uint8(4), []byte("set: a\rmissing: 1\u0085also: 2\u2028more: 3\n"))
	for _, slip := range []string{
		"song: “A: B”\ntempo: 76,5 BPM.\nsections: [{a: {bars: ８ Bars, tempo: 1,5 bpm}}]\n", "song: A: {b: c: d}: e\n", "a:\u00a01\n\u200b- b: c: [\n\t- {“x: ”\n",
		"fixtures: {a: {universe: 2}}\nuniverses: {b: {sacn: 2}, c: [], d: {art-net: -1}}\n", "\ufeff\ufeffset: x\n", "set: - a: b\n", "a: {b: 1，c： 2｝\n",
	} {
		for i := range names {
			f.Add(uint8(i), []byte(slip))
		}
	}
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
		show, more := shows.Compile(files, shows.Options{})
		problems = append(problems, more...)
		require.Equal(t, len(problems) > 0, show == nil, "a show of %v with %d problems", show, len(problems))
		for _, p := range problems {
			require.NotEmpty(t, p.File, "a problem without a place: %+v", p)
			require.NotEmpty(t, p.What, "a problem without a place: %+v", p)
			require.GreaterOrEqual(t, p.Line, 0, "a problem without a place: %+v", p)
			if p.Line > yamlLines(src) {
				require.NotEqual(t, name, p.File, "a problem without a place: %+v", p)
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
func sound(t *testing.T, s *shows.Show) {
	t.Helper()
	p := s.Program
	require.NotNil(t, p.Patch, "the patch does not match the rig")
	require.Equal(t, len(p.Heads), p.Patch.Heads(), "the patch does not match the rig")
	require.Equal(t, len(s.Outputs.Universes), p.Patch.Universes(), "the patch does not match the rig")
	heads := func(hs []int32) {
		for _, h := range hs {
			require.GreaterOrEqual(t, h, int32(0), "head %d", h)
			require.Less(t, int(h), len(p.Heads), "head %d", h)
		}
	}
	for i := range p.Effects {
		e := &p.Effects[i]
		heads(e.Heads)
		require.Len(t, e.Heads, len(e.Offsets), "effect")
		require.GreaterOrEqual(t, e.Pulses, int32(1), "effect")
		require.GreaterOrEqual(t, e.Period.Den, int32(1), "effect")
		require.GreaterOrEqual(t, e.Period.Num, int32(1), "effect")
	}
	all := append([]int32{}, p.SetList...)
	for _, i := range all {
		require.Less(t, int(i), len(p.Songs), "song %d", i)
	}
	for i := range p.Songs {
		last := -1
		for _, c := range p.Songs[i].Cues {
			require.Greater(t, int(c.At), last, "cue %+v", c)
			require.Less(t, c.At, p.Songs[i].Length(), "cue %+v", c)
			require.GreaterOrEqual(t, c.Fade.Length.Den, int32(1), "cue %+v", c)
			last = int(c.At)
			for _, e := range c.Effects {
				require.Less(t, int(e), len(p.Effects), "effect %d", e)
			}
			for _, part := range c.Parts {
				heads(part.Heads)
			}
		}
	}
}
