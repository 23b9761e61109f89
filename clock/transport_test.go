package clock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
)

// ticker plays a MIDI master in a test: it holds the time and offers verbs.
type ticker struct {
	t      *testing.T
	tr     *clock.Transport
	now    clock.Time
	period float64
	n      float64    // ticks since zero
	zero   clock.Time // of the tick grid
}

// tickLength is the time between two ticks, ns.
func tickLength(t clock.Tempo) float64 { return 60e15 / 24 / float64(t) }

func newTicker(t *testing.T, tr *clock.Transport, tempo clock.Tempo) *ticker {
	return &ticker{t: t, tr: tr, now: clock.Second, zero: clock.Second, period: tickLength(tempo)}
}

// tempo changes the tempo from the next tick on.
func (k *ticker) tempo(tempo clock.Tempo) {
	k.zero, k.n, k.period = k.zero+clock.Time(k.n*k.period), 0, tickLength(tempo)
}

// tick sends n ticks; the first comes where the grid has it, and now stays on
// the last.
func (k *ticker) tick(n int) {
	for range n {
		k.now = k.zero + clock.Time(k.n*k.period)
		k.n++
		k.tr.Handle(clock.Event{At: k.now, Kind: clock.Tick24})
	}
}

// skip lets n ticks pass unsent.
func (k *ticker) skip(n int) { k.n += float64(n) }

// send sends a message a little after the last tick.
func (k *ticker) send(e clock.Event) {
	e.At = k.now + clock.Millisecond
	k.tr.Handle(e)
}

// wantBeat checks the position at the last tick, to within slack.
func (k *ticker) wantBeat(want, slack clock.Beat) {
	k.t.Helper()
	p := k.tr.At(k.now)
	d := p.Beat - want
	assert.LessOrEqual(k.t, d, slack, "at %v: beat %.4f quarters, want %.4f ± %.4f", k.now.Sub(0), p.Beat.Quarters(), want.Quarters(), slack.Quarters())
	assert.GreaterOrEqual(k.t, d, -slack, "at %v: beat %.4f quarters, want %.4f ± %.4f", k.now.Sub(0), p.Beat.Quarters(), want.Quarters(), slack.Quarters())
}

func (k *ticker) want(playing bool, sync clock.Sync, source clock.Source) {
	k.t.Helper()
	p := k.tr.At(k.now)
	assert.Equal(k.t, playing, p.Playing, "at %v", k.now.Sub(0))
	assert.Equal(k.t, sync, p.Sync, "at %v", k.now.Sub(0))
	assert.Equal(k.t, source, p.Source, "at %v", k.now.Sub(0))
}

// exact is how well a line through ticks without jitter has to lie on them: a tenth
// of a millisecond at 120 BPM, far less than any sender, port or eye.
const exact = clock.Tick / 200

func TestStartWaitsForItsTick(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.tick(48)
	k.want(false, clock.Locked, clock.MIDI)
	k.wantBeat(0, 0)
	k.send(clock.Event{Kind: clock.Start})
	k.now += 15 * clock.Millisecond
	k.want(false, clock.Locked, clock.MIDI)
	for n := range clock.Beat(200) {
		k.tick(1)
		k.wantBeat(n*clock.Tick, exact)
	}
	k.want(true, clock.Locked, clock.MIDI)
	p := k.tr.At(k.now)
	assert.EqualValues(t, 1, p.Jumps)
	assert.Equal(t, p.Beat, p.Pulse)
}

