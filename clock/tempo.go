package clock

import "fmt"

// Tempo is in millionths of a quarter note a minute: 120 BPM is 120,000,000.
type Tempo int64

// The tempos that a clock source may have; outside them it is noise.
const (
	MinTempo Tempo = 10_000_000
	MaxTempo Tempo = 500_000_000
)

// BPM returns the Tempo of a number of quarter notes a minute.
func BPM(quarters float64) Tempo { return Tempo(float64(quarters*1e6) + 0.5) }

// BPM returns t in quarter notes a minute.
func (t Tempo) BPM() float64 { return float64(t) / 1e6 }

// Beats returns how far the music moves in span at tempo t.
func (t Tempo) Beats(span Time) Beat {
	// Quarter/60e9 a nanosecond and a BPM = 1.12e-4; float64 keeps 53 bits,
	// which is a Beat in more than a day.
	return Beat(float64(span) * float64(t) * (float64(Quarter) / 60e15))
}

// Span returns how long b lasts at tempo t; t must be positive.
func (t Tempo) Span(b Beat) Time {
	return Time(float64(b) / float64(t) * (60e15 / float64(Quarter)))
}

// String prints quarter notes a minute, like "120.0 BPM".
func (t Tempo) String() string { return fmt.Sprintf("%.1f BPM", t.BPM()) }
