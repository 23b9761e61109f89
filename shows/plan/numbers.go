package plan

import (
	"fmt"

	"tactus/shows"
)

// numbersDiffer finds songs that program changes do not select by the same number in
// every set: a DAW project made for one set then selects another song in the next.
func (n *Night) numbersDiffer() (found []Finding) {
	sets := n.Show.Numberings
	for song := range n.Show.Program.Songs {
		reason := numberReason(n.Show, sets, int32(song))
		if reason == "" {
			continue
		}
		found = append(found, Finding{
			Kind: NumbersDiffer, Severity: Warning, Song: n.Show.Program.Songs[song].Name, Written: n.Show.Files[song],
			Reason:     reason,
			Suggestion: "give the song a program of its own; tactus export midi writes one into the file of each song that has none",
		})
	}
	return found
}

// numberReason says how the numbers of a song differ from set to set; "" if they do not.
func numberReason(show *shows.Show, sets []shows.Numbering, song int32) string {
	first, number := "", int16(-1)
	for i := range sets {
		for place, s := range sets[i].Songs {
			if s != song || sets[i].Own[place] || sets[i].Programs[place] < 0 {
				continue
			}
			now := sets[i].Programs[place]
			if first != "" && now != number {
				return fmt.Sprintf("%q is program %d in set %q and program %d in set %q", show.Program.Songs[song].Name, number+1, first, now+1, sets[i].Set)
			}
			first, number = sets[i].Set, now
		}
	}
	if number < 0 {
		return ""
	}
	for i := range sets {
		for place, s := range sets[i].Songs {
			if s != song && sets[i].Programs[place] == number {
				return fmt.Sprintf("program %d is %q in set %q and %q in set %q", number+1, show.Program.Songs[song].Name, first, show.Program.Songs[s].Name, sets[i].Set)
			}
		}
	}
	return ""
}