func TestSongPositionCountsSixteenths(t *testing.T) {
	// MIDI 1.0, Song Position Pointer: one unit is six clocks. 8 units are 48
	// clocks, the third quarter note.
	for _, c := range []struct {
		sixteenths int32
		clocks     clock.Beat
		quarters   float64
	}{{0, 0, 0}, {1, 6, 0.25}, {8, 48, 2}, {16383, 98298, 4095.75}} {
		k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
		k.tick(30)
		k.send(clock.Event{Kind: clock.Locate, Sixteenths: c.sixteenths})
		k.wantBeat(c.clocks*clock.Tick, 0)
		k.send(clock.Event{Kind: clock.Continue})
		k.tick(1)
		k.wantBeat(c.clocks*clock.Tick, exact)
		k.tick(24)
		k.wantBeat(c.clocks*clock.Tick+clock.Quarter, exact)
		p := k.tr.At(k.now)
		assert.EqualValues(t, 1, p.Jumps, "%d sixteenths", c.sixteenths)
		assert.GreaterOrEqual(t, p.Beat.Quarters(), c.quarters, "%d sixteenths", c.sixteenths)
	}
}

func TestStopKeepsPositionAndPulseRunsOn(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.tick(30)
	k.send(clock.Event{Kind: clock.Start})
	k.tick(25)
	k.send(clock.Event{Kind: clock.Stop})
	at := k.tr.At(k.now + 300*clock.Millisecond)
	stood := at.Beat
	d := stood - clock.Quarter
	assert.GreaterOrEqual(t, d, clock.Beat(0), "stopped at %v quarters", stood.Quarters())
	assert.LessOrEqual(t, d, clock.Tick/10, "stopped at %v quarters", stood.Quarters())
	d = at.Pulse - stood - clock.BPM(120).Beats(299*clock.Millisecond)
	assert.LessOrEqual(t, d, clock.Beat(100), "error of the pulse after 299 ms")
	assert.GreaterOrEqual(t, d, clock.Beat(-100), "error of the pulse after 299 ms")
	k.tick(96) // the master ticks on: the tempo follows, the position does not
	k.want(false, clock.Locked, clock.MIDI)
	assert.Equal(t, stood, k.tr.At(k.now).Beat, "place while stopped")
	k.send(clock.Event{Kind: clock.Continue})
	k.want(false, clock.Locked, clock.MIDI)
	k.tick(1)
	k.wantBeat(clock.Quarter+clock.Tick, exact)
	p := k.tr.At(k.now)
	assert.EqualValues(t, 1, p.Jumps)
	assert.Equal(t, p.Beat, p.Pulse)
}

func TestStopLeavesStartUnarmed(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.tick(30)
	k.send(clock.Event{Kind: clock.Start})
	k.send(clock.Event{Kind: clock.Stop})
	k.tick(30)
	k.want(false, clock.Locked, clock.MIDI)
	k.wantBeat(0, 0)
}

func TestStartWithoutTicksBeforeIt(t *testing.T) {
	// A master that ticks only while it plays: what shows in the moment before
	// the first tick is waited for.
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(130))
	k.tr.Handle(clock.Event{At: k.zero - 10*clock.Millisecond, Kind: clock.Start})
	k.tick(1)
	early := k.tr.At(k.now).Beat
	want := clock.BPM(120).Beats(10 * clock.Millisecond)
	assert.GreaterOrEqual(t, early, want-1)
	assert.LessOrEqual(t, early, want+1)
	k.tick(47)
	k.wantBeat(47*clock.Tick, clock.Tick/50)
	k.want(true, clock.Locked, clock.MIDI)
}

func TestStartFromMasterThatNeverTicksAgain(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(100))
	k.tick(48)
	k.send(clock.Event{Kind: clock.Start})
	start := k.now + clock.Millisecond
	p := k.tr.At(start + 500*clock.Millisecond - 1)
	assert.False(t, p.Playing, "began before the wait was over")
	assert.Zero(t, p.Beat, "began before the wait was over")
	for _, handled := range []bool{false, true} {
		at := start + 600*clock.Millisecond
		if handled {
			k.tr.Handle(clock.Event{At: at - 1, Kind: clock.Locate + 100})
		}
		p := k.tr.At(at)
		d := p.Beat - clock.Quarter
		assert.True(t, p.Playing, "600 ms after Start at 100 BPM (handled %v)", handled)
		assert.LessOrEqual(t, d, clock.Beat(20), "600 ms after Start at 100 BPM (handled %v)", handled)
		assert.GreaterOrEqual(t, d, clock.Beat(-20), "600 ms after Start at 100 BPM (handled %v)", handled)
		assert.Equal(t, clock.Holdover, p.Sync, "600 ms after Start at 100 BPM (handled %v)", handled)
	}
}

