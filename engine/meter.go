package engine

import (
	"errors"
	"fmt"

	"tactus/clock"
)

// Meter is a time signature.
type Meter struct {
	Upper, Lower uint8 // 4/4, 6/8
}

// ErrMeter is wrapped by errors of a time signature.
var ErrMeter = errors.New("meter")

// NewMeter checks a time signature: 1 to 32 over 1, 2, 4, 8 or 16.
func NewMeter(upper, lower int) (Meter, error) {
	if lower < 1 || lower > 16 || lower&(lower-1) != 0 {
		return Meter{}, fmt.Errorf("%w: %d/%d: the lower number is 1, 2, 4, 8 or 16", ErrMeter, upper, lower)
	}
	if upper < 1 || upper > 32 {
		return Meter{}, fmt.Errorf("%w: %d/%d: the upper number is 1 to 32", ErrMeter, upper, lower)
	}
	return Meter{uint8(upper), uint8(lower)}, nil
}

// Bar returns the length of a bar.
func (m Meter) Bar() clock.Beat { return clock.Beat(m.Upper) * m.unit() }

// Beat returns the length of a beat: the lower number's note, or three of them in
// compound meters such as 6/8 (common practice, no source).
func (m Meter) Beat() clock.Beat {
	if m.Lower >= 8 && m.Upper > 3 && m.Upper%3 == 0 {
		return 3 * m.unit()
	}
	return m.unit()
}

// Beats returns how many beats a bar has.
func (m Meter) Beats() int { return int(m.Bar() / m.Beat()) }

// Quarters converts beats a minute to quarter notes a minute.
func (m Meter) Quarters(beats clock.Tempo) clock.Tempo {
	return clock.Tempo(int64(beats) * int64(m.Beat()) / int64(clock.Quarter))
}

// PerBeat converts quarter notes a minute to beats a minute.
func (m Meter) PerBeat(quarters clock.Tempo) clock.Tempo {
	return clock.Tempo(int64(quarters) * int64(clock.Quarter) / int64(m.Beat()))
}

// String prints the signature, like "6/8".
func (m Meter) String() string { return fmt.Sprintf("%d/%d", m.Upper, m.Lower) }

func (m Meter) unit() clock.Beat { return 4 * clock.Quarter / clock.Beat(m.Lower) }

// Length is a length in beats or bars of a meter, such as "1/2 beat".
type Length struct {
	Num, Den int32 // Den 0 counts as 1
	Bars     bool  // else beats
}

// In returns the length in a meter.
func (l Length) In(m Meter) clock.Beat {
	return m.unitLength(l.Bars) * clock.Beat(l.Num) / clock.Beat(max(1, l.Den))
}

// Span is how long a fade takes: Time if that is not 0, else Length.
type Span struct {
	Length Length
	Time   clock.Time
}
