package clock

// A lock turns the arrivals of MIDI ticks into a line: tick number against
// time. It keeps the count right when ticks go missing, come twice or come in
// a burst after a stall; fit.go draws the line.
//
// A tick is never early: it is late by what the sender, the driver and the
// scheduler add, mostly little and now and then much. So the truth lies along
// the lower edge of the arrivals, not through their middle.
type lock struct {
	points [window]point // a ring; the newest is at head-1
	head   int
	count  int
	n      int64 // number of the last tick, held ones included
	last   Time  // arrival of the last tick that counted
	line   line
	noise  float64 // mean lateness of a tick, ns
	locked bool

	held    [holdTicks]Time // ticks far off the line, until it is clear why
	holds   int
	parted  bool // the held were parted at a gap
	dropped bool // the last tick was taken for a double
	double  Time // and arrived then
	burst   bool // the ticks before came out of a stall
	gapped  bool // ticks were missing: lost, or still to come in a burst
	renewed bool // the last tick began a line whose count is a guess

	hull [window]uint16  // scratch for fit: points by their place before the
	x, y [window]float64 // newest; and ticks and ns from the newest
}

// point is tick number n, arrived at at.
type point struct {
	n  int64
	at Time
}

// line is a fitted clock: tick n fell at at, and one falls every period.
type line struct {
	n      int64
	at     Time
	period float64 // ns
	points int     // how many ticks it rests on
	err    float64 // what its time may be off by, ns
}

const (
	window     = 384 // ticks: sixteen quarters
	holdTicks  = 6   // a quarter of a beat to find out why ticks are off
	lockTicks  = 24  // a beat on one line is a lock
	fewTicks   = 6   // below this the tempo before counts too
	firstNoise = 1e6 // ns of mean lateness, until known

	sureTicks   = 0.4  // a line this good can tell
	slipTicks   = 0.25 // how far from whole ticks jitter moves a slip
	lateTicks   = 0.6  // later than this is a lost tick, a stall or a new tempo
	earlyTicks  = -0.5 // earlier than this is an extra tick or a new tempo
	quietEarly  = -0.3 // the same where jitter is small
	quietTicks  = 0.15 // and it is up to this
	neverTicks  = -0.2 // no tick in a burst is this early
	backTicks   = -0.3 // what follows an extra tick is back on the line
	doubleTicks = 0.3  // a gap this short is an extra tick or a burst
	partTicks   = 2    // a gap this long is none that jitter makes
	mostOdd     = 1    // of six held ticks, neither on the line nor whole ticks off
	mostLost    = 2    // of as many held ticks, lost again
	sameTempo   = 0.12 // how far six intervals' mean may be off by jitter alone

	minPeriod = 60e15 / 24 / float64(MaxTempo)
	maxPeriod = 60e15 / 24 / float64(MinTempo)
)

// periodOf returns the length of a tick, ns.
func periodOf(t Tempo) float64 { return 60e15 / 24 / float64(t) }

// tempo returns the line's tempo.
func (l *line) tempo() Tempo { return Tempo(60e15/24/l.period + 0.5) }

// rate returns the line's rate in Beats a nanosecond.
func (l *line) rate() float64 { return float64(Tick) / l.period }

// beats returns the line's position at t, counted from tick 0.
func (l *line) beats(t Time) float64 {
	return float64(float64(l.n)*float64(Tick)) + float64(float64(t-l.at)*l.rate())
}

// off returns what the line may be off by at t, ns: more the longer ago its last
// tick was. lateShare of the mean lateness stands for delays that no tick
// escapes, such as a driver's that looks once a millisecond.
func (l *line) off(t Time, noise float64) float64 {
	off := l.err + float64(lateShare*noise)
	if ago := float64(t - l.at); ago > 0 && l.points > 0 {
		off += float64(slopeErr*l.err/float64(l.points)) * ago / l.period
	}
	return off
}

// late returns by how many ticks t lies after tick n.
func (l *line) late(n int64, t Time) float64 {
	return float64(t-l.at)/l.period - float64(n-l.n)
}

// restart forgets the ticks before. The next has number n; until there are a
// few, the tempo of period helps.
func (l *lock) restart(n int64, period float64) {
	l.count, l.holds, l.dropped, l.locked = 0, 0, false, false
	l.parted, l.burst, l.gapped = false, false, false
	l.n = n - 1
	l.noise = max(l.noise, firstNoise)
	l.line = line{n: n, period: period, err: firstNoise}
}

// fits tells whether a tick at t would lie on the line like those before it.
func (l *lock) fits(t Time) bool {
	if !l.sure() {
		return false
	}
	late := l.line.late(l.n+1, t) * l.line.period
	return late > -confidence*l.line.err && late < 4*l.noise
}

// tick takes one tick. It returns false for one that does not count.
func (l *lock) tick(at Time) bool {
	l.renewed = false
	if !l.sure() {
		l.take(at)
		return true
	}
	late := l.line.late(l.n+1, at)
	if l.dropped && late < backTicks {
		// Too early again: it is a faster tempo and the tick was a real one.
		l.hold(l.double)
		late = l.line.late(l.n+1, at)
	}
	switch {
	case late < min(neverTicks, -confidence*l.line.err/l.line.period) && l.gap(at) < doubleTicks && l.holds == 0:
		l.dropped, l.double = true, at
		return false
	case late > lateTicks || late < l.early():
		l.hold(at)
		return true
	case (l.burst || l.holds > 0) && l.gap(at) < doubleTicks:
		// The last of a burst: counted, but as late as the stall made it.
		l.n++
		l.last, l.holds, l.parted, l.burst = at, 0, false, true
		return true
	}
	l.take(at)
	return true
}

