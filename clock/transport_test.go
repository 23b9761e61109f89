package clock

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	d := p.Beat - want
	assert.LessOrEqual(k.t, d, slack, "at %v: beat %.4f quarters, want %.4f ± %.4f", k.now.Sub(0), p.Beat.Quarters(), want.Quarters(), slack.Quarters())
	assert.GreaterOrEqual(k.t, d, -slack, "at %v: beat %.4f quarters, want %.4f ± %.4f", k.now.Sub(0), p.Beat.Quarters(), want.Quarters(), slack.Quarters())
}

func (k *ticker) want(playing bool, sync Sync, source Source) {
	k.t.Helper()
	p := k.tr.At(k.now)
	assert.Equal(k.t, playing, p.Playing, "at %v", k.now.Sub(0))
	assert.Equal(k.t, sync, p.Sync, "at %v", k.now.Sub(0))
	assert.Equal(k.t, source, p.Source, "at %v", k.now.Sub(0))
}

// exact is how well a line through ticks without jitter has to lie on them: a tenth
// of a millisecond at 120 BPM, far less than any sender, port or eye.
const exact = Tick / 200

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
		k.wantBeat(n*Tick, exact)
	}
	k.want(true, Locked, MIDI)
	p := k.tr.At(k.now)
	assert.EqualValues(t, 1, p.Jumps)
	assert.Equal(t, p.Beat, p.Pulse)
}

func TestSongPositionCountsSixteenths(t *testing.T) {
	// MIDI 1.0, Song Position Pointer: one unit is six clocks. 8 units are 48
	// clocks, the third quarter note.
	for _, c := range []struct {
		sixteenths int32
		clocks     Beat
		quarters   float64
	}{{0, 0, 0}, {1, 6, 0.25}, {8, 48, 2}, {16383, 98298, 4095.75}} {
		k := newTicker(t, NewTransport(Config{}), BPM(120))
		k.tick(30)
		k.send(Event{Kind: Locate, Sixteenths: c.sixteenths})
		k.wantBeat(c.clocks*Tick, 0)
		k.send(Event{Kind: Continue})
		k.tick(1)
		k.wantBeat(c.clocks*Tick, exact)
		k.tick(24)
		k.wantBeat(c.clocks*Tick+Quarter, exact)
		p := k.tr.At(k.now)
		assert.EqualValues(t, 1, p.Jumps, "%d sixteenths", c.sixteenths)
		assert.GreaterOrEqual(t, p.Beat.Quarters(), c.quarters, "%d sixteenths", c.sixteenths)
	}
}

func TestStopKeepsPositionAndPulseRunsOn(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.tick(30)
	k.send(Event{Kind: Start})
	k.tick(25)
	k.send(Event{Kind: Stop})
	at := k.tr.At(k.now + 300*Millisecond)
	stood := at.Beat
	d := stood - Quarter
	assert.GreaterOrEqual(t, d, Beat(0), "stopped at %v quarters", stood.Quarters())
	assert.LessOrEqual(t, d, Tick/10, "stopped at %v quarters", stood.Quarters())
	d = at.Pulse - stood - BPM(120).Beats(299*Millisecond)
	assert.LessOrEqual(t, d, Beat(100), "error of the pulse after 299 ms")
	assert.GreaterOrEqual(t, d, Beat(-100), "error of the pulse after 299 ms")
	k.tick(96) // the master ticks on: the tempo follows, the position does not
	k.want(false, Locked, MIDI)
	assert.Equal(t, stood, k.tr.At(k.now).Beat, "place while stopped")
	k.send(Event{Kind: Continue})
	k.want(false, Locked, MIDI)
	k.tick(1)
	k.wantBeat(Quarter+Tick, exact)
	p := k.tr.At(k.now)
	assert.EqualValues(t, 1, p.Jumps)
	assert.Equal(t, p.Beat, p.Pulse)
}

func TestStopLeavesStartUnarmed(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.tick(30)
	k.send(Event{Kind: Start})
	k.send(Event{Kind: Stop})
	k.tick(30)
	k.want(false, Locked, MIDI)
	k.wantBeat(0, 0)
}

