package shows

import (
	"path/filepath"
	"reflect"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"tactus/engine"
	"tactus/shows/smf"
)

// A song file made of a MIDI file is one that the loader takes, and it says what
// was read: whatever the markers are called, however meter and tempo change.
func TestImportedSongsLoad(t *testing.T) {
	plain := folder(t, filepath.Join(shelf, "good", "plain"))
	words := rapid.SampledFrom([]string{
		"verse", "Verse 1", "VERSE 2", "C1", "Chorus (x2)", "verse 1", "yes", "No", "2", "null", "~", "- a", "a: b", "#1", "{x}", `say "hi"`, "it's",
		"Brücke", "♪", "", "end", "Outro", "a, bar 3", "bridge - 1 beat", "x end", "verse 1 1", "0x10", "1e3", "A&B", "part 1", "café/2", "O'Hara’s",
	})
	marker := rapid.OneOf(words, rapid.StringN(0, 70, -1))
	rapid.Check(t, func(t *rapid.T) {
		song := changing(t)
		song.Name = marker.Draw(t, "name")
		for i := range song.Sections {
			song.Sections[i].Name = marker.Draw(t, "marker")
		}
		src, _, err := smf.WriteSong(bare(song), 0)
		if err != nil {
			t.Skip(err)
		}
		m, err := smf.Read(src, "")
		if err != nil {
			t.Fatal(err)
		}
		file := m.AppendTo(nil)
		files := fstest.MapFS{}
		for name, f := range plain {
			files[name] = f
		}
		delete(files, "sets/set.yaml")
		files["songs/song.yaml"] = &fstest.MapFile{Data: file}
		for name := range files {
			if ok, _ := filepath.Match("sets/*", name); ok {
				delete(files, name)
			}
		}
		files["sets/set.yaml"] = &fstest.MapFile{Data: []byte("set: Set\nsongs: [song]\n")}
		show, problems := Load(files, Options{})
		if show == nil {
			t.Fatalf("%v\n%s", problems, file)
		}
		got := show.Program.Songs[0]
		if got.Name != m.Song.Name || got.Tempo != m.Song.Tempo || got.Meter != m.Song.Meter ||
			!same(got.Meters, m.Song.Meters) || !same(got.Tempos, m.Song.Tempos) || len(got.Sections) != len(m.Song.Sections) {
			t.Fatalf("have %+v\nwant %+v\n%s", got, m.Song, file)
		}
		for i, s := range got.Sections {
			if want := m.Song.Sections[i]; s.Name != want.Name || s.Start != want.Start || s.Length != want.Length || s.Energy != want.Energy {
				t.Fatalf("have %+v\nwant %+v\n%s", s, want, file)
			}
		}
	})
}

func same[T engine.MeterChange | engine.TempoChange](a, b []T) bool {
	return len(a) == 0 && len(b) == 0 || reflect.DeepEqual(a, b)
}
