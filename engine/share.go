package engine

import "tactus/clock"

// Share is a source of input beside the clock's own, such as OSC or the page. Its input
// is taken after Input, in its own order, and only so much of it a frame: a flood of it
// delays neither the clock nor the frame.
type Share struct {
	From     <-chan Input
	PerFrame int // most that a frame takes, from 1
}

// drainShares takes what the frame at now may take from each share. Before an edited show
// is taken over it takes all, since commands name parts of the present one by index.
func (l *Loop) drainShares(now clock.Time) {
	for _, s := range l.config.Shares {
		n := len(s.From)
		if l.edited == nil {
			n = min(n, s.PerFrame)
		}
		for range n {
			in := <-s.From
			in.moveBy(l.following.shift)
			l.takeInput(&in, now)
		}
	}
}

// takeInput gives an event to the clock and a command to the engine.
func (l *Loop) takeInput(in *Input, now clock.Time) {
	if in.Event.Kind != 0 {
		l.handleEvent(in.Event, now)
	}
	if l.leaving && in.Command.Kind == GrandMaster {
		return // the goodbye moves it
	}
	if in.Command.Kind != 0 {
		l.checkpointing.changed, l.last.untouched = true, false
		if in.Command.Kind == AlignBars {
			in.Command.Index = l.evidence.shownTicks() // recorded with it
			l.evidence.clear()
		}
		l.engine.Do(in.Command, l.clock.At(now+l.lead))
		l.weighNote(&l.evidence, &in.Command, in.At, l.health.Arrivals.Spread)
		l.config.Journal.Append(&Record{Kind: RecordCommand, At: now, Command: in.Command, NoteAt: in.At})
	}
}