func TestStartWithoutTicksBeforeIt(t *testing.T) {
	// A master that ticks only while it plays: what shows in the moment before
	// the first tick is waited for.
	k := newTicker(t, NewTransport(Config{}), BPM(130))
	k.tr.Handle(Event{At: k.zero - 10*Millisecond, Kind: Start})
	k.tick(1)
	early := k.tr.At(k.now).Beat
	want := BPM(120).Beats(10 * Millisecond)
	assert.GreaterOrEqual(t, early, want-1)
	assert.LessOrEqual(t, early, want+1)
	k.tick(47)
	k.wantBeat(47*Tick, Tick/50)
	k.want(true, Locked, MIDI)
}

func TestStartFromMasterThatNeverTicksAgain(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(100))
	k.tick(48)
	k.send(Event{Kind: Start})
	start := k.now + Millisecond
	p := k.tr.At(start + startWait - 1)
	assert.False(t, p.Playing, "began before the wait was over")
	assert.Zero(t, p.Beat, "began before the wait was over")
	for _, handled := range []bool{false, true} {
		at := start + 600*Millisecond
		if handled {
			k.tr.Handle(Event{At: at - 1, Kind: Locate + 100})
		}
		p := k.tr.At(at)
		d := p.Beat - Quarter
		assert.True(t, p.Playing, "600 ms after Start at 100 BPM (handled %v)", handled)
		assert.LessOrEqual(t, d, Beat(20), "600 ms after Start at 100 BPM (handled %v)", handled)
		assert.GreaterOrEqual(t, d, Beat(-20), "600 ms after Start at 100 BPM (handled %v)", handled)
		assert.Equal(t, Holdover, p.Sync, "600 ms after Start at 100 BPM (handled %v)", handled)
	}
}

func TestLeadMIDIWaitsForTicks(t *testing.T) {
	tr := NewTransport(Config{Lead: LeadMIDI, Internal: BPM(90)})
	tr.Handle(Event{At: Second, Kind: Start})
	tr.Handle(Event{At: Second + 1, Kind: Tap})
	p := tr.At(Second + 400*Millisecond)
	assert.False(t, p.Playing, "plays without a tick: %+v", p)
	tr.Handle(Event{At: Second + 450*Millisecond, Kind: Tick24})
	p = tr.At(Second + 450*Millisecond)
	assert.True(t, p.Playing, "first tick")
	assert.Zero(t, p.Beat, "first tick")
	assert.Equal(t, MIDI, p.Source, "first tick")
}

func TestLocateWhilePlayingLandsOnNextTick(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.send(Event{Kind: Start})
	k.tick(60)
	k.send(Event{Kind: Locate, Sixteenths: 64})
	p := k.tr.At(k.now + 2*Millisecond)
	assert.EqualValues(t, 1, p.Jumps, "jumped before the tick")
	assert.LessOrEqual(t, p.Beat, 3*Quarter, "jumped before the tick")
	k.tick(1)
	k.wantBeat(16*Quarter, Tick/20)
	k.tick(24)
	k.wantBeat(17*Quarter, Tick/20)
	assert.EqualValues(t, 2, k.tr.At(k.now).Jumps, "jumps")
}

func TestHoldoverAndReturn(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.tick(24)
	k.send(Event{Kind: Start})
	k.tick(97)
	k.skip(240) // ten beats of silence
	last := k.now
	assert.Equal(t, Locked, k.tr.At(last+160*Millisecond).Sync, "after a short gap")
	k.now += 170 * Millisecond
	k.want(true, Holdover, MIDI)
	k.now = last + 3*Second
	k.wantBeat(4*Quarter+6*Quarter, exact)
	k.tick(1)
	k.wantBeat(337*Tick-Tick*0, Tick/100)
	k.want(true, Acquiring, MIDI)
	k.tick(48)
	k.want(true, Locked, MIDI)
	k.wantBeat(385*Tick, Tick/100)
	assert.EqualValues(t, 1, k.tr.At(k.now).Jumps, "jumps: holdover is no jump")
}

