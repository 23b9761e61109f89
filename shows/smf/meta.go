package smf

import (
	"math/bits"

	"tactus/clock"
	"tactus/engine"

	"gitlab.com/gomidi/midi/v2/smf"
)

// Division is the ticks of a quarter note.
const Division = 960

// perTick is the length of a tick: 7000, without a rest.
const perTick = clock.Quarter / Division

// ticks returns the whole ticks nearest to b.
func ticks(b clock.Beat) clock.Beat { return b.RoundTo(perTick) / perTick }

// maxMicros is the most that the three octets of FF 51 hold.
const maxMicros = 1<<24 - 1

// microsPerQuarter returns a tempo as FF 51 writes it, rounded to the nearest
// microsecond, and 500,000 (120 BPM, SMF 2.2) for no tempo.
func microsPerQuarter(t clock.Tempo) int64 {
	if t <= 0 {
		return 500_000
	}
	return (60e12 + int64(t)/2) / int64(t)
}

// tempoEvent is FF 51 03 tttttt, microseconds a quarter note (SMF 3.1).
func tempoEvent(micros int64) smf.Message {
	return smf.Message{0xFF, 0x51, 3, byte(micros >> 16), byte(micros >> 8), byte(micros)}
}

// meterEvent is FF 58 04 nn dd cc bb (SMF 3.1): nn over 2^dd, cc MIDI clocks a
// metronome click, bb 32nds in 24 MIDI clocks. The click is the beat: a dotted
// quarter, 36 clocks, in 6/8.
func meterEvent(m engine.Meter) smf.Message {
	dd := bits.TrailingZeros8(m.Lower)
	return smf.Message{0xFF, 0x58, 4, m.Upper, byte(dd), byte(m.Beat() / clock.Tick), 8}
}