func TestLeadMIDIWaitsForTicks(t *testing.T) {
	tr := clock.NewTransport(clock.Config{Lead: clock.LeadMIDI, Internal: clock.BPM(90)})
	tr.Handle(clock.Event{At: clock.Second, Kind: clock.Start})
	tr.Handle(clock.Event{At: clock.Second + 1, Kind: clock.Tap})
	p := tr.At(clock.Second + 400*clock.Millisecond)
	assert.False(t, p.Playing, "plays without a tick: %+v", p)
	tr.Handle(clock.Event{At: clock.Second + 450*clock.Millisecond, Kind: clock.Tick24})
	p = tr.At(clock.Second + 450*clock.Millisecond)
	assert.True(t, p.Playing, "first tick")
	assert.Zero(t, p.Beat, "first tick")
	assert.Equal(t, clock.MIDI, p.Source, "first tick")
}

func TestLocateWhilePlayingLandsOnNextTick(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.send(clock.Event{Kind: clock.Start})
	k.tick(60)
	k.send(clock.Event{Kind: clock.Locate, Sixteenths: 64})
	p := k.tr.At(k.now + 2*clock.Millisecond)
	assert.EqualValues(t, 1, p.Jumps, "jumped before the tick")
	assert.LessOrEqual(t, p.Beat, 3*clock.Quarter, "jumped before the tick")
	k.tick(1)
	k.wantBeat(16*clock.Quarter, clock.Tick/20)
	k.tick(24)
	k.wantBeat(17*clock.Quarter, clock.Tick/20)
	assert.EqualValues(t, 2, k.tr.At(k.now).Jumps, "jumps")
}

func TestHoldoverAndReturn(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.tick(24)
	k.send(clock.Event{Kind: clock.Start})
	k.tick(97)
	k.skip(240) // ten beats of silence
	last := k.now
	assert.Equal(t, clock.Locked, k.tr.At(last+160*clock.Millisecond).Sync, "after a short gap")
	k.now += 170 * clock.Millisecond
	k.want(true, clock.Holdover, clock.MIDI)
	k.now = last + 3*clock.Second
	k.wantBeat(4*clock.Quarter+6*clock.Quarter, exact)
	k.tick(1)
	k.wantBeat(337*clock.Tick-clock.Tick*0, clock.Tick/100)
	k.want(true, clock.Acquiring, clock.MIDI)
	k.tick(48)
	k.want(true, clock.Locked, clock.MIDI)
	k.wantBeat(385*clock.Tick, clock.Tick/100)
	assert.EqualValues(t, 1, k.tr.At(k.now).Jumps, "jumps: holdover is no jump")
}

func TestReturnOffTheGridIsSlewed(t *testing.T) {
	// The clock comes back 8 ms late: the beat bends to it and never jumps.
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.send(clock.Event{Kind: clock.Start})
	k.tick(97)
	k.skip(48)
	k.zero += 8 * clock.Millisecond
	before := k.tr.At(k.zero + clock.Time(k.n*k.period) - 1).Beat
	k.tick(1)
	d := k.tr.At(k.now).Beat - before
	assert.GreaterOrEqual(t, d, clock.Beat(0), "jump when the clock came back")
	assert.LessOrEqual(t, d, clock.Beat(200), "jump when the clock came back")
	k.tick(48)
	k.wantBeat(193*clock.Tick, clock.Tick/50)
}

func TestLostIsHoldoverAtOnce(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.send(clock.Event{Kind: clock.Start})
	k.tick(49)
	k.send(clock.Event{Kind: clock.Lost})
	k.now += 2 * clock.Millisecond
	k.want(true, clock.Holdover, clock.MIDI)
	k.tick(1) // where the line has it: nothing was missed
	k.want(true, clock.Locked, clock.MIDI)
}

