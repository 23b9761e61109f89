package clock

// A lock fits a line to the arrivals of MIDI ticks: tick number against time. It
// follows them with up to three banks of hypotheses, each with its own density of the
// noise (bank.go), and with a delay-locked loop, and shows one of them (choose.go).
type lock struct {
	n               int64   // number of the last tick
	last            Time    // when the last tick arrived
	putIn, takenOut uint32  // lost ticks added to the count, and double ticks removed from it
	pendingRecount  int64   // corrections not yet in putIn or takenOut: ticks added less ticks removed
	sinceRecount    int     // ticks since the count was last corrected
	sinceSettled    int     // ticks since one was given its number by settleCount
	queued          float64 // share of the last ticks that came out of a queue, 0..1
	line            line
	count           int  // ticks since the restart
	locked          bool // the line is known to a quarter of a tick, and the tempo to 2 %
	afterSilence    bool // the clock was silent, and the number of ticks lost is not certain yet

	shown        int // index of the bank that is shown, or plainLoop
	banks        [numBanks]bank
	bell         *bell
	ring         [ringTicks]point // the last ticks
	trend        trend
	delayShare   float64 // share of the last ticks, 0..1, at which a delay of more than a tick began
	delayed      bool    // the last tick was more than a tick late
	trendSpoiled int     // ticks until the bar that the trend measures has no delayed tick in it
	apart        apart   // distance between the lines of closeBank and of the other candidate
	doubt        doubt   // factor by which error bounds are raised to match the errors measured
	lattice      lattice
	loop         loop
	strip        strip
	halfStep     float64 // half a step of the lattice, ns: a tick is assumed to lie in the middle of its step
	sinceLattice int     // ticks since there was a lattice
}

// point is one tick: its number and when it arrived.
type point struct {
	n  int64
	at Time
}

const (
	closeBank = iota // learns its noise from tick to tick
	wideBank         // its noise is measured over a bar
	stepBank         // for ticks that arrive in steps
	numBanks
	plainLoop = numBanks // the delay-locked loop

	ringTicks   = 256   // ticks remembered: a power of two
	burstMemory = 200   // ticks over which queued and delayShare are averaged
	leastErr    = 250e3 // smallest error bound, ns: no port stamps ticks more exactly
	halfFade    = 5e3   // ns per tick by which halfStep shrinks once there is no lattice
	unrulyShare = 0.04  // above this delayShare, delays are usual and the trend includes them
	straight    = 1.3   // times the noise: ticks further off than that are not on a straight line
	bareTicks   = 800   // after this many ticks without a lattice halfStep shrinks faster: the sender is another one
	bareFade    = 100   // ticks in which halfStep then shrinks to about a third
	bentTicks   = 12    // ticks ahead for which a drift of the tempo is extrapolated
)

// tickBack returns the tick i places before the newest, i in 0..ringTicks-1.
func (l *lock) tickBack(i int) *point { return &l.ring[(l.count-1-i)&(ringTicks-1)] }

// line is the fitted clock: tick n is at the time at, and each later tick is one period
// after the one before.
type line struct {
	n            int64
	at           Time
	period       float64 // ns
	err          float64 // error bound of at, ns
	drift        float64 // error bound of the period, ns
	bend         float64 // by how much the period grows each tick, ns
	steadyPeriod float64 // the period to use more than bentTicks ahead, ns; 0: the same period
}

const (
	maxHyps     = 24    // hypotheses of a bank
	youngTicks  = 6     // a hypothesis is not dropped as unlikely before this age
	provenOdds  = 3.0   // a hypothesis must be this many times as likely to replace the one shown
	provenAge   = 3     // ticks until a hypothesis may be shown
	faintWeight = 1e-30 // smallest weight, relative to the best hypothesis
	settledAge  = 24    // ticks until a hypothesis may teach the slow record of the noise
	lockTicks   = 24    // a beat: ticks until the lock can be locked
	fewTicks    = 6     // fewer ticks than this say little about the tempo
	firstNoise  = 1e6   // mean lateness assumed until it is measured, ns
	stampErr    = 300   // error of a time stamp, ns

	minPeriod   = 60e15 / 24 / float64(MaxTempo)
	maxPeriod   = 60e15 / 24 / float64(MinTempo)
	everything  = 1e18 // larger than any value compared with it
	leastWeight = 1e-7 // a hypothesis below this weight is dropped
)

