package clock

// Beat is a musical position or length in 1/6,720,000 of a quarter note.
//
// 6,720,000 = 2⁹·3·5⁴·7: MIDI ticks (24 a quarter), triplets, quintuplets and
// septuplets are whole numbers of it, and ±700 hours fit at 240 BPM.
type Beat int64

// Musical lengths.
const (
	Quarter   Beat = 6_720_000
	Sixteenth      = Quarter / 4  // what one unit of song position counts
	Tick           = Quarter / 24 // one MIDI clock
)

// Quarters returns b in quarter notes.
func (b Beat) Quarters() float64 { return float64(b) / float64(Quarter) }

// FloorTo returns the last multiple of step at or before b.
func (b Beat) FloorTo(step Beat) Beat {
	r := b % step
	if r < 0 {
		r += step
	}
	return b - r
}

// RoundTo returns the multiple of step nearest to b; halves round up.
func (b Beat) RoundTo(step Beat) Beat { return (b + step/2).FloorTo(step) }

// CeilTo returns the first multiple of step at or after b.
func (b Beat) CeilTo(step Beat) Beat { return -(-b).FloorTo(step) }