func TestStoppedMasterIsNoHoldover(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	k.send(clock.Event{Kind: clock.Start})
	k.tick(49)
	k.send(clock.Event{Kind: clock.Stop})
	k.now += clock.Second
	k.want(false, clock.Free, clock.MIDI)
}

func TestFallbackOrder(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	taps := func(n int, gap clock.Time) {
		for range n {
			k.now += gap
			k.tr.Handle(clock.Event{At: k.now, Kind: clock.Tap})
		}
	}
	wantTempo := func(want float64) {
		t.Helper()
		got := k.tr.At(k.now).Tempo.BPM()
		assert.GreaterOrEqual(t, got, want*0.999, "tempo")
		assert.LessOrEqual(t, got, want*1.001, "tempo")
	}
	k.want(false, clock.Free, clock.Internal)
	wantTempo(120)
	k.tr.Handle(clock.Event{At: k.now, Kind: clock.SetTempo, Tempo: clock.BPM(90)})
	wantTempo(90)
	taps(2, 600*clock.Millisecond)
	k.want(false, clock.Free, clock.Internal)
	taps(1, 600*clock.Millisecond)
	k.want(false, clock.Free, clock.Tapped)
	wantTempo(100)
	k.zero = k.now + 100*clock.Millisecond
	k.tick(48) // a MIDI clock takes the lead,
	k.want(false, clock.Locked, clock.MIDI)
	wantTempo(120)
	for range 4 { // and keeps it against taps
		k.tick(24)
		k.send(clock.Event{Kind: clock.Tap})
	}
	k.tr.Handle(clock.Event{At: k.now, Kind: clock.SetTempo, Tempo: clock.BPM(80)})
	k.want(false, clock.Locked, clock.MIDI)
	wantTempo(120)
	k.send(clock.Event{Kind: clock.Lost})
	k.now += 3 * clock.Second
	k.want(false, clock.Holdover, clock.MIDI)
	wantTempo(120)
	taps(4, 400*clock.Millisecond) // in holdover taps lead,
	k.want(false, clock.Free, clock.Tapped)
	wantTempo(150)
	k.tr.Handle(clock.Event{At: k.now, Kind: clock.SetTempo, Tempo: clock.BPM(80)})
	k.want(false, clock.Free, clock.Internal)
	wantTempo(80)
	k.zero, k.n = k.now+50*clock.Millisecond, 0
	k.tick(1) // until the clock is back
	k.want(false, clock.Acquiring, clock.MIDI)
}

