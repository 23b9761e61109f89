package clock

import (
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Hours of songs through one transport, a day in make quiet, each through another
// model of arrivals from the library: the beat never runs back, and no song whose
// tempo stands ends with the count a tick off.
func TestSoakOfArrivals(t *testing.T) {
	NumbersOnly(t)
	long := 10 * time.Minute
	if text := os.Getenv("TACTUS_SOAK"); text != "" && !testing.Short() {
		var err error
		long, err = time.ParseDuration(text)
		require.NoError(t, err, "TACTUS_SOAK=%q: want a time like 24h", text)
	}
	r := rand.New(rand.NewPCG(24, 12))
	p := NewTransport(Config{})
	var now Time
	var before Position
	songs, wrong := 0, 0
	for now < Time(long) {
		m := &arrivalModels[r.IntN(len(arrivalModels))]
		tr := m.trace(r.Uint64())
		start := now + Time(r.Int64N(int64(20*Second)))
		for _, e := range tr.events {
			e.At += start
			p.Handle(e)
			q := p.At(max(e.At, now))
			if q.Playing && before.Playing && q.Jumps == before.Jumps && q.Beat < before.Beat {
				require.Failf(t, "the beat ran back", "%s at %v: from %d to %d", m.name, e.At.Sub(0), before.Beat, q.Beat)
			}
			before, now = q, max(e.At, now)
		}
		songs++
		least, most := tr.delays()
		end := len(tr.sent) - 1
		truth := float64(end) + float64(now-start-tr.sent[end])/float64(tr.sent[end]-tr.sent[end-1])
		tick := float64(tr.sent[end] - tr.sent[end-1])
		off := (float64(p.At(now).Beat)/float64(Tick) - truth) * tick
		if m.steady && (off < -most-0.6*tick || off > -least+0.6*tick) {
			wrong++
			t.Logf("%s: off by %.1f ms at the end; ticks are late by %.1f to %.1f ms", m.name, off/1e6, least/1e6, most/1e6)
		}
		p.Handle(Event{At: now, Kind: Stop})
		before = Position{}
	}
	t.Logf("%v: %d songs", long, songs)
	assert.Zero(t, wrong, "songs that ended a tick off, of %d", songs)
}