// Prior probabilities of changes at any tick.
const (
	oddsStep        = 3e-4   // a step to a tempo nearby
	oddsLeap        = 1e-4   // a step to any tempo
	oddsBend        = 1.5e-3 // the tempo begins to drift
	oddsSweep       = 4e-4   // the tempo begins to change fast
	oddsSlip        = 2e-6   // all ticks arrive later, or earlier, from now on
	oddsSettle      = 2e-2   // a drift of the tempo ends
	oddsLoose       = 1e-4   // the tempo begins to wander at random
	queueOdds       = 3e-7   // likelihood of a tick that waited in a queue, per ns
	quietShare      = 0.4    // part of a tick: if twice the noise's spread is below it, ticks can be told apart
	sharpQuietShare = 0.7    // the same where the noise has sharp ends, as with a lattice
	lostShare       = 0.6    // part of a tick: if a tick is later than this, one before it may have been lost
	extraShare      = 0.3    // part of a tick: if a tick is earlier than this, it may be a double
	oddsLost        = 1e-4   // a tick was lost
	oddsPlanned     = 0.03   // the tempo changes as planned, though the tempo before was not the planned one
	oddsExtra       = 1e-4   // a tick arrived twice
)

// periodOf returns the length of a tick, ns.
func periodOf(t Tempo) float64 { return 60e15 / 24 / float64(t) }

// tempo returns the line's tempo.
func (l *line) tempo() Tempo { return Tempo(60e15/24/l.period + 0.5) }

// rate returns the line's rate at t, in Beats a nanosecond.
func (l *line) rate(t Time) float64 {
	if l.steadyPeriod > 0 && float64(t-l.at) > bentTicks*l.period {
		return float64(Tick) / l.steadyPeriod
	}
	return float64(Tick) / (l.period + float64(l.bend*l.ahead(t)))
}

// ahead returns how many ticks t lies after the line's last, limited to bentTicks.
func (l *line) ahead(t Time) float64 {
	return min(max(float64(t-l.at)/l.period, -bentTicks), bentTicks)
}

// beats returns the line's position at t, counted from tick 0.
func (l *line) beats(t Time) float64 {
	on, m := float64(t-l.at)/l.period, l.ahead(t)
	if over := on - bentTicks; l.steadyPeriod > 0 && over > 0 {
		on = bentTicks + over*l.period/l.steadyPeriod
	}
	on -= float64(l.bend/l.period) * m * m / 2
	return float64(float64(l.n)*float64(Tick)) + float64(on*float64(Tick))
}

// errAt returns the error bound of the line at t, ns. It grows with the time since the
// line's last tick.
func (l *line) errAt(t Time) float64 {
	off := l.err
	if ago := float64(t - l.at); ago > 0 {
		off += l.drift * ago / l.period
	}
	return off
}

// errAt returns the error bound of the beat at t, ns: the line's, raised by the doubt.
func (l *lock) errAt(t Time) float64 {
	return float64(max(l.doubt.factor, 1)*(l.line.errAt(t)-l.halfStep)) + l.halfStep
}

// restart forgets all ticks, but not the noise that was learned. The next tick has number
// n; period, ns, is the first guess of the tempo.
func (l *lock) restart(n int64, period float64) {
	if l.bell == nil {
		l.bell = newBell()
		for i := range l.banks {
			l.banks[i].bell = l.bell
			l.banks[i].noise.begin()
		}
	}
	l.count, l.locked, l.afterSilence = 0, false, false
	l.lattice, l.trend, l.apart, l.doubt = lattice{}, trend{}, apart{}, doubt{}
	l.shown, l.sinceSettled = closeBank, ringTicks
	l.sinceLattice = max(l.sinceLattice, bareTicks-2*latticeTicks) // another sender may come after a silence
	for i := range l.banks {
		l.banks[i].live = 0
		l.banks[i].score = score{}
	}
	l.n = n - 1
	l.line = line{n: n, period: period, err: firstNoise}
}

