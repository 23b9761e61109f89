package clock

// A lock turns the arrivals of MIDI ticks into a line: tick number against time. It
// follows them with up to three banks of readings, each with its own idea of how
// ticks are late (bank.go), and a plain loop, and shows one of them (choose.go).
type lock struct {
	n               int64   // number of the last tick
	last            Time    // its arrival
	putIn, takenOut uint32  // whole ticks, as evidence had it
	astray          int64   // ticks put in, less those taken out, that may yet be put right
	stood           int     // ticks since the count was last put right
	queued          float64 // share of the last ticks that came out of a queue
	line            line
	count           int // ticks since the restart
	locked          bool
	gapped          bool // a silence came before, and it is not clear yet what it was

	shown   int // the bank that is shown
	banks   [numBanks]bank
	bell    *bell
	ring    [ringTicks]point // the last ticks
	trend   trend
	unruly  float64 // share of the last ticks with which a delay of more than a tick began
	delayed bool    // the last tick was more than a tick late
	upset   int     // ticks until the trend has none in it that were held up
	apart   apart   // how far the lines of the close and the wide bank lie apart
	doubt   doubt   // how much more than lines say they are off
	lattice lattice
	loop    loop
	strip   strip
	half    float64 // half a step of the lattice, ns: ticks are taken to fall in its middle
	bare    int     // ticks since there was a lattice
}

// point is tick number n, arrived at at.
type point struct {
	n  int64
	at Time
}

const (
	closeBank = iota // noise as it is seen from tick to tick
	wideBank         // as it is seen over a bar
	stepBank         // ticks come in steps
	numBanks
	plainLoop = numBanks

	ringTicks   = 256   // a power of two
	burstMemory = 200   // ticks that the share of queued ones is of
	leastErr    = 250e3 // ns: no port stamps better
	halfFade    = 5e3   // ns a tick by which half shrinks once there is no lattice
	unrulyShare = 0.04  // from then on delays are what is usual, and hindsight takes them in
	straight    = 1.3   // times the noise as hindsight has it: ticks so far off lie on no straight line
	bareTicks   = 800   // from then on it shrinks faster: the sender has another
	bareFade    = 100   // ticks in which it shrinks to a third
	bentTicks   = 12    // how far ahead a drift of the tempo is trusted
)

// back returns the tick i places before the newest.
func (l *lock) back(i int) *point { return &l.ring[(l.count-1-i)&(ringTicks-1)] }

// line is a fitted clock: tick n fell at at, and one falls every period.
type line struct {
	n      int64
	at     Time
	period float64 // ns
	err    float64 // what its time may be off by, ns
	drift  float64 // what the period may be off by, ns
	bend   float64 // by how much the period grows each tick, ns
	cruise float64 // the period further ahead than bentTicks; 0: the same
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
	stampErr    = 300 // what a time stamp is good for, ns

	minPeriod   = 60e15 / 24 / float64(MaxTempo)
	maxPeriod   = 60e15 / 24 / float64(MinTempo)
	everything  = 1e18
	leastWeight = 1e-7
)

// How likely, beforehand, each is at any tick.
const (
	oddsStep     = 3e-4   // a step to a tempo nearby
	oddsLeap     = 1e-4   // to any tempo
	oddsBend     = 1.5e-3 // the tempo begins to drift
	oddsSweep    = 4e-4   // to change fast
	oddsSlip     = 2e-6   // all ticks come later from now on, or earlier
	oddsSettle   = 2e-2   // a drift ends
	oddsLoose    = 1e-4   // it wanders
	queueOdds    = 3e-7   // density of a tick that waited, per ns
	quietShare   = 0.4    // of a tick: noise narrower than half of it leaves ticks apart
	latticeShare = 0.7    // the same where noise has sharp ends
	lostShare    = 0.6    // of a tick: later than this one may have been lost
	extraShare   = 0.3    // earlier than this one may have come twice
	oddsLost     = 1e-4   // a tick was lost
	oddsPlanned  = 0.03   // the tempo changes as planned, though it was not as planned before
	oddsExtra    = 1e-4   // a tick came twice
)

// periodOf returns the length of a tick, ns.
func periodOf(t Tempo) float64 { return 60e15 / 24 / float64(t) }

// tempo returns the line's tempo.
func (l *line) tempo() Tempo { return Tempo(60e15/24/l.period + 0.5) }

// rate returns the line's rate at t, in Beats a nanosecond.
func (l *line) rate(t Time) float64 {
	if l.cruise > 0 && float64(t-l.at) > bentTicks*l.period {
		return float64(Tick) / l.cruise
	}
	return float64(Tick) / (l.period + float64(l.bend*l.ahead(t)))
}

// ahead returns how many ticks after its last t lies, at most as many as a drift
// of the tempo is trusted for.
func (l *line) ahead(t Time) float64 {
	return min(max(float64(t-l.at)/l.period, -bentTicks), bentTicks)
}

