package clock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

func TestTapSlewsThePhase(t *testing.T) {
	tr := clock.NewTransport(clock.Config{Lead: clock.LeadTap})
	tr.Handle(clock.Event{At: clock.Second, Kind: clock.Start})
	// The internal beat falls on whole half seconds from Second on; the taps
	// come 100 ms after it.
	var before clock.Beat
	for i := range 8 {
		at := clock.Second + clock.Time(i)*500*clock.Millisecond + 100*clock.Millisecond
		for probe := at - 400*clock.Millisecond; probe < at; probe += clock.Millisecond {
			b := tr.At(probe).Beat
			if probe >= clock.Second {
				require.GreaterOrEqual(t, b, before, "the beat ran back at %v", probe.Sub(0))
			}
			before = b
		}
		tr.Handle(clock.Event{At: at, Kind: clock.Tap})
	}
	at := clock.Second + 7*500*clock.Millisecond + 100*clock.Millisecond
	p := tr.At(at)
	off := p.Beat - p.Beat.RoundTo(clock.Quarter)
	assert.LessOrEqual(t, off, clock.Quarter/100, "the tap falls %.3f of a beat off it", off.Quarters())
	assert.GreaterOrEqual(t, off, -clock.Quarter/100, "the tap falls %.3f of a beat off it", off.Quarters())
	assert.Equal(t, clock.Tapped, p.Source)
	assert.Equal(t, clock.Free, p.Sync)
	assert.EqualValues(t, 1, p.Jumps)
}

// Half and twice the tempo keep beats on beats: the change comes on a beat.
func TestHalveAndDouble(t *testing.T) {
	for _, c := range []struct {
		kind clock.Kind
		want float64
	}{{clock.Halve, 60}, {clock.Double, 240}} {
		tr := clock.NewTransport(clock.Config{Lead: clock.LeadTap})
		tr.Handle(clock.Event{At: clock.Second, Kind: clock.Start})
		for i := range clock.Time(4) {
			tr.Handle(clock.Event{At: clock.Second + i*500*clock.Millisecond, Kind: clock.Tap})
		}
		tr.Handle(clock.Event{At: 3100 * clock.Millisecond, Kind: c.kind})
		const turn = 3500 * clock.Millisecond // the next beat
		b := tr.At(turn).Beat
		assert.Equal(t, 5*clock.Quarter, b, "%v BPM: at the next beat %.4f", c.want, b.Quarters())
		for i := range clock.Beat(8) {
			at := turn + clock.Time(float64(i)*60e9/c.want)
			p := tr.At(at)
			off := p.Beat - (5+i)*clock.Quarter
			assert.LessOrEqual(t, off, clock.Beat(2), "beat %d is off", 5+i)
			assert.GreaterOrEqual(t, off, clock.Beat(-2), "beat %d is off", 5+i)
			assert.Equal(t, c.want, p.Tempo.BPM(), "beat %d is off", 5+i)
		}
	}
	// Under a MIDI clock and beyond the range of tempos nothing changes.
	tr := clock.NewTransport(clock.Config{Lead: clock.LeadMIDI})
	for i := range clock.Time(48) {
		tr.Handle(clock.Event{At: clock.Second + i*20833333, Kind: clock.Tick24})
	}
	before := tr.At(3 * clock.Second)
	tr.Handle(clock.Event{At: 2*clock.Second + 1, Kind: clock.Double})
	assert.Equal(t, before, tr.At(3*clock.Second), "under a MIDI clock")
	tr = clock.NewTransport(clock.Config{Internal: clock.BPM(300)})
	tr.Handle(clock.Event{At: clock.Second, Kind: clock.Double})
	assert.Equal(t, 300.0, tr.At(2*clock.Second).Tempo.BPM(), "twice 300 BPM")
}
