package flash

import "tactus/clock"

// Code writes or reads all fields of Turns and the Times that belong to them, for a
// checkpoint. Of the times of changes it has those that count.
func (m *Turns) Code(c *clock.Coder, times *Times) {
	c.SparseList(m.last[:])
	c.Bools(&m.seen)
	l := &m.luminance
	c.Bools(&l.started, &l.uncertain)
	codeWay(c, &l.way)
	c.Floats(&l.low, &l.high, &l.from)
	r := &m.red
	c.Bools(&r.started, &r.uncertain)
	codeWay(c, &r.way)
	c.Floats(&r.turn.u, &r.turn.v, &r.turn.ratio)
	c.Floats(&r.from.u, &r.from.v, &r.from.ratio)
	for k := range times.counts {
		times.counts[k].code(c)
	}
	c.Floats(&m.margin)
}

func codeWay(c *clock.Coder, w *Way) {
	clock.CodeIndex(c, w, int(Fall), int(Rise), "the way of a change of light")
}

func (t *changeTimes) code(c *clock.Coder) {
	clock.CodeIndex(c, &t.n, 0, maxChanges, "the number of changes of light")
	clock.CodeIndex(c, &t.head, 0, maxChanges-1, "the place of a change of light")
	if c.Err() != nil {
		return
	}
	for i := range t.n {
		clock.CodeInts(c, &t.times[(t.head+maxChanges-1-i)%maxChanges])
	}
}