// beats returns the line's position at t, counted from tick 0.
func (l *line) beats(t Time) float64 {
	on, m := float64(t-l.at)/l.period, l.ahead(t)
	if over := on - bentTicks; l.cruise > 0 && over > 0 {
		on = bentTicks + over*l.period/l.cruise
	}
	on -= float64(l.bend/l.period) * m * m / 2
	return float64(float64(l.n)*float64(Tick)) + float64(on*float64(Tick))
}

// off returns what the line may be off by at t, ns: more the longer ago its last
// tick was.
func (l *line) off(t Time) float64 {
	off := l.err
	if ago := float64(t - l.at); ago > 0 {
		off += l.drift * ago / l.period
	}
	return off
}

// off returns what the beat may be off by at t, ns.
func (l *lock) off(t Time) float64 {
	return float64(max(l.doubt.by, 1)*(l.line.off(t)-l.half)) + l.half
}

// restart forgets the ticks before. The next has number n; until there are a
// few, the tempo of period helps.
func (l *lock) restart(n int64, period float64) {
	if l.bell == nil {
		l.bell = newBell()
		for i := range l.banks {
			l.banks[i].bell = l.bell
			l.banks[i].noise.begin()
		}
	}
	l.count, l.locked, l.gapped = 0, false, false
	l.lattice, l.trend, l.apart, l.doubt = lattice{}, trend{}, apart{}, doubt{}
	l.shown = closeBank
	l.bare = max(l.bare, bareTicks-2*latticeTicks) // what comes after a silence may be another sender
	for i := range l.banks {
		l.banks[i].live = 0
		l.banks[i].score = score{}
	}
	l.n = n - 1
	l.line = line{n: n, period: period, err: firstNoise}
}

// sure tells whether the line is good enough to judge ticks by.
func (l *lock) sure() bool {
	return l.count >= 2*fewTicks && l.line.err-l.half < 0.25*l.line.period && l.line.drift < 0.05*l.line.period
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

// tick takes one tick.
func (l *lock) tick(at Time) {
	gap := float64(at - l.last)
	if gap < 1.5*l.line.period {
		l.gapped = false
	}
	l.last = at
	l.count++
	*l.back(0) = point{l.n + 1, at}
	steady := l.line.cruise > 0 && silent(gap, l.line.period)
	for i := range l.banks {
		b := &l.banks[i]
		if i == stepBank && b.live == 0 {
			continue
		}
		if steady {
			b.cruise(l.line.cruise, l.cruiseVariance())
		}
		if b.live == 0 {
			b.first(l.n+1, l.line.period)
		} else {
			b.tick(gap, i)
			if b.lost(l) {
				b.again(l)
			}
		}
		b.conclude(at)
		*b.past(l.count) = b.line.at
	}
	l.back(0).n = l.banks[closeBank].line.n
	if c := l.count; c == lockTicks || c == 2*lockTicks || c == 4*lockTicks || c == 8*lockTicks {
		b := &l.banks[closeBank]
		if c == lockTicks {
			b.gauge(l)
		}
		b.rethink(l)
		b.conclude(at)
	}
	l.choose(at)
	if l.shown == plainLoop {
		l.line = l.loop.line
	} else {
		l.line = l.banks[l.shown].line
	}
	l.first(at)
	l.doubt.note(l.count%trendTicks, l.line.at, l.line.err)
	l.line.cruise = l.cruise()
	l.tally(l.line.n - l.n - 1)
	l.n = l.line.n
	l.line.at += Time(l.half)
	l.line.err += l.half
	for i := range l.banks {
		l.banks[i].follow(l.n)
	}
	l.back(0).n = l.n
	l.locked = l.count >= lockTicks && l.line.err-l.half < 0.25*l.line.period && l.line.drift < 0.02*l.line.period
}

// cruise returns the tempo to go on with should the clock fall silent: the mean of
// the last bar where its ticks lie on a straight line and that is known better than
// the tempo of the newest ticks. 0 stands for the latter: one late tick moves it.
func (l *lock) cruise() float64 {
	newest := &l.banks[closeBank].hyps[l.banks[closeBank].best]
	if l.shown == stepBank || l.count < trendTicks || l.trend.power <= 0 ||
		l.back(0).n-l.back(trendTicks-1).n != trendTicks-1 || newest.vPeriod < l.cruiseVariance() {
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

// cruiseVariance returns the variance of a tempo that is the mean of the last bar, ns².
func (l *lock) cruiseVariance() float64 {
	return 12 * l.trend.power / (trendTicks * trendTicks * trendTicks)
}

// first draws a straight line through the first beat, if one fits: there is no
// noise to weigh readings by yet.
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

// expect lets readings in all banks take the next tick for the first of another
// tempo, which the score plans: periods by ratio, after a share of the old one. If
// it is sure, that reading is believed until ticks speak against it.
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

// tally counts ticks that were put in or taken out, once the count has stood for a
// beat: while a stall lasts readings come and go.
func (l *lock) tally(by int64) {
	if l.count == 1 {
		by = 0
	}
	l.astray += by
	if by != 0 {
		l.stood = 0
	}
	if l.stood++; l.stood == lockTicks && l.astray != 0 {
		if l.astray > 0 {
			l.putIn += uint32(l.astray)
		} else {
			l.takenOut += uint32(-l.astray)
		}
		l.astray = 0
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
