package clock

// A lock fits a line to the arrivals of MIDI ticks: tick number against time. It
// follows them with up to three banks of hypotheses, each with its own density of the
// noise (bank.go), and with a delay-locked loop, and shows one of them (choose.go).
type lock struct {
	n               int64   // number of the last tick
	last            Time    // its arrival
	putIn, takenOut uint32  // whole ticks added to the count as lost, and removed as doubled
	pendingRecount  int64   // ticks put in, less those taken out, not in putIn and takenOut yet
	sinceRecount    int     // ticks since the count was last corrected
	queued          float64 // share of the last ticks that came out of a queue
	line            line
	count           int // ticks since the restart
	locked          bool
	afterSilence    bool // a silence came before; how many ticks it swallowed is not settled yet

	shown        int // the bank that is shown
	banks        [numBanks]bank
	bell         *bell
	ring         [ringTicks]point // the last ticks
	trend        trend
	delayShare   float64 // share of the last ticks with which a delay of more than a tick began
	delayed      bool    // the last tick was more than a tick late
	trendSpoiled int     // ticks until the trend has none in it that were held up
	apart        apart   // how far the lines of the close and the wide bank lie apart
	doubt        doubt   // how much larger errors are than lines say
	lattice      lattice
	loop         loop
	strip        strip
	halfStep     float64 // half a step of the lattice, ns: a tick is taken to fall in the middle of its step
	sinceLattice int     // ticks since there was a lattice
}

// point is tick number n, arrived at at.
type point struct {
	n  int64
	at Time
}

const (
	closeBank = iota // its noise is learned from tick to tick
	wideBank         // its noise is measured over a bar
	stepBank         // ticks come in steps
	numBanks
	plainLoop = numBanks

	ringTicks   = 256   // a power of two
	burstMemory = 200   // ticks over which the share of queued ones is averaged
	leastErr    = 250e3 // ns: no port stamps better
	halfFade    = 5e3   // ns a tick by which halfStep shrinks once there is no lattice
	unrulyShare = 0.04  // from this share on delays are usual, and hindsight includes them
	straight    = 1.3   // times the noise: ticks that lie further off are not on a straight line
	bareTicks   = 800   // ticks without a lattice after which halfStep shrinks faster: it is another sender
	bareFade    = 100   // ticks in which halfStep then shrinks to a third
	bentTicks   = 12    // ticks ahead for which a drift of the tempo is extrapolated
)

// back returns the tick i places before the newest.
func (l *lock) back(i int) *point { return &l.ring[(l.count-1-i)&(ringTicks-1)] }

// line is the fitted clock: tick n fell at the time at, and one falls every period.
type line struct {
	n            int64
	at           Time
	period       float64 // ns
	err          float64 // error bound of at, ns
	drift        float64 // error bound of the period, ns a tick
	bend         float64 // by how much the period grows each tick, ns
	steadyPeriod float64 // the period from bentTicks ahead on; 0: the same
}

const (
	maxHyps     = 24
	youngTicks  = 6
	provenOdds  = 3.0
	provenAge   = 3
	faintWeight = 1e-30
	settledAge  = 24
	lockTicks   = 24
	fewTicks    = 6
	firstNoise  = 1e6 // ns of mean lateness, until known
	stampErr    = 300 // error of a time stamp, ns

	minPeriod   = 60e15 / 24 / float64(MaxTempo)
	maxPeriod   = 60e15 / 24 / float64(MinTempo)
	everything  = 1e18
	leastWeight = 1e-7
)

// Prior probabilities of changes at any tick.
const (
	oddsStep        = 3e-4   // a step to a tempo nearby
	oddsLeap        = 1e-4   // to any tempo
	oddsBend        = 1.5e-3 // the tempo begins to drift
	oddsSweep       = 4e-4   // to change fast
	oddsSlip        = 2e-6   // all ticks come later from now on, or earlier
	oddsSettle      = 2e-2   // a drift ends
	oddsLoose       = 1e-4   // it wanders
	queueOdds       = 3e-7   // density of a tick that waited, per ns
	quietShare      = 0.4    // of a tick: noise narrower than half of it leaves ticks apart
	sharpQuietShare = 0.7    // the same where noise has sharp ends
	lostShare       = 0.6    // of a tick: later than this one may have been lost
	extraShare      = 0.3    // earlier than this one may have come twice
	oddsLost        = 1e-4   // a tick was lost
	oddsPlanned     = 0.03   // the tempo changes as planned, though it was not as planned before
	oddsExtra       = 1e-4   // a tick came twice
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

// off returns the error bound of the line at t, ns. It grows with the time since its
// last tick.
func (l *line) off(t Time) float64 {
	off := l.err
	if ago := float64(t - l.at); ago > 0 {
		off += l.drift * ago / l.period
	}
	return off
}

// off returns the error bound of the beat at t, ns.
func (l *lock) off(t Time) float64 {
	return float64(max(l.doubt.factor, 1)*(l.line.off(t)-l.halfStep)) + l.halfStep
}

// restart forgets the ticks before. The next has number n; period, ns, is the first
// guess of the tempo.
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
	l.shown = closeBank
	l.sinceLattice = max(l.sinceLattice, bareTicks-2*latticeTicks) // another sender may come after a silence
	for i := range l.banks {
		l.banks[i].live = 0
		l.banks[i].score = score{}
	}
	l.n = n - 1
	l.line = line{n: n, period: period, err: firstNoise}
}

// sure tells whether the line is known well enough to judge ticks by.
func (l *lock) sure() bool {
	return l.count >= 2*fewTicks && l.line.err-l.halfStep < 0.25*l.line.period && l.line.drift < 0.05*l.line.period
}

