package engine

import "tactus/clock"

// codeFaders codes what comes in: a checkpoint is of a show with as many inputs and faders.
func (m *memory) codeFaders(c *clock.Coder) {
	inputs, faders := len(m.levelInputs), len(m.faders)
	clock.CodeInts(c, &inputs, &faders)
	if c.Err() == nil && (inputs != len(m.levelInputs) || faders != len(m.faders)) {
		c.Failf("it is of another show: it has %d inputs with %d faders, the show has %d with %d", inputs, faders, len(m.levelInputs), len(m.faders))
	}
	for i := range m.levelInputs {
		in := &m.levelInputs[i]
		c.Bools(&in.heard, &in.present)
		in.amount.code(c)
		c.ByteList(in.levels[:])
	}
	for i := range m.faders {
		f := &m.faders[i]
		f.taken.code(c)
		clock.CodeInts(c, &f.parked)
		c.Bools(&f.known)
	}
}
