package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// slideShow is the plainest show with a song whose cues send, at 0.8 s a bar.
func slideShow(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, os.DirFS("../../testdata/shows/good/plain")))
	song := `song: Song
tempo: 300 bpm
meter: 4/4
sections:
  - verse: {bars: 500, energy: 3, look: "on", send: [{midi: program 5 on 2}, {osc: /slides/show 1}]}
  - chorus: {bars: 8, energy: 6, look: "off", send: [{midi: control 7 to 100 on 2}, {osc: "/slides/title 'it is 5' 0.5"}]}
cues:
  - {at: "verse, bar 3", send: [{midi: note 60 on 2}, {osc: /slides/show 2}]}
`
	require.NoError(t, os.WriteFile(filepath.Join(dir, "songs", "song.yaml"), []byte(song), 0o600))
	return dir
}
