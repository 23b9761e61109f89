package main

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Bytes that mean nothing, at the rate of a MIDI cable, come between the DAW's own
// messages; another port sends clocks of its own and notes that the show lacks, none of
// them ended, in bursts of twenty thousand. Every cue is as punctual as without them.
func TestMIDIFloodLeavesLightAndTiming(t *testing.T) {
	needRealTime(t)
	program := load(t, faultShow)
	dir := t.TempDir()
	pad := filepath.Join(dir, "pad")
	require.NoError(t, syscall.Mkfifo(pad, 0o600))
	go disturb(t, filepath.Join(dir, "daw"), 10*time.Millisecond, meaninglessBytes) // ends with the run
	go disturb(t, pad, time.Second, stuckNotes)
	stop := watchWakes(t)
	p := playing{folder: faultShow, dir: dir, schedule: scheduled(t, program), flags: []string{"--midi", pad, "--log", "json"}}
	got := p.play(t)
	checkCues(t, program, got.writes, got.packets, stop())
	checkPulse(t, program, got.writes, got.packets)
	checkRates(t, got.packets)
	checkEnd(t, got.packets)
	assert.Contains(t, got.log, "MIDI came faster than it could be used")
	assert.Contains(t, got.log, "was asked for that the show does not have; the light stays")
	assert.Contains(t, got.log, `"missed":0`)
}

// disturb writes what next makes into a FIFO, once a period, as long as it is read.
func disturb(t testing.TB, fifo string, period time.Duration, next func() []byte) {
	for { // the run makes it
		if _, err := os.Stat(fifo); err == nil || t.Context().Err() != nil {
			break
		}
		<-time.After(10 * time.Millisecond)
	}
	f, err := os.OpenFile(fifo, os.O_WRONLY, 0) // waits for a reader
	if !assert.NoError(t, err) {
		return
	}
	defer f.Close()
	tick := time.NewTicker(period)
	defer tick.Stop()
	for {
		if _, err := f.Write(next()); err != nil {
			return
		}
		select {
		case <-tick.C:
		case <-t.Context().Done():
			return
		}
	}
}

// meaninglessBytes returns 31 bytes, 10 ms of a MIDI cable (MIDI 1.0: 31,250 bits a
// second, ten a byte): undefined messages, system exclusive that is never ended, stray
// data. Undefined and system exclusive messages end running status (MIDI 1.0), so that
// the data after them belongs to no note.
func meaninglessBytes() []byte {
	begin := [...]byte{0xF0, 0xF4, 0xF5}
	b := make([]byte, 31)
	for i := range b {
		switch {
		case i == 0 || rand.IntN(5) == 0:
			b[i] = begin[rand.IntN(len(begin))]
		case rand.IntN(10) == 0:
			b[i] = 0xFD // an undefined real-time message, allowed anywhere
		default:
			b[i] = byte(rand.IntN(0x80))
		}
	}
	return b
}

// stuckNotes returns 20,000 messages of a second port: note 0 of channel 1, which no
// section has, again and again without an end, and clocks, which do not lead.
func stuckNotes() []byte {
	var b []byte
	for i := range 20_000 {
		if i%2 == 0 {
			b = append(b, 0x90, 0, 100)
		} else {
			b = append(b, 0xF8)
		}
	}
	return b
}
