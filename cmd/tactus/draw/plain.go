package draw

import (
	"fmt"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
)

// plainEvery is the longest time without a line from Plain.
const plainEvery = 10 * clock.Second

// plainState is what Plain compares to decide whether to print a line.
type plainState struct {
	any                  bool
	at                   clock.Time
	song, section, armed int32
	bar                  int64
	look                 string
	alarm                uint8
	sync                 clock.Sync
	feed                 clock.Feed
	cost                 inwords.Level
	apart                int32 // offset of the DAW's bars, in ticks
	playing              bool
}

// Plain appends a line of text, with its newline, when the song, section, bar, armed
// section, an alarm or the state of the clock has changed, and every ten seconds.
// Otherwise it appends nothing.
func (d *Drawing) Plain(dst []byte, s *engine.Snapshot) []byte {
	now := plainState{
		any: true, at: s.Pos.At, song: s.Status.Song, section: s.Status.Section, armed: s.Status.Armed,
		look: s.Status.Look, alarm: activeAlarms(s), sync: s.Pos.Sync, playing: s.Pos.Playing,
		feed: s.Health.Arrivals.Feed, cost: inwords.LevelOf(&s.Health.Arrivals, &s.Pos), apart: s.Health.BarOffset.Ticks,
	}
	if song := songOf(d.prog, s); song != nil {
		now.bar, _, _ = barBeat(song, s.Status.Beat)
		now.look = "" // cues change the look within a bar; the section and bar are enough
	}
	last := d.printed
	last.at = now.at
	if last == now && now.at-d.printed.at < plainEvery {
		return dst
	}
	told := last.any && last.feed == now.feed && last.cost == now.cost && last.apart == now.apart
	d.printed = now
	start := len(dst)
	dst = appendTime(dst, s.Pos.At)
	dst = append(dst, "  "...)
	dst = d.appendLine(dst, s)
	if !told {
		dst = appendClock(append(dst, dot...), s)
	}
	maskControls(dst[start:])
	return append(dst, '\n')
}

// maskControls replaces control characters (C0, and C1 in UTF-8) by question marks:
// names come from files, and a terminal would execute them.
func maskControls(line []byte) {
	for i, c := range line {
		if c < ' ' || c == 0x7f {
			line[i] = '?'
		}
		if c >= 0x80 && c < 0xA0 && i > 0 && line[i-1] == 0xC2 {
			line[i-1], line[i] = '?', '?'
		}
	}
}

func activeAlarms(s *engine.Snapshot) (set uint8) {
	for i, on := range [...]bool{s.Status.Blackout, s.Status.Held, s.Health.LastErr != nil} {
		if on {
			set |= 1 << i
		}
	}
	return set
}

// appendLine appends the content of a whole screen in one line.
func (d *Drawing) appendLine(b []byte, s *engine.Snapshot) []byte {
	n := len(b)
	b = appendAlarm(b, s)
	if len(b) > n {
		b = append(b, dot...)
	}
	b = appendTitle(b, d.prog, s, 1<<20)
	b = appendState(append(b, dot...), d.prog, s)
	for i := range d.groups {
		b = append(b, dot...)
		b = d.groups[i].appendTo(b, s.Heads)
	}
	return b
}

// appendTime prints minutes and seconds since the start, "03:07".
func appendTime(b []byte, t clock.Time) []byte {
	seconds := t / clock.Second
	return fmt.Appendf(b, "%02d:%02d", seconds/60, seconds%60)
}