// fits tells whether a tick at t would lie on the line like those before it.
func (l *lock) fits(t Time) bool {
	if !l.sure() {
		return false
	}
	late := float64(t-l.line.at) - l.line.period
	f := &l.banks[closeBank].noise
	return late > -2*l.line.err-f.spread && late < 2*l.line.err+2*f.spread
}

// tick adds a tick that arrived at at.
func (l *lock) tick(at Time) {
	gap := float64(at - l.last)
	if gap < 1.5*l.line.period {
		l.afterSilence = false
	}
	gone := silent(gap, l.line.period)
	lastBar := l.lastBar(gone)
	l.last = at
	l.count++
	*l.back(0) = point{l.n + 1, at}
	steady := l.line.steadyPeriod > 0 && gone
	for i := range l.banks {
		b := &l.banks[i]
		if i == stepBank && b.live == 0 {
			continue
		}
		if steady {
			b.holdPeriod(l.line.steadyPeriod, l.steadyVariance())
		}
		b.lastBar = lastBar
		if b.live == 0 {
			b.first(l.n+1, l.line.period)
		} else {
			b.tick(gap, i)
			if b.lost(l) {
				b.restartOnLine(l)
			}
		}
		b.conclude(at)
		*b.past(l.count) = b.line.at
	}
	l.back(0).n = l.banks[closeBank].line.n
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
	l.first(at)
	l.doubt.record(l.count%trendTicks, l.line.at, l.line.err)
	l.line.steadyPeriod = l.steadyPeriod()
	l.countCorrections(l.line.n - l.n - 1)
	l.n = l.line.n
	l.line.at += Time(l.halfStep)
	l.line.err += l.halfStep
	for i := range l.banks {
		l.banks[i].follow(l.n)
	}
	l.back(0).n = l.n
	l.locked = l.count >= lockTicks && l.line.err-l.halfStep < 0.25*l.line.period && l.line.drift < 0.02*l.line.period
}

// settleCount has all hypotheses number the last tick alike, where the sender has said
// which tick it is. One that is right about the time of the tick would otherwise move
// the count later on by what it made of the ticks before.
func (l *lock) settleCount() {
	for i := range l.banks {
		b := &l.banks[i]
		for k := range b.live {
			b.hyps[k].n = l.n
		}
	}
}

// steadyPeriod returns the period to go on with should the clock fall silent, ns: the
// mean of the last bar, if its ticks lie on a straight line and the mean is known better
// than the newest period, which one late tick can move. Else it is 0.
func (l *lock) steadyPeriod() float64 {
	newest := &l.banks[closeBank].hyps[l.banks[closeBank].best]
	if l.shown == stepBank || l.count < trendTicks || l.trend.power <= 0 ||
		l.back(0).n-l.back(trendTicks-1).n != trendTicks-1 || newest.vPeriod < l.steadyVariance() {
		return 0
	}
	off, period := l.recent(trendTicks)
	var rest float64
	for i := range trendTicks {
		p := l.back(i)
		rest += sq(float64(p.at-l.back(0).at) - off + float64(period*float64(i)))
	}
	if rest > float64(straight*trendTicks*l.trend.power)+sq(stampErr) {
		return 0
	}
	return period
}

// lastBar returns the hypothesis that the ticks of the last bar lay on a straight line. Of
// times it knows when the mean tick arrived. It has no weight if it is not wanted, or if
// ticks are missing there.
func (l *lock) lastBar(wanted bool) (h hypothesis) {
	if !wanted || l.count < trendTicks || l.back(0).n-l.back(trendTicks-1).n != trendTicks-1 {
		return h
	}
	off, period := l.recent(trendTicks)
	var v float64
	for i := range trendTicks {
		p := l.back(i)
		v += sq(float64(p.at-l.back(0).at)-off+float64(period*float64(i))) / trendTicks
	}
	return hypothesis{
		n: l.n, off: off, period: period, weight: 1, kind: steadyTempo,
		vOff: 4 * v / trendTicks, cOffPeriod: 6 * v / (trendTicks * trendTicks), vPeriod: 12 * v / (trendTicks * trendTicks * trendTicks),
	}
}

// steadyVariance returns the variance of a period that is the mean of the last bar, ns².
func (l *lock) steadyVariance() float64 {
	return 12 * l.trend.power / (trendTicks * trendTicks * trendTicks)
}

// first shows a straight line during the first beat, if one fits: the noise is not
// known yet, so hypotheses cannot be weighed.
func (l *lock) first(at Time) {
	if l.count == 1 {
		l.line.at = at
	}
	if l.count < 3 || l.count >= lockTicks {
		return
	}
	off, period := l.recent(l.count)
	var wide float64
	for i := range l.count {
		p := l.back(i)
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

// expect adds to all banks the hypothesis that the tempo changes before the next tick,
// as the score plans: the period becomes ratio times the old, after a share of the old
// one. If it is sure, that hypothesis is shown until ticks contradict it.
func (l *lock) expect(ratio, share float64, sure bool) {
	for i := range l.banks {
		if b := &l.banks[i]; b.live > 0 && l.count > 2 {
			b.expect(ratio, share, sure)
		}
	}
	if sure {
		l.strip.turn(ratio, share)
	}
}

// countCorrections adds corrections of the count to putIn and takenOut once the count has
// stood for a beat: hypotheses alternate during a stall.
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
	if l.banks[closeBank].hyps[l.banks[closeBank].best].held {
		held = 1
	}
	l.queued += (held - l.queued) / burstMemory
}

// late returns by how much ticks come later than the earliest, on average.
func (l *lock) late() Time {
	f := &l.banks[closeBank].noise
	return Time(max(0, f.mean-f.edge))
}
