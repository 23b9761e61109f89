package shows_test

import (
	"path/filepath"
	"reflect"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine"
	"tactus/shows"
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
		require.NoError(t, err)
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
		show, problems := shows.Load(files, shows.Options{})
		require.NotNil(t, show, "%v\n%s", problems, file)
		got := show.Program.Songs[0]
		require.Equal(t, m.Song.Name, got.Name, "%s", file)
		require.Equal(t, m.Song.Tempo, got.Tempo, "%s", file)
		require.Equal(t, m.Song.Meter, got.Meter, "%s", file)
		require.True(t, same(got.Meters, m.Song.Meters), "%s", file)
		require.True(t, same(got.Tempos, m.Song.Tempos), "%s", file)
		require.Len(t, got.Sections, len(m.Song.Sections), "%s", file)
		for i, s := range got.Sections {
			want := m.Song.Sections[i]
			require.Equal(t, want.Name, s.Name, "have %+v\n%s", s, file)
			require.Equal(t, want.Start, s.Start, "have %+v\n%s", s, file)
			require.Equal(t, want.Length, s.Length, "have %+v\n%s", s, file)
			require.Equal(t, want.Energy, s.Energy, "have %+v\n%s", s, file)
		}
	})
}

func same[T engine.MeterChange | engine.TempoChange](a, b []T) bool {
	return len(a) == 0 && len(b) == 0 || reflect.DeepEqual(a, b)
}
