package clock

// AppendCheckpoint appends the whole state of the transport to b: after RestoreTransport
// the same events give the same positions, to the bit. It has about 80 kB. It allocates
// nothing if b has room.
func (t *Transport) AppendCheckpoint(b []byte) []byte {
	c := CoderTo(b)
	t.code(&c)
	return c.Bytes()
}

// RestoreTransport makes a transport from what AppendCheckpoint wrote, and returns the
// bytes after it. Its times are on the time line of the transport that was written: give
// it events and ask it for positions on that one (see ResumeBase and Base.Shifted). Ticks
// that were lost meanwhile are counted by time, as after any silence of the clock. Errors
// wrap ErrCheckpoint.
func RestoreTransport(b []byte) (t *Transport, rest []byte, err error) {
	t = NewTransport(Config{})
	c := CoderFrom(b)
	t.code(&c)
	if err := c.Err(); err != nil {
		return nil, nil, err
	}
	return t, c.Bytes(), nil
}

// code codes all fields.
func (t *Transport) code(c *Coder) {
	CodeIndex(c, &t.lead, 0, int(LeadInternal), "the lead of the clock")
	codeTempo(c, &t.internal, MinTempo, "the internal tempo")
	CodeIndex(c, &t.ahead, 0, int(maxAhead), "the clock's ahead")
	codeTime(c, &t.now)
	CodeIndex(c, &t.source, 0, int(MIDI), "the source of the clock")
	codeTempo(c, &t.tempo, 1, "the tempo")
	t.glide.code(c)
	t.lock.code(c)
	c.Floats(&t.base)
	c.Bools(&t.ticked, &t.lost)
	t.taps.code(c)
	t.plan.code(c)
	c.Bools(&t.playing, &t.startPending, &t.early, &t.located, &t.jump)
	codeTime(c, &t.startAskedAt)
	CodeInts(c, &t.pos, &t.next)
	CodeInts(c, &t.jumps)
}

// codeTime codes a time within the range that the transport works in.
func codeTime(c *Coder, t *Time) { CodeIndex(c, t, int(-2*maxTime), int(2*maxTime), "a time") }

// codeTempo codes a tempo from least to a little more than MaxTempo: a line's tempo is
// rounded.
func codeTempo(c *Coder, t *Tempo, least Tempo, what string) {
	CodeIndex(c, t, int(least), int(2*MaxTempo), what)
}

// code codes the legs that are valid.
func (g *glide) code(c *Coder) {
	CodeIndex(c, &g.last, 0, maxLegs-1, "the newest leg of the position")
	CodeIndex(c, &g.n, 1, maxLegs, "the number of legs of the position")
	if c.Err() != nil {
		return
	}
	for i := range g.n {
		l := g.legBack(i)
		CodeInts(c, &l.start, &l.knee)
		c.Floats(&l.from, &l.slew, &l.rate)
	}
}

func (s *tapper) code(c *Coder) {
	CodeIndex(c, &s.n, 0, tapWindow, "the number of taps")
	for i := range s.taps {
		CodeInts(c, &s.taps[i].beat)
		codeTime(c, &s.taps[i].at)
	}
	c.Floats(&s.odd)
}

func (p *plan) code(c *Coder) {
	codeTempo(c, &p.tempo, 0, "the planned tempo")
	codeTempo(c, &p.next, 0, "the planned next tempo")
	CodeInts(c, &p.at)
}