// lineKnown tells whether the line is known well enough to judge ticks by: to a quarter of a
// tick, and the tempo to 5 %.
func (l *lock) lineKnown() bool {
	return l.count >= 2*fewTicks && l.line.err-l.halfStep < 0.25*l.line.period && l.line.drift < 0.05*l.line.period
}

// fits tells whether a tick at t would lie on the line as closely as those before it did.
func (l *lock) fits(t Time) bool {
	if !l.lineKnown() {
		return false
	}
	late := float64(t-l.line.at) - l.line.period
	f := &l.banks[closeBank].noise
	return late > -2*l.line.err-f.spread && late < 2*l.line.err+2*f.spread
}

// tick processes a tick that arrived at at, and sets the line.
func (l *lock) tick(at Time) {
	gap := float64(at - l.last)
	if gap < 1.5*l.line.period {
		l.afterSilence = false
	}
	gone := silent(gap, l.line.period)
	var bar *hypothesis // the line of the last bar, at the end of a silence
	if h, ok := l.lastBar(gone); ok {
		bar = &h
	}
	l.last = at
	l.count++
	l.sinceSettled++
	*l.tickBack(0) = point{l.n + 1, at}
	l.tickBanks(gap, gone, bar)
	l.tickBack(0).n = l.banks[closeBank].line.n
	if c := l.count; c == lockTicks || c == 2*lockTicks || c == 4*lockTicks || c == 8*lockTicks {
		b := &l.banks[closeBank]
		if c == lockTicks {
			b.learnFirstBeat(l)
		}
		b.replayAll(l)
		b.conclude(at)
	}
	l.choose(at)
	if l.shown == plainLoop {
		l.line = l.loop.line
	} else {
		l.line = l.banks[l.shown].line
	}
	l.showFirstBeat(at)
	l.doubt.record(l.count%trendTicks, l.line.at, l.line.err)
	l.line.steadyPeriod = l.steadyPeriod()
	l.countCorrections(l.line.n - l.n - 1)
	l.n = l.line.n
	l.line.at += Time(l.halfStep)
	l.line.err += l.halfStep
	for i := range l.banks {
		l.banks[i].follow(l.n)
	}
	l.tickBack(0).n = l.n
	l.locked = l.count >= lockTicks && l.line.err-l.halfStep < 0.25*l.line.period && l.line.drift < 0.02*l.line.period
}

// tickBanks processes the tick in every bank. gap is the time since the tick before, in
// ns; gone says that the clock was silent in it, bar is then the line of the bar before.
func (l *lock) tickBanks(gap float64, gone bool, bar *hypothesis) {
	steady := l.line.steadyPeriod > 0 && gone
	for i := range l.banks {
		b := &l.banks[i]
		if i == stepBank && b.live == 0 {
			continue
		}
		if steady {
			b.holdPeriod(l.line.steadyPeriod, l.steadyVariance())
		}
		if b.live == 0 {
			b.begin(l.n+1, l.line.period)
		} else {
			b.tick(gap, i, bar)
			if b.noneFits(l) {
				b.restartOnLine(l)
			}
		}
		b.conclude(l.last)
		*b.timeOf(l.count) = b.line.at
	}
}

// settleCount gives the last tick the same number in all hypotheses, now and when ticks
// are processed again: which beat it is has just been decided, so guesses of how many
// ticks were lost before it no longer matter and must not move the count later.
func (l *lock) settleCount() {
	for i := range l.banks {
		l.banks[i].number(l.n)
	}
	l.sinceSettled = 0
}

// number gives the last tick the number n in all hypotheses.
func (b *bank) number(n int64) {
	for i := range b.live {
		b.hyps[i].n = n
	}
}

// steadyPeriod returns the period to continue with if the clock falls silent, ns. It is
// the mean of the last bar, if the ticks of that bar lie on a straight line and the mean
// is known better than the newest period (one late tick can move the newest). Else it
// is 0.
func (l *lock) steadyPeriod() float64 {
	newest := &l.banks[closeBank].hyps[l.banks[closeBank].best]
	if l.shown == stepBank || l.trend.power <= 0 || newest.vPeriod < l.steadyVariance() {
		return 0
	}
	_, period, rest, ok := l.barLine()
	if !ok || rest > float64(straight*trendTicks*l.trend.power)+sq(stampErr) {
		return 0
	}
	return period
}

