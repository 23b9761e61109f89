package smf

import (
	"bufio"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine"
	"tactus/protocol/midi"
)

// peer is what midi-file, an independent library, reads in a file.
type peer struct {
	Format, Division int
	Tracks           [][]string
	Again            string // the file as it writes it
}

// askPeer has the library read files.
func askPeer(t *testing.T, files [][]byte) []peer {
	t.Helper()
	node, err := exec.LookPath("node")
	if _, none := os.Stat("../../testdata/wire/node_modules/midi-file"); err != nil || none != nil {
		require.NotEqual(t, "true", os.Getenv("CI"), "needs node and midi-file")
		t.Skip("needs node, and midi-file: npm ci --ignore-scripts in testdata/wire")
	}
	var in strings.Builder
	for _, f := range files {
		fmt.Fprintln(&in, base64.StdEncoding.EncodeToString(f))
	}
	c := exec.CommandContext(t.Context(), node, "smf-peer.mjs")
	c.Dir, c.Stdin, c.Stderr = "../../testdata/wire", strings.NewReader(in.String()), os.Stderr
	out, err := c.Output()
	require.NoError(t, err)
	var list []peer
	lines := bufio.NewScanner(strings.NewReader(string(out)))
	lines.Buffer(nil, 16<<20)
	for lines.Scan() {
		var p peer
		require.NoError(t, json.Unmarshal(lines.Bytes(), &p))
		list = append(list, p)
	}
	require.Len(t, list, len(files), "answers for files")
	return list
}

// midi-file finds in our files each tempo, meter, marker, program change and note
// of the song, on its tick; and what it writes of them is the same song to us.
func TestPeerReadsAndWritesTheSame(t *testing.T) {
	base := harbour(t)
	var songs []engine.Song
	var files [][]byte
	for seed := range 60 {
		song := rapid.Custom(randomSong).Example(seed)
		p := *base
		p.Songs, p.SetList = []engine.Song{song}, []int32{0}
		p.Notes.ByProgram = engine.NewNotes().ByProgram
		if song.Program >= 0 {
			p.Notes.ByProgram[song.Program] = 0
		}
		src, mute, err := WriteSong(&p, 0)
		require.NoError(t, err)
		require.Empty(t, mute)
		songs, files = append(songs, song), append(files, src)
	}
	for i, have := range askPeer(t, files) {
		require.Equal(t, 1, have.Format)
		require.Equal(t, Division, have.Division)
		require.Len(t, have.Tracks, 2)
		for n, want := range wanted(&songs[i]) {
			got := slices.Sorted(slices.Values(have.Tracks[n]))
			slices.Sort(want)
			require.Equal(t, want, got, "song %d, track %d\n%s\n%s", i, n+1, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
		again, err := base64.StdEncoding.DecodeString(have.Again)
		require.NoError(t, err)
		m := read(t, again)
		require.Equal(t, describe(&songs[i]), describe(&m.Song), "written by it")
		require.Empty(t, m.Left, "written by it")
	}
}

// midi-file finds in songs without markers the notes that we find; and what it writes of
// them, with running status, gets the same proposals.
func TestPeerFindsTheSameNotes(t *testing.T) {
	songs := append(popSongs(t, 1), heldOutSongs(t, 1)...)
	var files [][]byte
	for _, f := range songs {
		files = append(files, f.src)
	}
	for i, have := range askPeer(t, files) {
		file, err := midi.ParseFile(files[i])
		require.NoError(t, err)
		got, want := make([][]string, len(have.Tracks)), make([][]string, len(have.Tracks))
		for _, n := range file.Notes() {
			require.Greater(t, n.End, n.Tick, songs[i].name)
			got[n.Track] = append(got[n.Track], fmt.Sprintf("%d note %d on %d", n.Tick, n.Key, n.Channel))
		}
		for track, events := range have.Tracks {
			for _, e := range events {
				if strings.Contains(e, " note ") {
					want[track] = append(want[track], e)
				}
			}
			slices.Sort(got[track])
			slices.Sort(want[track])
		}
		require.Equal(t, want, got, songs[i].name)
		again, err := base64.StdEncoding.DecodeString(have.Again)
		require.NoError(t, err)
		require.Equal(t, string(read(t, files[i]).AppendTo(nil)), string(read(t, again).AppendTo(nil)), "%s, written by it", songs[i].name)
	}
}

// wanted lists the events of both tracks by the song alone.
func wanted(s *engine.Song) [2][]string {
	tick := func(b int64) int64 { return b * Division / 6_720_000 }
	score := []string{fmt.Sprintf("0 tempo %d", microsPerQuarter(s.Tempo)), "0 meter " + s.Meter.String()}
	for _, c := range s.Tempos {
		score = append(score, fmt.Sprintf("%d tempo %d", tick(int64(c.At)), microsPerQuarter(c.Tempo)))
	}
	for _, c := range s.Meters {
		score = append(score, fmt.Sprintf("%d meter %s", tick(int64(c.At)), c.Meter))
	}
	var notes []string
	if s.Program >= 0 {
		notes = append(notes, fmt.Sprintf("0 program %d on 16", s.Program))
	}
	for _, c := range s.Sections {
		at := tick(int64(c.Start))
		score = append(score, fmt.Sprintf("%d marker %s", at, c.Name))
		notes = append(notes, fmt.Sprintf("%d note %d on 1", at, c.Note))
	}
	end := fmt.Sprintf("%d end", tick(int64(s.Length())))
	return [2][]string{append(score, end), append(notes, end)}
}
