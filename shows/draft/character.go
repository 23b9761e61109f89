package draft

import (
	"fmt"
	"slices"
	"strings"

	"tactus/engine"
	"tactus/shows"
)

// character returns the tendencies of a song, and why it has them: those that its file
// names, else those that suit its tempo, meter, energies and main colour best.
func (s *song) character() (k shows.Character, why string) {
	if named := s.show.SongCharacters[s.index]; len(named) > 0 {
		return shows.Joined(named), "as the song's file has it"
	}
	name, reasons := s.infer()
	i := slices.IndexFunc(s.show.Characters, func(c shows.Character) bool { return c.Name == name })
	return s.show.Characters[i], "inferred from " + strings.Join(reasons, ", ") + `; a line "character:" in the song sets another`
}

// sign is something that speaks for a character.
type sign struct {
	character string
	points    int
	holds     bool
	what      string
}

// leastPoints are needed for a character; a song with less is plain.
const leastPoints = 3

// infer finds the character that most signs speak for, and those signs. Signs and
// points: common practice, no source; that people hear fast music as of higher arousal,
// and like brighter, more saturated and warmer light with it: Palmer et al. 2013,
// "Music-color associations are mediated by emotion", from memory.
func (s *song) infer() (name string, reasons []string) {
	low, high, mean := 10, 0, 0.0
	bars := 0
	for i := range s.parts {
		p := &s.parts[i]
		low, high = min(low, p.energy), max(high, p.energy)
		mean, bars = mean+float64(p.energy*p.bars), bars+p.bars
	}
	mean /= float64(max(1, bars))
	bpm, meter := s.meter(0).PerBeat(s.tempo(0)).BPM(), s.meter(0)
	colour := s.song.Palette[engine.Main].OKLab()
	tempo, energies := fmt.Sprintf("%.4g bpm", bpm), fmt.Sprintf("energies %d to %d", low, high)
	average := fmt.Sprintf("a mean energy of %.1f", mean)
	peakLast := s.peak >= 0 && slices.IndexFunc(s.parts, func(p part) bool { return p.energy == s.peak }) >= len(s.parts)/2
	name, points := "plain", leastPoints-1
	for _, c := range []string{"calm", "spare", "driving", "triumphant", "playful", "stormy"} {
		sum := 0
		var found []string
		for _, x := range []sign{
			{"calm", 2, bpm <= 92, tempo},
			{"calm", 2, mean <= 4.5, average},
			{"spare", 3, high <= 4, energies},
			{"spare", 2, mean <= 2.5, average},
			{"driving", 2, bpm >= 116, tempo},
			{"driving", 2, mean >= 5, average},
			{"triumphant", 2, high >= 9 && peakLast, "a peak of " + fmt.Sprint(high) + " late in the song"},
			{"triumphant", 2, high-low >= 5 && mean >= 4.5, energies},
			{"playful", 3, meter.Beats() == 3 || meter.Beats() >= 5 || meter.Lower >= 8, fmt.Sprintf("%s time", meter)},
			{"playful", 1, bpm >= 96 && mean >= 3, tempo},
			{"stormy", 2, colour.L < 0.5 && colour.B < 0, "a dark, cold main colour"},
			{"stormy", 2, high-low >= 6 && mean < 6, energies},
		} {
			if x.character == c && x.holds {
				sum, found = sum+x.points, append(found, x.what)
			}
		}
		if sum > points {
			name, points, reasons = c, sum, found
		}
	}
	if reasons == nil {
		reasons = []string{tempo, energies}
	}
	return name, reasons
}

// most returns how many effects a section has at once: by its energy, and by the
// song's character. Common practice, no source: a calm verse moves in one or two ways.
func (w *writer) most(i int) int {
	n := 4
	switch e := w.parts[i].energy; {
	case e <= gentle:
		n = 2
	case e <= strong:
		n = 3
	}
	if w.character.AtMost > 0 {
		n = min(n, w.character.AtMost)
	}
	return max(0, n-w.forced.fewer[i])
}

// buildOf returns the build of a section: it grows into a stronger one, and a fall ebbs.
func (w *writer) buildOf(i int, p picture) (build, why string) {
	part := &w.parts[i]
	if w.character.Builds == nil || !*w.character.Builds || part.spoken || part.bars < 4 {
		return "", ""
	}
	last := i == len(w.parts)-1
	if !last && part.energy < w.peak && !w.parts[i+1].spoken {
		switch gap := w.parts[i+1].energy - part.energy; {
		case gap >= LargeLift && part.energy > low:
			return w.rise(i, p, "50 %"), fmt.Sprintf("; grows into a lift of %d", gap)
		case gap >= 2:
			return w.rise(i, p, "70 %"), fmt.Sprintf("; grows into a lift of %d", gap)
		}
	}
	falls := last || w.parts[i+1].energy <= part.energy-2
	if i > 0 && falls && part.energy <= gentle && w.change(i) < 0 && !part.breakdown {
		return "{goes: ebb, from: 70 %}", "; ebbs"
	}
	return "", ""
}

// rise writes a build that grows. Where the character is fast, and its effects bear it,
// they run in double time in the second half.
func (w *writer) rise(i int, p picture, from string) string {
	next := w.parts[i+1].energy
	double := w.character.Pace == "fast" && next >= strong && len(p.effects) > 0
	for _, name := range p.effects {
		e := w.effect(name)
		double = double && e != nil && 2*turns(e, w.meter(i), w.tempo(i)) <= calm(w.parts[i].energy)
	}
	if double {
		return "{goes: rise, from: " + from + ", double time: yes}"
	}
	return "{goes: rise, from: " + from + "}"
}

// mood moves a wanted fade to a longer or shorter one, as the character has it.
func (w *writer) mood(want string) string {
	all := fades()
	i := slices.Index(all, want)
	switch w.character.Fades {
	case "long":
		i--
	case "short":
		i++
	}
	return all[max(0, min(len(all)-1, i))]
}

// cycle returns how long an effect takes to repeat on one head, in bars of the song's
// first meter. That of noise is from one lit cell to the next.
func (s *song) cycle(e *engine.Effect) float64 {
	m := s.meter(0)
	return float64(e.Period.In(m)) / float64(m.Bar()) / max(0.1, repeats(e))
}

// fades are those of drafts, from the longest.
func fades() []string {
	return []string{"4 bars", "2 bars", "1 bar", "2 beats", "1 beat", "1/2 beat"}
}
