package plot

import (
	"slices"
	"strconv"

	"tactus/shows"
)

func itoa(n int) string { return strconv.Itoa(n) }

// voice is a head's place in the score.
type voice struct {
	head  int
	group string
}

// voices orders the heads: the groups as the rig lists them, each head in the
// smallest group it belongs to, and those in none last.
func voices(s *shows.Show) []voice {
	home := make([]int, len(s.Program.Heads))
	for h := range home {
		home[h] = -1
	}
	for i, g := range s.Groups {
		for _, h := range g.Heads {
			if was := home[h]; was < 0 || len(g.Heads) < len(s.Groups[was].Heads) {
				home[h] = i
			}
		}
	}
	var out []voice
	for i, g := range s.Groups {
		for h := range home {
			if home[h] == i && slices.Contains(g.Heads, int32(h)) {
				out = append(out, voice{h, g.Name})
			}
		}
	}
	for h, of := range home {
		if of < 0 {
			out = append(out, voice{h, ""})
		}
	}
	return out
}