// barLine fits a straight line to the ticks of the last bar. It returns where the line
// has the last tick, ns from its arrival, the period, ns, and the sum of the squares of
// what ticks lie off the line, ns². ok is false if ticks of the bar are missing.
func (l *lock) barLine() (off, period, rest float64, ok bool) {
	if l.count < trendTicks || l.tickBack(0).n-l.tickBack(trendTicks-1).n != trendTicks-1 {
		return 0, 0, 0, false
	}
	off, period = l.straightLine(trendTicks)
	for i := range trendTicks {
		p := l.tickBack(i)
		rest += sq(float64(p.at-l.tickBack(0).at) - off + float64(period*float64(i)))
	}
	return off, period, rest, true
}

// lastBar returns the hypothesis that the ticks of the last bar lie on a straight line.
// Its off is relative to when ticks arrive on average, not to the earliest. ok is false
// if it is not wanted or there is none.
func (l *lock) lastBar(wanted bool) (h hypothesis, ok bool) {
	if !wanted {
		return h, false
	}
	off, period, rest, ok := l.barLine()
	v := rest / trendTicks
	return hypothesis{
		n: l.n, off: off, period: period, weight: 1, kind: steadyTempo,
		vOff: 4 * v / trendTicks, cOffPeriod: 6 * v / (trendTicks * trendTicks), vPeriod: 12 * v / (trendTicks * trendTicks * trendTicks),
	}, ok
}

// steadyVariance returns the variance of a period that is the mean of the last bar, ns².
func (l *lock) steadyVariance() float64 {
	return 12 * l.trend.power / (trendTicks * trendTicks * trendTicks)
}

// showFirstBeat sets the line to a straight line through the ticks so far during the first beat,
// if one fits them: the noise is not known yet, so hypotheses cannot be weighed.
func (l *lock) showFirstBeat(at Time) {
	if l.count == 1 {
		l.line.at = at
	}
	if l.count < 3 || l.count >= lockTicks {
		return
	}
	off, period := l.straightLine(l.count)
	var wide float64
	for i := range l.count {
		p := l.tickBack(i)
		late := float64(p.at-at) - off + float64(period*float64(i))
		wide = max(wide, late, -late)
	}
	if wide > 0.6*period {
		return
	}
	n := float64(l.count)
	l.line.at, l.line.period, l.line.bend = at+Time(off-wide/2), period, 0
	l.line.err, l.line.drift = wide+leastErr, 2*wide/n
}

// expectChange adds to all banks the hypothesis that the tempo changes before the next tick as
// the score plans: for a share (0..1) of the tick the period is the old one, then it is
// ratio times the old one. If sure, that hypothesis is shown until ticks contradict it.
func (l *lock) expectChange(ratio, share float64, sure bool) {
	for i := range l.banks {
		if b := &l.banks[i]; b.live > 0 && l.count > 2 {
			b.expectChange(ratio, share, sure)
		}
	}
	if sure {
		l.strip.changeTempo(ratio, share)
	}
}

// countCorrections adds a correction of the count, by so many ticks, to putIn or takenOut
// once the count has not changed for a beat: during a stall the likeliest hypothesis, and
// with it the count, may change back and forth.
func (l *lock) countCorrections(by int64) {
	if l.count == 1 {
		by = 0
	}
	l.pendingRecount += by
	if by != 0 {
		l.sinceRecount = 0
	}
	if l.sinceRecount++; l.sinceRecount == lockTicks && l.pendingRecount != 0 {
		if l.pendingRecount > 0 {
			l.putIn += uint32(l.pendingRecount)
		} else {
			l.takenOut += uint32(-l.pendingRecount)
		}
		l.pendingRecount = 0
	}
	held := 0.0
	if l.banks[closeBank].hyps[l.banks[closeBank].best].fromQueue {
		held = 1
	}
	l.queued += (held - l.queued) / burstMemory
}

// meanLateness returns how much later than the earliest ticks a tick arrives, on average.
func (l *lock) meanLateness() Time {
	f := &l.banks[closeBank].noise
	return Time(max(0, f.mean-f.edge))
}
