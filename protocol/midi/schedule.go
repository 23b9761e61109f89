package midi

import (
	"context"
	"io"
	"time"

	"tactus/clock"
)

// Entry is one message and its time after the start of playing.
type Entry struct {
	At    time.Duration
	Len   uint8
	Bytes [3]byte
}

// Schedule lists the messages that a sequencer sends for a file, in order of time:
// clock, Start, channel messages, Stop.
//
//	0 … clock for the pre-roll, if any
//	first-1ms  FA        Start
//	first      channel messages of tick 0, then F8: the downbeat
//	…          channel messages before the clock of the same moment
//	end        FC        Stop
type Schedule struct {
	Entries []Entry
	// StartIndex is the index of FA. A loop plays again from there.
	StartIndex int
	// FirstTick is the time of tick 0 of the file.
	FirstTick time.Duration
}

// startLead is the time from Start to the first clock, for the receiver to prepare
// (MIDI 1.0 asks for at least 1 ms: from memory).
const startLead = time.Millisecond

// Schedule lists the messages to send. preroll is 0..64 quarter notes of clock
// before Start, at the tempo at tick 0, so that a receiver can lock before bar 1.
func (f *File) Schedule(preroll int) Schedule {
	var s Schedule
	us := f.tempoAtZero()
	preroll = min(max(preroll, 0), 64)
	s.FirstTick = max(startLead, time.Duration(int64(preroll)*us*1000))
	for k := range int64(preroll) * 24 {
		at := time.Duration(k * us * 1000 / 24)
		if at >= s.FirstTick-startLead && s.StartIndex == 0 {
			s.StartIndex = s.add(s.FirstTick-startLead, start)
		}
		s.add(at, timingClock)
	}
	if s.StartIndex == 0 {
		s.StartIndex = s.add(s.FirstTick-startLead, start)
	}
	f.addEvents(&s)
	s.add(s.FirstTick+f.TimeAt(f.Ticks), stop)
	return s
}

// tempoAtZero returns the last of the tempos at tick 0.
func (f *File) tempoAtZero() int64 {
	us := defaultTempo
	for _, t := range f.Tempos {
		if t.Tick > 0 {
			break
		}
		us = t.MicrosPerQuarter
	}
	return us
}

// addEvents merges channel messages and clocks. It adds no clock at the very end,
// where Stop is sent.
func (f *File) addEvents(s *Schedule) {
	next := 0
	for k := int64(0); k*int64(f.Division) < f.Ticks*24; k++ {
		pos := k * int64(f.Division)
		next = f.addUntil(s, next, pos)
		s.add(s.FirstTick+f.timeAt24(pos), timingClock)
	}
	f.addUntil(s, next, f.Ticks*24)
}

// addUntil adds the channel messages from index next up to and including position
// pos, in 24ths of a tick.
func (f *File) addUntil(s *Schedule, next int, pos int64) int {
	for ; next < len(f.events) && f.events[next].tick*24 <= pos; next++ {
		e := f.events[next]
		s.Entries = append(s.Entries, Entry{s.FirstTick + f.TimeAt(e.tick), e.len, e.bytes})
	}
	return next
}

func (s *Schedule) add(at time.Duration, b byte) int {
	s.Entries = append(s.Entries, Entry{At: at, Len: 1, Bytes: [3]byte{b}})
	return len(s.Entries) - 1
}

// Play writes the schedule to w in real time, as a sequencer would to a cable, with
// one write for all messages of the same time. It returns at the end, at an error of
// w, or when ctx ends.
func (s Schedule) Play(ctx context.Context, base clock.Base, w io.Writer) error {
	var buf []byte
	return s.play(ctx, base, 0, base.Now(), func(moment []Entry) error {
		buf = buf[:0]
		for _, e := range moment {
			buf = append(buf, e.Bytes[:e.Len]...)
		}
		_, err := w.Write(buf)
		return err
	})
}

// play calls send once for all entries of the same time, from entry i on. Offset 0
// is at began.
func (s Schedule) play(ctx context.Context, base clock.Base, i int, began clock.Time, send func([]Entry) error) error {
	timer := time.NewTimer(0)
	defer timer.Stop()
	<-timer.C
	for i < len(s.Entries) {
		at := s.Entries[i].At
		n := i + 1
		for n < len(s.Entries) && s.Entries[n].At == at {
			n++
		}
		if d := base.Until(began.Add(at)); d > 0 {
			timer.Reset(d)
			select {
			case <-timer.C:
			case <-ctx.Done():
				return ctx.Err()
			}
		} else if ctx.Err() != nil {
			return ctx.Err()
		}
		if err := send(s.Entries[i:n]); err != nil {
			return err
		}
		i = n
	}
	return nil
}
