package clock

import (
	"testing"
)

// ticker plays a MIDI master in a test: it holds the time and offers verbs.
type ticker struct {
	t      *testing.T
	tr     *Transport
	now    Time
	period float64
	n      float64 // ticks since zero
	zero   Time    // of the tick grid
}

func newTicker(t *testing.T, tr *Transport, tempo Tempo) *ticker {
	return &ticker{t: t, tr: tr, now: Second, zero: Second, period: periodOf(tempo)}
}

// tempo changes the tempo from the next tick on.
func (k *ticker) tempo(tempo Tempo) {
	k.zero, k.n, k.period = k.zero+Time(k.n*k.period), 0, periodOf(tempo)
}

// tick sends n ticks; the first comes where the grid has it, and now stays on
// the last.
func (k *ticker) tick(n int) {
	for range n {
		k.now = k.zero + Time(k.n*k.period)
		k.n++
		k.tr.Handle(Event{At: k.now, Kind: Tick24})
	}
}

// skip lets n ticks pass unsent.
func (k *ticker) skip(n int) { k.n += float64(n) }

// send sends a message a little after the last tick.
func (k *ticker) send(e Event) {
	e.At = k.now + Millisecond
	k.tr.Handle(e)
}

// wantBeat checks the position at the last tick, to within slack.
func (k *ticker) wantBeat(want, slack Beat) {
	k.t.Helper()
	p := k.tr.At(k.now)
	if d := p.Beat - want; d > slack || d < -slack {
		k.t.Errorf("at %v: beat %.4f quarters, want %.4f ± %.4f", k.now.Sub(0),
			p.Beat.Quarters(), want.Quarters(), slack.Quarters())
	}
}

func (k *ticker) want(playing bool, sync Sync, source Source) {
	k.t.Helper()
	p := k.tr.At(k.now)
	if p.Playing != playing || p.Sync != sync || p.Source != source {
		k.t.Errorf("at %v: playing %v, %v, %v; want %v, %v, %v", k.now.Sub(0),
			p.Playing, p.Sync, p.Source, playing, sync, source)
	}
}

func TestStartWaitsForItsTick(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.tick(48)
	k.want(false, Locked, MIDI)
	k.wantBeat(0, 0)
	k.send(Event{Kind: Start})
	k.now += 15 * Millisecond
	k.want(false, Locked, MIDI)
	for n := range Beat(200) {
		k.tick(1)
		k.wantBeat(n*Tick, 1)
	}
	k.want(true, Locked, MIDI)
	if p := k.tr.At(k.now); p.Jumps != 1 || p.Pulse != p.Beat {
		t.Errorf("jumps %d, pulse %d, beat %d", p.Jumps, p.Pulse, p.Beat)
	}
}