func TestInternalActsAtOnce(t *testing.T) {
	for _, lead := range []clock.Lead{clock.LeadInternal, clock.LeadTap, clock.LeadAuto} {
		tr := clock.NewTransport(clock.Config{Lead: lead, Internal: clock.BPM(100)})
		want := func(at clock.Time, playing bool, beat clock.Beat, jumps uint32) {
			t.Helper()
			p := tr.At(at)
			d := p.Beat - beat
			assert.Equal(t, playing, p.Playing, "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
			assert.LessOrEqual(t, d, clock.Beat(2), "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
			assert.GreaterOrEqual(t, d, clock.Beat(-2), "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
			assert.Equal(t, jumps, p.Jumps, "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
		}
		tr.Handle(clock.Event{At: clock.Second, Kind: clock.Start})
		want(clock.Second, true, 0, 1)
		want(clock.Second+600*clock.Millisecond, true, clock.Quarter, 1)
		tr.Handle(clock.Event{At: clock.Second + 600*clock.Millisecond, Kind: clock.Stop})
		want(2*clock.Second, false, clock.Quarter, 1)
		tr.Handle(clock.Event{At: 2 * clock.Second, Kind: clock.Continue})
		want(2*clock.Second+600*clock.Millisecond, true, 2*clock.Quarter, 1)
		tr.Handle(clock.Event{At: 3200 * clock.Millisecond, Kind: clock.Locate, Sixteenths: 16})
		want(3200*clock.Millisecond, true, 4*clock.Quarter, 2)
		tr.Handle(clock.Event{At: 3800 * clock.Millisecond, Kind: clock.SetTempo, Tempo: clock.BPM(50)})
		want(3800*clock.Millisecond, true, 5*clock.Quarter, 2)
		want(3850*clock.Millisecond+1200*clock.Millisecond, true, 6*clock.Quarter+clock.BPM(100).Beats(50*clock.Millisecond), 2)
	}
}

func TestOtherSourcesAreIgnored(t *testing.T) {
	for _, lead := range []clock.Lead{clock.LeadInternal, clock.LeadTap} {
		k := newTicker(t, clock.NewTransport(clock.Config{Lead: lead, Internal: clock.BPM(100)}), clock.BPM(150))
		k.tick(100)
		k.want(false, clock.Free, clock.Internal)
		assert.Equal(t, clock.BPM(100), k.tr.At(k.now).Tempo, "lead %d", lead)
	}
}

func TestPulseRunsFromTheBeginning(t *testing.T) {
	p := clock.NewTransport(clock.Config{Internal: clock.BPM(60)}).At(10 * clock.Second)
	assert.Equal(t, 10*clock.Quarter, p.Pulse)
	assert.Zero(t, p.Beat)
	assert.False(t, p.Playing)
}

func TestWhenIsTheInverseOfAt(t *testing.T) {
	k := newTicker(t, clock.NewTransport(clock.Config{}), clock.BPM(120))
	_, ok := k.tr.When(0)
	assert.False(t, ok, "When is answered while stopped")
	k.send(clock.Event{Kind: clock.Start})
	k.tick(30)
	k.tempo(clock.BPM(127))
	for range 60 {
		k.tick(1)
		for _, b := range []clock.Beat{0, 1, clock.Quarter, 2 * clock.Quarter, 2*clock.Quarter + 12345, 100 * clock.Quarter} {
			at, ok := k.tr.When(b)
			require.True(t, ok, "no answer for %d", b)
			require.GreaterOrEqual(t, k.tr.At(at).Beat, b, "When is too soon")
			require.Less(t, k.tr.At(at-1).Beat, b, "When is not the first moment")
		}
	}
	_, ok = k.tr.When(1 << 62)
	assert.False(t, ok, "a beat beyond the range of Time is answered")
}

func TestTransportAllocatesNothing(t *testing.T) {
	tr := clock.NewTransport(clock.Config{})
	at := clock.Second
	kinds := []clock.Kind{clock.Tick24, clock.Tick24, clock.Tick24, clock.Start, clock.Tick24, clock.Tick24, clock.Tap, clock.Locate, clock.Tick24, clock.Stop, clock.Continue, clock.Tick24, clock.SetTempo, clock.Lost}
	i := 0
	assert.Zero(t, testing.AllocsPerRun(5000, func() {
		at += 20 * clock.Millisecond
		tr.Handle(clock.Event{At: at, Kind: kinds[i%len(kinds)], Tempo: clock.BPM(100), Sixteenths: 4})
		i++
		p := tr.At(at + 30*clock.Millisecond)
		tr.When(p.Beat + clock.Quarter)
	}), "allocations an event")
}

func TestSlowClockAfterFastTempo(t *testing.T) {
	// The ticks of a slow clock are further apart than the patience with the
	// tempo before.
	for _, bpm := range []float64{10, 12, 20} {
		k := newTicker(t, clock.NewTransport(clock.Config{Internal: clock.BPM(240)}), clock.BPM(bpm))
		k.send(clock.Event{Kind: clock.Start})
		k.tick(97)
		k.want(true, clock.Locked, clock.MIDI)
		k.wantBeat(96*clock.Tick, clock.Tick/10)
	}
}
