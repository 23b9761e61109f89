package smf

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
)

// A song in which every bar of a part is alike: its sections, names and energies by hand.
func plainSong(t testing.TB, lead int) *formed {
	t.Helper()
	p := newPlayer(1, engine.Meter{Upper: 4, Lower: 4}, 2)
	if lead > 0 {
		p.play(0, 1, 60, 14, 1, 60)
		p.at += ticks(p.meter.Bar())
	}
	order := []string{"verse", "chorus", "verse", "chorus", "end"}
	bars := map[string]int{"verse": 8, "chorus": 8, "end": 4}
	for _, part := range order {
		for range bars[part] {
			switch part {
			case "verse":
				for at := 0; at < 16; at += 4 {
					p.play(0, 1, 48, float64(at), 3, 60)
				}
			case "chorus":
				for at := 0; at < 16; at++ {
					p.play(0, 1, 53, float64(at), 1, 110)
					p.play(1, 10, 36, float64(at), 1, 110)
				}
			case "end":
				p.play(0, 1, 43, 0, 16, 40)
			}
			p.at += ticks(p.meter.Bar())
		}
	}
	return p.finish(t, "plain", order, bars, lead)
}

func TestProposal(t *testing.T) {
	m := read(t, plainSong(t, 0).src)
	assert.True(t, m.Unmarked)
	var names []string
	var energies []int8
	for _, s := range m.Song.Sections {
		names, energies = append(names, s.Name), append(energies, s.Energy)
	}
	assert.Equal(t, []string{"part a 1", "part b 1", "part a 2", "part b 2", "part c"}, names)
	assert.Equal(t, energies[0], energies[2], "%v", energies)
	assert.Equal(t, energies[1], energies[3], "%v", energies)
	assert.Greater(t, energies[1], energies[0]+2, "%v", energies)
	assert.Greater(t, energies[0], energies[4], "%v", energies)
	assert.Contains(t, m.Left, `10 bars without notes at the end: left out; where the song is longer, put a marker "End" at its end`)
	lines := m.Proposed()
	require.Len(t, lines, 6)
	assert.Equal(t, "no markers: 5 sections are proposals from the notes; listen, name them, and put the energies right", lines[0])
	assert.Contains(t, lines[1], "bar 1: part a 1, 8 bars, energy ")
	assert.Contains(t, lines[1], ": the beginning; 1.0 notes a quarter, velocity ")
	assert.Contains(t, lines[2], ": new: more instruments, denser, louder; 8.0 notes a quarter, velocity ")
	assert.Contains(t, lines[3], "bar 17: part a 2, 8 bars, energy ")
	assert.Contains(t, lines[3], ": like bar 1 on; ")
	file := string(m.AppendTo(nil))
	assert.Regexp(t, `(?m)^  - part a: \{bars: 8, energy: [0-9]\} # proposed: like bar 1 on; 1\.0 notes a quarter, velocity [0-9]+, 1 playing$`, file)
	assert.Contains(t, file, "# Proposed from the notes of a MIDI file without markers: 5 sections, 1:12 as planned.")
}

// Notes before the first downbeat are a part of their own, and parts count from there.
func TestProposalAfterPickup(t *testing.T) {
	m := read(t, plainSong(t, 1).src)
	require.NotEmpty(t, m.Song.Sections)
	assert.Equal(t, "pickup", m.Song.Sections[0].Name)
	assert.EqualValues(t, 1, m.Song.Sections[0].Energy)
	assert.Equal(t, 4*clock.Quarter, m.Song.Sections[1].Start)
	assert.Equal(t, "part a 1", m.Song.Sections[1].Name)
	assert.Contains(t, m.Proposed()[1], "before the first downbeat with notes")
	assert.Len(t, m.Song.Sections, 6)
}

// What has no parts is one section: short songs, songs that never change, and files
// without notes.
func TestNothingToPropose(t *testing.T) {
	same := newPlayer(1, engine.Meter{Upper: 4, Lower: 4}, 1)
	for range 100 {
		for at := 0; at < 16; at += 4 {
			same.play(0, 1, 48, float64(at), 3, 60)
		}
		same.at += ticks(same.meter.Bar())
	}
	for name, src := range map[string][]byte{
		"one bar again and again": same.finish(t, "same", []string{"a"}, map[string]int{"a": 100}, 0).src,
		"short":                   smfFile(96, at(0, "903c40"), at(384, "803c00"), at(384, "904040"), at(384, "804000")),
		"no notes":                smfFile(96, at(0, "b00740"), at(20*384, "b00740")),
	} {
		m := read(t, src)
		assert.Len(t, m.Song.Sections, 1, name)
		assert.Empty(t, m.Proposed(), name)
		assert.Contains(t, m.Left, "no markers: the whole song is one section", name)
	}
	// With markers, these are the sections, whatever the notes do.
	marked := strings.Replace(string(plainSong(t, 0).src), "\x00\xFF\x58", "\x00\xFF\x06\x05Verse\x00\xFF\x58", 1)
	marked = marked[:21] + string([]byte{marked[21] + 9}) + marked[22:] // the track's length
	m := read(t, []byte(marked))
	require.Len(t, m.Song.Sections, 1)
	assert.Equal(t, "verse", m.Song.Sections[0].Name)
	assert.False(t, m.Unmarked)
}

// The file that is proposed for a song of the other set, byte for byte.
func TestProposalGolden(t *testing.T) {
	songs := popSongs(t, 2)
	m := read(t, songs[7].src) // with a pickup and a tempo map of one
	got := m.AppendTo(nil)
	const name = "testdata/proposed.yaml"
	if *update {
		require.NoError(t, os.WriteFile(name, got, 0o644))
	}
	want, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

func TestLetters(t *testing.T) {
	for n, want := range map[int]string{0: "a", 25: "z", 26: "aa", 27: "ab", 127: "dx"} {
		assert.Equal(t, want, letters(n))
	}
}
