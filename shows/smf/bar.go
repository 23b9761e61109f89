package smf

import (
	"math"
	"slices"

	"tactus/clock"
	"tactus/protocol/midi"
)

// Sizes of what is known of a bar.
const (
	barSlots  = 32 // sixteenths from the bar line; later ones count with the last
	drumKinds = 4
	drumSlots = drumKinds * barSlots / 2
	maxParts  = 64 // tracks and channels; later ones count with the last
	drumChan  = 10 // the channel of drums (General MIDI 1, from memory)
	lowKey    = 52 // keys below are bass: E3, where a guitar begins (common practice, no source)
	maxHeld   = 8  // bars over which one note counts
)

// bar is what the notes of a bar tell of it.
type bar struct {
	start, length clock.Beat
	bass, pitch   [12]float64        // pitch classes, by time held, in quarters
	onset         [barSlots]float64  // notes that begin there, without drums
	drums         [drumSlots]float64 // the same of drums: low, middle, high and cymbals, in eighths
	parts         [maxParts]float64  // notes by track and channel
	notes         float64            // that begin in it
	loud          float64            // sum of their velocities
	first         clock.Beat         // where the first begins, from the bar line; length: none
}

// barsOf sorts the notes into the bars of a song.
func (r *reader) barsOf(end clock.Beat) (bars []bar) {
	for at := clock.Beat(0); at < end; {
		_, start, m := r.bar(at)
		length := min(start+m.Bar(), end) - at
		bars = append(bars, bar{start: at, length: length, first: length})
		at += length
	}
	parts := map[[2]int]int{}
	next := 0
	for _, n := range r.notes {
		at, to := r.beat(n.Tick), r.beat(n.End)
		early := at + clock.Sixteenth/2 // a note that is played a little early belongs to its bar
		for next+1 < len(bars) && bars[next+1].start <= early {
			next++
		}
		key := [2]int{n.Track, int(n.Channel)}
		if _, ok := parts[key]; !ok {
			parts[key] = min(len(parts), maxParts-1)
		}
		bars[next].addNote(&n, max(0, at-bars[next].start), parts[key])
		if n.Channel != drumChan {
			addHeld(bars[next:min(next+maxHeld, len(bars))], &n, at, to)
		}
	}
	return bars
}

// addNote counts a note that begins in the bar.
func (b *bar) addNote(n *midi.Note, at clock.Beat, part int) {
	b.parts[part]++
	b.notes++
	b.loud += float64(n.Velocity)
	b.first = min(b.first, at)
	slot := min(int((at+clock.Sixteenth/2)/clock.Sixteenth), barSlots-1)
	if n.Channel == drumChan {
		b.drums[drumKind(n.Key)*barSlots/2+slot/2]++
	} else {
		b.onset[slot]++
	}
}

// drumKind sorts the keys of the drum channel: kicks, snares and claps, hats and shakers,
// cymbals and toms (General MIDI 1 percussion map, from memory).
func drumKind(key uint8) int {
	switch key {
	case 35, 36:
		return 0
	case 37, 38, 39, 40:
		return 1
	case 42, 44, 46, 69, 70, 82:
		return 2
	}
	return 3
}

// addHeld adds the time for which a note sounds to the pitch classes of bars.
func addHeld(bars []bar, n *midi.Note, at, to clock.Beat) {
	for i := range bars {
		b := &bars[i]
		held := min(to, b.start+b.length) - max(at, b.start)
		if held <= 0 && i > 0 {
			return
		}
		quarters := max(0.25, max(held, 0).Quarters()) * float64(n.Velocity) / 127
		if n.Key < lowKey {
			b.bass[n.Key%12] += quarters
		} else {
			b.pitch[n.Key%12] += quarters
		}
	}
}

// density is the number of notes a quarter.
func (b *bar) density() float64 { return b.notes / max(0.25, b.length.Quarters()) }

// velocity is the mean velocity, 0..127; 0 without notes.
func (b *bar) velocity() float64 { return b.loud / max(1, b.notes) }

// weights says how much each side of two bars counts in their likeness; tuned by the
// songs of structure_test.go.
type weights struct{ bass, pitch, onset, drums, parts, level float64 }

// likeness compares two bars, 0..1. The second may be a number of semitones higher. What
// neither bar has does not count.
func (w *weights) likeness(a, b *bar, semitones int) float64 {
	level := math.Abs(math.Log2((a.density()+0.25)/(b.density()+0.25)))/2 + math.Abs(a.velocity()-b.velocity())/40
	sum, all := float64(w.level*math.Exp(-level)), w.level
	add := func(weight, like float64) {
		if like >= 0 {
			sum += float64(weight * like)
			all += weight
		}
	}
	add(w.bass, cosine(a.bass[:], transposed(&b.bass, semitones)))
	add(w.pitch, cosine(a.pitch[:], transposed(&b.pitch, semitones)))
	add(w.onset, cosine(a.onset[:], b.onset[:]))
	add(w.drums, cosine(a.drums[:], b.drums[:]))
	add(w.parts, overlap(a.parts[:], b.parts[:]))
	if all == 0 {
		return 1 // both are silent
	}
	return sum / all
}

func transposed(p *[12]float64, semitones int) []float64 {
	if semitones == 0 {
		return p[:]
	}
	return slices.Concat(p[semitones:], p[:semitones])
}

// cosine is the cosine of the angle between two vectors; -1 if both are zero.
func cosine(a, b []float64) float64 {
	var ab, aa, bb float64
	for i := range a {
		ab += float64(a[i] * b[i])
		aa += float64(a[i] * a[i])
		bb += float64(b[i] * b[i])
	}
	switch {
	case aa == 0 && bb == 0:
		return -1
	case aa == 0 || bb == 0:
		return 0
	}
	return min(1, ab/math.Sqrt(aa*bb))
}

// overlap is the share of parts that play in both bars of those that play in either; -1
// if none does.
func overlap(a, b []float64) float64 {
	both, either := 0.0, 0.0
	for i := range a {
		if a[i] > 0 || b[i] > 0 {
			either++
		}
		if a[i] > 0 && b[i] > 0 {
			both++
		}
	}
	if either == 0 {
		return -1
	}
	return both / either
}
