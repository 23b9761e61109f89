package smf

import (
	"math/bits"

	"tactus/clock"
	"tactus/engine"

	"gitlab.com/gomidi/midi/v2/smf"
)

// Division is the number of ticks in a quarter note.
const Division = 960

// perTick is the length of a tick: exactly 7000.
const perTick = clock.Quarter / Division

// ticks returns b in ticks, rounded to the nearest.
func ticks(b clock.Beat) clock.Beat { return b.RoundTo(perTick) / perTick }

// maxMicros is the largest number that the three octets of FF 51 hold.
const maxMicros = 1<<24 - 1

// microsPerQuarter returns a tempo in microseconds a quarter note, rounded to the
// nearest, as FF 51 writes it. Zero or less gives the default, 500,000 (120 BPM, SMF 2.2).
func microsPerQuarter(t clock.Tempo) int64 {
	if t <= 0 {
		return 500_000
	}
	return (60e12 + int64(t)/2) / int64(t)
}

// tempoEvent returns FF 51 03 tttttt: microseconds a quarter note (SMF 3.1).
func tempoEvent(micros int64) smf.Message {
	return smf.Message{0xFF, 0x51, 3, byte(micros >> 16), byte(micros >> 8), byte(micros)}
}

// meterEvent returns FF 58 04 nn dd cc bb (SMF 3.1): the meter nn over 2^dd, cc MIDI
// clocks for each metronome click, bb 32nd notes for every 24 MIDI clocks. The
// metronome clicks on each beat: in 6/8 a dotted quarter, 36 clocks.
func meterEvent(m engine.Meter) smf.Message {
	dd := bits.TrailingZeros8(m.Lower)
	return smf.Message{0xFF, 0x58, 4, m.Upper, byte(dd), byte(m.Beat() / clock.Tick), 8}
}