func TestReturnOffTheGridIsSlewed(t *testing.T) {
	// The clock comes back 8 ms late: the beat bends to it and never jumps.
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.send(Event{Kind: Start})
	k.tick(97)
	k.skip(48)
	k.zero += 8 * Millisecond
	before := k.tr.At(k.zero + Time(k.n*k.period) - 1).Beat
	k.tick(1)
	d := k.tr.At(k.now).Beat - before
	assert.GreaterOrEqual(t, d, Beat(0), "jump when the clock came back")
	assert.LessOrEqual(t, d, Beat(200), "jump when the clock came back")
	k.tick(48)
	k.wantBeat(193*Tick, Tick/50)
}

func TestLostIsHoldoverAtOnce(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.send(Event{Kind: Start})
	k.tick(49)
	k.send(Event{Kind: Lost})
	k.now += 2 * Millisecond
	k.want(true, Holdover, MIDI)
	k.tick(1) // where the line has it: nothing was missed
	k.want(true, Locked, MIDI)
}

func TestStoppedMasterIsNoHoldover(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	k.send(Event{Kind: Start})
	k.tick(49)
	k.send(Event{Kind: Stop})
	k.now += Second
	k.want(false, Free, MIDI)
}

func TestFallbackOrder(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	taps := func(n int, gap Time) {
		for range n {
			k.now += gap
			k.tr.Handle(Event{At: k.now, Kind: Tap})
		}
	}
	wantTempo := func(want float64) {
		t.Helper()
		got := k.tr.At(k.now).Tempo.BPM()
		assert.GreaterOrEqual(t, got, want*0.999, "tempo")
		assert.LessOrEqual(t, got, want*1.001, "tempo")
	}
	k.want(false, Free, Internal)
	wantTempo(120)
	k.tr.Handle(Event{At: k.now, Kind: SetTempo, Tempo: BPM(90)})
	wantTempo(90)
	taps(2, 600*Millisecond)
	k.want(false, Free, Internal)
	taps(1, 600*Millisecond)
	k.want(false, Free, Tapped)
	wantTempo(100)
	k.zero = k.now + 100*Millisecond
	k.tick(48) // a MIDI clock takes the lead,
	k.want(false, Locked, MIDI)
	wantTempo(120)
	for range 4 { // and keeps it against taps
		k.tick(24)
		k.send(Event{Kind: Tap})
	}
	k.tr.Handle(Event{At: k.now, Kind: SetTempo, Tempo: BPM(80)})
	k.want(false, Locked, MIDI)
	wantTempo(120)
	k.send(Event{Kind: Lost})
	k.now += 3 * Second
	k.want(false, Holdover, MIDI)
	wantTempo(120)
	taps(4, 400*Millisecond) // in holdover taps lead,
	k.want(false, Free, Tapped)
	wantTempo(150)
	k.tr.Handle(Event{At: k.now, Kind: SetTempo, Tempo: BPM(80)})
	k.want(false, Free, Internal)
	wantTempo(80)
	k.zero, k.n = k.now+50*Millisecond, 0
	k.tick(1) // until the clock is back
	k.want(false, Acquiring, MIDI)
}

