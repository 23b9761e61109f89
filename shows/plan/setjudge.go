package plan

import (
	"fmt"
	"slices"

	"tactus/clock"
	"tactus/shows/limits"
	"tactus/shows/position"
)

// setJudge checks the songs of a set against one another.
type setJudge struct {
	night *Night
	songs []*Song // in the order of the set, each once
	order []int   // places in songs as the set plays them
}

// set returns the songs of the set, or nil unless there are two or more and all of
// them were measured.
func (n *Night) set() *setJudge {
	s := setJudge{night: n}
	for _, index := range n.Show.Program.SetList {
		if len(n.Show.Program.Songs[index].Sections) == 0 {
			continue
		}
		at := slices.IndexFunc(s.songs, func(x *Song) bool { return x.Index == index })
		if at < 0 {
			i := slices.IndexFunc(n.Songs, func(x Song) bool { return x.Index == index && x.Frames > 0 })
			if i < 0 {
				return nil
			}
			at = len(s.songs)
			s.songs = append(s.songs, &n.Songs[i])
		}
		s.order = append(s.order, at)
	}
	if len(s.songs) < 2 {
		return nil
	}
	return &s
}

// isOfSet reports whether findings of a kind compare songs of a set.
func isOfSet(k Kind) bool { return k == UnevenSet || k == SameSongs }

// find adds a finding about a song beside others.
func (s *setJudge) find(k Kind, severity Severity, song *Song, at clock.Beat, reason, suggestion string) {
	j := judge{night: s.night, song: song, plan: &s.night.Show.Program.Songs[song.Index]}
	s.night.Findings = append(s.night.Findings, Finding{
		Kind: k, Severity: severity, Song: song.Name, Place: song.Name + ", " + position.Name(j.plan, at), Beat: at, Until: at,
		Written: j.written(at), Reason: reason, Suggestion: suggestion, song: song.Index,
	})
}

// distances returns the distance of traits of each song from each other.
func (s *setJudge) distances() [][]float64 {
	d := make([][]float64, len(s.songs))
	for i, a := range s.songs {
		d[i] = make([]float64, len(s.songs))
		for k, b := range s.songs[:i] {
			d[i][k] = Distance(s.night.Traits(a), s.night.Traits(b))
			d[k][i] = d[i][k]
		}
	}
	return d
}

// neighbours returns the least distance between songs that follow one another, its
// place in the order, and the mean. A song that is played twice in a row does not
// follow itself.
func neighbours(order []int, d [][]float64) (least float64, at int, mean float64) {
	least = 2
	n := 0
	for i := 1; i < len(order); i++ {
		if order[i-1] == order[i] {
			continue
		}
		x := d[order[i-1]][order[i]]
		if x < least {
			least, at = x, i
		}
		mean += x
		n++
	}
	return least, at, mean / float64(max(1, n))
}

// bestSwap returns the two places in the order whose songs should change places so
// that neighbours differ most: by the least distance first, then by the mean. It
// returns false if no swap makes the least distance larger.
func bestSwap(order []int, d [][]float64) (a, b int, least float64, better bool) {
	now, _, _ := neighbours(order, d)
	least = now
	best := 0.0
	try := slices.Clone(order)
	for i := range try {
		for k := range try[:i] {
			try[i], try[k] = try[k], try[i]
			if l, _, mean := neighbours(try, d); l > least || l == least && l > now && mean > best {
				a, b, least, best, better = k, i, l, mean, true
			}
			try[i], try[k] = try[k], try[i]
		}
	}
	return a, b, least, better
}

// same finds songs that follow one another and have much the same light.
func (s *setJudge) same() {
	d, by := s.distances(), &s.night.Show.Limits
	for i := 1; i < len(s.order); i++ {
		a, b := s.songs[s.order[i-1]], s.songs[s.order[i]]
		x := d[s.order[i-1]][s.order[i]]
		if a == b || x >= by.Value(limits.SongsAlike) {
			continue
		}
		differing := Differing(s.night.Traits(a), s.night.Traits(b), by.Value(limits.SongsAlike))
		all := len(AllTraits())
		s.find(SameSongs, Hint, b, 0,
			fmt.Sprintf("%s follows %s and has much the same light: %d of %d traits are alike, and all differ by %.2f of 1 on average, want %s or more",
				b.Name, a.Name, all-len(differing), all, x, by.Text(limits.SongsAlike)),
			s.mend(d, a, b))
	}
}

// mend suggests what would help: a swap in the set, or else other light.
func (s *setJudge) mend(d [][]float64, a, b *Song) string {
	if i, k, least, better := bestSwap(s.order, d); better {
		now, _, _ := neighbours(s.order, d)
		return fmt.Sprintf("swap %s and %s in the set: then neighbours differ by %.2f at least, now by %.2f",
			s.songs[s.order[i]].Name, s.songs[s.order[k]].Name, least, now)
	}
	ta, tb := s.night.Traits(a), s.night.Traits(b)
	change := "other looks or other effects"
	if hueApart(&ta, &tb) < 30 {
		change = "another palette, " + change
	}
	return fmt.Sprintf("no swap in the set helps: give %s or %s %s", a.Name, b.Name, change)
}
