package shows_test

import (
	"fmt"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/showtest"
)

func BenchmarkLoadDemo(b *testing.B) {
	for b.Loop() {
		if _, problems := shows.Load(shows.Demo(), shows.Options{}); problems.Err() != nil {
			require.Fail(b, fmt.Sprint(problems))
		}
	}
}

func big(t testing.TB) fstest.MapFS {
	files := showtest.Night(t, 40, 4)
	showtest.Widen(t, files, 200)
	return files
}

func BenchmarkLoadBig(b *testing.B) {
	files := big(b)
	for b.Loop() {
		if _, problems := shows.Load(files, shows.Options{}); problems.Err() != nil {
			require.Fail(b, fmt.Sprint(problems))
		}
	}
}

func benchEdit(b *testing.B, files fstest.MapFS, song string) {
	var l shows.Loader
	src := files[song].Data
	i := 0
	for b.Loop() {
		i++
		files[song] = &fstest.MapFile{Data: []byte(fmt.Sprintf("%s# %d\n", src, i))}
		if _, problems := l.Load(files, shows.Options{}); problems.Err() != nil {
			require.Fail(b, fmt.Sprint(problems))
		}
	}
}

func BenchmarkEditDemo(b *testing.B) { benchEdit(b, showtest.Files(b, shows.Demo()), "songs/lanterns.yaml") }
func BenchmarkEditBig(b *testing.B)  { benchEdit(b, big(b), "songs/song-7.yaml") }