func TestInternalActsAtOnce(t *testing.T) {
	for _, lead := range []Lead{LeadInternal, LeadTap, LeadAuto} {
		tr := NewTransport(Config{Lead: lead, Internal: BPM(100)})
		want := func(at Time, playing bool, beat Beat, jumps uint32) {
			t.Helper()
			p := tr.At(at)
			d := p.Beat - beat
			assert.Equal(t, playing, p.Playing, "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
			assert.LessOrEqual(t, d, Beat(2), "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
			assert.GreaterOrEqual(t, d, Beat(-2), "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
			assert.Equal(t, jumps, p.Jumps, "lead %d at %v, want playing %v at %d", lead, at.Sub(0), playing, beat)
		}
		tr.Handle(Event{At: Second, Kind: Start})
		want(Second, true, 0, 1)
		want(Second+600*Millisecond, true, Quarter, 1)
		tr.Handle(Event{At: Second + 600*Millisecond, Kind: Stop})
		want(2*Second, false, Quarter, 1)
		tr.Handle(Event{At: 2 * Second, Kind: Continue})
		want(2*Second+600*Millisecond, true, 2*Quarter, 1)
		tr.Handle(Event{At: 3200 * Millisecond, Kind: Locate, Sixteenths: 16})
		want(3200*Millisecond, true, 4*Quarter, 2)
		tr.Handle(Event{At: 3800 * Millisecond, Kind: SetTempo, Tempo: BPM(50)})
		want(3800*Millisecond, true, 5*Quarter, 2)
		want(3850*Millisecond+1200*Millisecond, true, 6*Quarter+BPM(100).Beats(50*Millisecond), 2)
	}
}

func TestOtherSourcesAreIgnored(t *testing.T) {
	for _, lead := range []Lead{LeadInternal, LeadTap} {
		k := newTicker(t, NewTransport(Config{Lead: lead, Internal: BPM(100)}), BPM(150))
		k.tick(100)
		k.want(false, Free, Internal)
		assert.Equal(t, BPM(100), k.tr.At(k.now).Tempo, "lead %d", lead)
	}
}

func TestPulseRunsFromTheBeginning(t *testing.T) {
	p := NewTransport(Config{Internal: BPM(60)}).At(10 * Second)
	assert.Equal(t, 10*Quarter, p.Pulse)
	assert.Zero(t, p.Beat)
	assert.False(t, p.Playing)
}

func TestWhenIsTheInverseOfAt(t *testing.T) {
	k := newTicker(t, NewTransport(Config{}), BPM(120))
	_, ok := k.tr.When(0)
	assert.False(t, ok, "When is answered while stopped")
	k.send(Event{Kind: Start})
	k.tick(30)
	k.tempo(BPM(127))
	for range 60 {
		k.tick(1)
		for _, b := range []Beat{0, 1, Quarter, 2 * Quarter, 2*Quarter + 12345, 100 * Quarter} {
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
	tr := NewTransport(Config{})
	at := Second
	kinds := []Kind{Tick24, Tick24, Tick24, Start, Tick24, Tick24, Tap, Locate, Tick24, Stop, Continue, Tick24, SetTempo, Lost}
	i := 0
	assert.Zero(t, testing.AllocsPerRun(5000, func() {
		at += 20 * Millisecond
		tr.Handle(Event{At: at, Kind: kinds[i%len(kinds)], Tempo: BPM(100), Sixteenths: 4})
		i++
		p := tr.At(at + 30*Millisecond)
		tr.When(p.Beat + Quarter)
	}), "allocations an event")
}

func TestLongRunDoesNotDrift(t *testing.T) {
	numbersOnly(t)
	// A day at 12 BPM is 414,720 ticks; each arrives late, and the beat is right
	// to a millisecond at the end of it.
	const day = 24 * 60 * 12 * 24
	tr := NewTransport(Config{})
	tr.Handle(Event{At: Second - Millisecond, Kind: Start})
	r := rand.New(rand.NewPCG(7, 7))
	var sent, got Time
	for i := range day + 1 {
		sent = Second + Time(float64(i)*periodOf(BPM(12)))
		got = max(got, sent+Time(bursty(r)))
		tr.Handle(Event{At: got, Kind: Tick24})
	}
	p := tr.At(sent + 50*Millisecond)
	miss := p.Beat - day*Tick - BPM(12).Beats(50*Millisecond)
	limit := BPM(12).Beats(Millisecond)
	assert.LessOrEqual(t, miss, limit, "after a day: off by %.6f quarters", miss.Quarters())
	assert.GreaterOrEqual(t, miss, -limit, "after a day: off by %.6f quarters", miss.Quarters())
	assert.Equal(t, Locked, p.Sync, "after a day: off by %.6f quarters", miss.Quarters())
}

func TestSlowClockAfterFastTempo(t *testing.T) {
	// The ticks of a slow clock are further apart than the patience with the
	// tempo before.
	for _, bpm := range []float64{10, 12, 20} {
		k := newTicker(t, NewTransport(Config{Internal: BPM(240)}), BPM(bpm))
		k.send(Event{Kind: Start})
		k.tick(97)
		k.want(true, Locked, MIDI)
		k.wantBeat(96*Tick, Tick/10)
	}
}