// sure tells whether the line is good enough to judge ticks by.
func (l *lock) sure() bool {
	return l.count >= 2*fewTicks && confidence*l.line.err < sureTicks*l.line.period
}

// quiet tells whether ticks can be told apart one by one: jitter is small.
func (l *lock) quiet() bool { return l.noise < quietTicks*l.line.period }

// early returns how early, in ticks and below 0, a tick is too early.
func (l *lock) early() float64 {
	if !l.quiet() {
		return earlyTicks
	}
	return min(quietEarly, -confidence*l.line.err/l.line.period)
}

// gap returns the time since the last tick, in ticks.
func (l *lock) gap(at Time) float64 { return float64(at-l.last) / l.line.period }

// take counts a tick that may be late as all are. Ticks held before it came out
// of a stall: they have been counted, but say nothing about the time.
func (l *lock) take(at Time) {
	l.holds, l.parted, l.dropped, l.burst, l.gapped = 0, false, false, false, false
	l.n++
	l.last = at
	l.push(point{l.n, at})
	l.fit()
}

// hold keeps a tick that is far off the line until there are enough to tell.
func (l *lock) hold(at Time) {
	l.held[l.holds] = at
	l.holds++
	l.n++
	l.last, l.dropped = at, false
	if l.holds == holdTicks && !l.part() {
		l.judge()
	}
}

// part forgets the held ticks before a gap that outlasts all others together:
// they were late as ticks are, and only what came after it, likely a burst,
// wants judging. It does so once in a run, so that the run ends.
func (l *lock) part() bool {
	var longest Time
	start := 0
	for i := 1; i < holdTicks; i++ {
		if gap := l.held[i] - l.held[i-1]; gap > longest {
			longest, start = gap, i
		}
	}
	rest := l.held[holdTicks-1] - l.held[0] - longest
	if l.parted || longest <= rest || float64(longest) < partTicks*l.line.period {
		return false
	}
	l.parted = true
	l.holds = copy(l.held[:], l.held[start:])
	return true
}

// judge decides what a run of ticks off the line means.
func (l *lock) judge() {
	first := l.n - holdTicks + 1
	span := float64(l.held[holdTicks-1] - l.held[0])
	ratio := span / (holdTicks - 1) / l.line.period
	l.holds, l.parted = 0, false
	if l.bursty() && ratio < 1-sameTempo && l.line.late(l.n, l.held[holdTicks-1]) > 0 {
		l.burst = true
		return // out of a stall: counted, worth no more
	}
	shift, keep := int64(0), 0
	if ratio > 1-sameTempo && ratio < 1+sameTempo {
		shift, keep = l.slip(first), holdTicks
	}
	if shift == 0 && l.quiet() && l.recount(first) {
		return
	}
	if l.gapped && shift == 0 {
		l.renewed, keep = true, 0
	}
	if shift < 0 {
		l.count = 0 // the extra one is among them
	} else if shift == 0 {
		l.count = min(l.count, keep) // a new tempo
	}
	l.burst, l.gapped = false, false
	for i, at := range l.held {
		l.push(point{first + shift + int64(i), at})
	}
	l.n = first + shift + holdTicks - 1
	l.fit()
}

// bursty tells whether most of the held ticks came at once.
func (l *lock) bursty() bool {
	short := 0
	for i := 1; i < holdTicks; i++ {
		if float64(l.held[i]-l.held[i-1]) < doubleTicks*l.line.period {
			short++
		}
	}
	return short >= holdTicks/2
}

// slip returns by how many ticks the count has gone wrong, if it has, by the
// first of the held ticks. Ticks that were lost, or an extra one taken for
// real, shift all that follow by whole ticks at once; a new tempo drifts off.
func (l *lock) slip(first int64) int64 {
	var step float64
	for i, at := range l.held {
		p := l.back(i)
		step += l.line.late(first+int64(i), at) - l.line.late(p.n, p.at)
	}
	step /= holdTicks
	whole := roundToInt(step)
	if miss := step - float64(whole); max(miss, -miss) > slipTicks {
		return 0
	}
	return whole
}

// recount gives the held ticks numbers one by one, if all of them but one lie by
// whole ticks off the line: some were lost among them too, or came twice. It
// returns false where a new tempo explains them better.
func (l *lock) recount(first int64) bool {
	usual := l.noise / l.line.period
	var n [holdTicks]int64
	odd := 0
	last := l.n - holdTicks
	for i, at := range l.held {
		late := l.line.late(first+int64(i), at) - usual
		whole := roundToInt(late)
		n[i] = first + int64(i) + whole
		if miss := late - float64(whole); max(miss, -miss) > slipTicks {
			odd++
			n[i] = last
		} else if n[i] < last {
			return false
		}
		last = n[i]
	}
	if odd > mostOdd {
		return false
	}
	if missing := n[holdTicks-1] - n[1] - (holdTicks - 2); missing > mostLost {
		return false // every other tick is no tick lost but a slower clock
	}
	last = l.n - holdTicks
	for i, at := range l.held {
		if n[i] > last {
			l.push(point{n[i], at})
		}
		last = n[i]
	}
	l.n = n[holdTicks-1]
	l.burst, l.gapped = false, false
	l.fit()
	return true
}

// push adds a point to the ring.
func (l *lock) push(p point) {
	l.points[l.head] = p
	l.head = (l.head + 1) % window
	l.count = min(l.count+1, window)
}

// back returns the point i places before the newest.
func (l *lock) back(i int) *point { return &l.points[(l.head-1-i+window)%window] }
