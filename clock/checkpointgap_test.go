package clock

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// restored returns a transport as another process has it.
func restored(t testing.TB, tr *Transport) *Transport {
	t.Helper()
	got, rest, err := RestoreTransport(tr.AppendCheckpoint(nil))
	require.NoError(t, err)
	require.Empty(t, rest)
	return got
}

// A process ends and another goes on from its checkpoint 0.1 to 2 s later: for each way
// in which ticks arrive, every position is that of a transport which has only not heard
// the ticks between, to the bit; and a bar later, where the tempo stands, the beat is within half a tick of
// that of a transport that has heard them.
func TestCheckpointAcrossAGap(t *testing.T) {
	NumbersOnly(t)
	for row := range arrivalModels {
		m := &arrivalModels[row]
		r := rand.New(rand.NewPCG(uint64(row), 12))
		tr := m.trace(uint64(row))
		from := tr.sent[300+r.IntN(300)] + Time(r.Int64N(int64(20*Millisecond)))
		to := from + 100*Millisecond + Time(r.Int64N(int64(1900*Millisecond)))
		plain, other, whole := NewTransport(Config{}), NewTransport(Config{}), NewTransport(Config{})
		ended, bar := false, 0
		for _, e := range tr.events {
			if m.steady {
				whole.Handle(e)
			}
			if e.At >= from && e.At < to {
				continue
			}
			if e.At >= to && !ended {
				ended = true
				other = restored(t, other)
			}
			plain.Handle(e)
			other.Handle(e)
			if plain.At(e.At) != other.At(e.At) || plain.At(e.At+40*Millisecond) != other.At(e.At+40*Millisecond) {
				require.Equal(t, plain.At(e.At), other.At(e.At), "%s: at %v, from %v to %v nothing was heard", m.name, e.At.Sub(0), from.Sub(0), to.Sub(0))
			}
			if ended {
				if bar++; bar == 96 {
					break
				}
			}
		}
		require.True(t, ended, m.name)
		require.Equal(t, plain.Arrivals(), other.Arrivals(), m.name)
		require.Equal(t, plain.AppendCheckpoint(nil), other.AppendCheckpoint(nil), "%s: the whole state", m.name)
		if !m.steady || m.blind > 0 {
			continue
		}
		heard := float64(whole.At(plain.now).Beat) / float64(Tick)
		assert.InDelta(t, heard, float64(other.At(plain.now).Beat)/float64(Tick), 0.5, "%s: ticks as by a transport that heard all, and as shown, a bar after a gap of %v", m.name, (to - from).Sub(0))
	}
}

// Whatever is playing: taps, starts, stops, an internal clock: after a checkpoint the
// same events give the same positions.
func TestCheckpointAnywhere(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for n := range 300 {
		a := NewTransport(Config{Lead: Lead(r.IntN(4)), Ahead: Time(r.IntN(250)) * Millisecond})
		b := a
		at, when := Second, r.IntN(200)
		for i := range 200 {
			at += Time(r.Int64N(int64([]Time{25 * Millisecond, 25 * Millisecond, 25 * Millisecond, 700 * Millisecond}[r.IntN(4)])))
			e := Event{At: at, Kind: Tick24, Sixteenths: int32(r.IntN(400)), Tempo: BPM(40 + 200*r.Float64()), Beat: Beat(i) * Quarter, Next: BPM(90)}
			if r.IntN(3) == 0 {
				e.Kind = Kind(1 + r.IntN(int(Planned)))
			}
			a.Handle(e)
			if i < when {
				continue
			}
			if b == a {
				b = restored(t, a)
				continue
			}
			b.Handle(e)
			for _, ahead := range []Time{0, 30 * Millisecond, Second} {
				require.Equal(t, a.At(at+ahead), b.At(at+ahead), "script %d, event %d", n, i)
			}
		}
		require.Equal(t, a.AppendCheckpoint(nil), b.AppendCheckpoint(nil), "script %d: the whole state", n)
	}
}

// FuzzTransportCheckpoint reads anything at all: an error, or a transport that says the
// same again and that ticks can be given to.
func FuzzTransportCheckpoint(f *testing.F) {
	f.Add([]byte{})
	f.Add(NewTransport(Config{}).AppendCheckpoint(nil))
	tr := steadyRow(120, poor)(1)
	p := NewTransport(Config{})
	for _, e := range tr.events[:300] {
		p.Handle(e)
	}
	f.Add(p.AppendCheckpoint(nil))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, rest, err := RestoreTransport(b)
		if err != nil {
			require.ErrorIs(t, err, ErrCheckpoint)
			return
		}
		require.Equal(t, b[:len(b)-len(rest)], p.AppendCheckpoint(nil))
		kinds := [...]Kind{Tick24, Tick24, Start, Tap, Locate, Tick24, Tick24, Tick24}
		for n := range Time(40) {
			p.Handle(Event{At: p.now + 20*Millisecond, Kind: kinds[n%Time(len(kinds))]})
			p.At(p.now)
			p.When(Beat(n) * Quarter)
			p.Arrivals()
		}
	})
}
