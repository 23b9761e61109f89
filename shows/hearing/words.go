package hearing

import (
	"fmt"
	"math"
	"strconv"
)

// Loudness returns the integrated loudness of the recording, in LUFS.
func (t *Take) Loudness() float64 { return t.loud.Integrated() }

// Name returns the name of a section, with a number where its kind comes more than once.
func (h *Heard) Name(i int) string {
	kind, count, nth := h.Sections[i].Kind, 0, 0
	for k := range h.Sections {
		if h.Sections[k].Kind != kind {
			continue
		}
		count++
		if k <= i {
			nth++
		}
	}
	if count == 1 {
		return kind.Name()
	}
	return fmt.Sprintf("%s %d", kind.Name(), nth)
}

// Sure says in a word how sure it is that a section begins where it does.
func (s *Section) Sure() string {
	switch {
	case s.First == 0:
		return "with the song"
	case s.Edge >= 2:
		return "clear"
	case s.Edge >= 0.8:
		return "likely"
	}
	return "a guess"
}

// TempoWords says the tempo: "120 BPM", or from where to where it goes.
func (h *Heard) TempoWords() string {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range h.Pieces {
		bpm := h.Pieces[i].BPM()
		low, high = min(low, bpm), max(high, bpm)
	}
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	if low == high {
		return number(low) + " BPM"
	}
	return fmt.Sprintf("%s to %s BPM, with %d changes", number(low), number(high), len(h.Pieces)-1)
}
