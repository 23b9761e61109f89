package plan

import (
	"fmt"
	"strings"

	"tactus/engine"
	"tactus/engine/flash"
	"tactus/fixtures"
	"tactus/shows/limits"
)

// keptLight is the light that songs leave alone unless a cue names it, as far as
// cues of the set do name it.
type keptLight struct {
	findings []Finding
	front    flash.Area // front light that some cue of the set sets
	house    flash.Area // house lights that some cue of the set sets
}

// checkKept finds kept groups with light whose level no cue of the set's songs sets:
// they stay as they were before the first song, all night. House lights that are out
// all night are fine.
func (n *Night) checkKept() keptLight {
	p := n.Show.Program
	set := namedHeads(p)
	var k keptLight
	reported := map[int32]bool{} // a head may be in several kept groups
	for _, g := range n.Show.Kept {
		var unset []int32
		for _, h := range g.Heads {
			if n.Heads[h].Flux > 0 && !set[h] && !reported[h] {
				unset = append(unset, h)
			}
		}
		name := g.Name
		if len(unset) < len(g.Heads) {
			name = headNames(p, unset)
		}
		level, known := n.finalLight(unset)
		if len(unset) == 0 || !known || level < n.Show.Limits.Share(limits.LitFrom) && p.Heads[unset[0]].House {
			continue
		}
		for _, h := range unset {
			reported[h] = true
		}
		k.findings = append(k.findings, Finding{
			Kind: NeverSet, Severity: Warning, Written: g.Written,
			Reason:     fmt.Sprintf("%s: no cue of set %q names it, so that it stays as it was before the first song, all night: %.0f %% of its light", name, p.SetName, level*100),
			Suggestion: fmt.Sprintf(`set its intensity in the first section of a song: "set: {%s: {intensity: ...}}"; for drafts under "begin" of the ladder`, g.Name),
		})
	}
	var front, house []int32
	for _, h := range n.Faces {
		if set[h] {
			front = append(front, h)
		}
	}
	for h := range p.Heads {
		if head := &p.Heads[h]; head.House && n.Heads[h].Flux > 0 && (!head.Keep || set[h]) {
			house = append(house, int32(h))
		}
	}
	k.front, k.house = flash.NewArea("front light", n.Heads, front), flash.NewArea("house lights", n.Heads, house)
	return k
}

// namedHeads reports for each head whether a cue of the set's songs, in any pass,
// sets its intensity or has an effect that moves it.
func namedHeads(p *engine.Program) []bool {
	set := make([]bool, len(p.Heads))
	note := func(cues []engine.Cue) {
		for i := range cues {
			for _, k := range cues[i].Effects {
				if e := &p.Effects[k]; !e.MovesColour && e.Param == fixtures.Intensity {
					for _, h := range e.Heads {
						set[h] = true
					}
				}
			}
			for k := range cues[i].Parts {
				if part := &cues[i].Parts[k]; part.Sets(fixtures.Intensity) {
					for _, h := range part.Heads {
						set[h] = true
					}
				}
			}
		}
	}
	for _, s := range p.SetList {
		note(p.Songs[s].Cues)
		for i := range p.Songs[s].Variants {
			note(p.Songs[s].Variants[i].Cues)
		}
	}
	return set
}

func headNames(p *engine.Program, heads []int32) string {
	var names []string
	for _, h := range heads {
		names = append(names, p.Heads[h].Name)
	}
	return strings.Join(names, ", ")
}

// finalLight returns the luminance of heads, 0..1 of their full, at the end of the
// last song that was measured. It is not known where none was.
func (n *Night) finalLight(heads []int32) (level float64, known bool) {
	for i := range n.Songs {
		if c := n.Songs[i].Columns; len(c) > 0 {
			area := flash.NewArea("kept", n.Heads, heads)
			level, known = flash.Luminance(area.Light(c[len(c)-1].Lights)), true
		}
	}
	return level, known
}

// frontLight finds a song in which the front light is out from beginning to end.
func (j *judge) frontLight() {
	if len(j.kept.front.Heads) == 0 || len(j.song.Columns) == 0 {
		return
	}
	most := 0.0
	for i := range j.song.Columns {
		most = max(most, flash.Luminance(j.kept.front.Light(j.song.Columns[i].Lights)))
	}
	if bright := fixtures.Lightness(most); bright < j.limit(limits.DarkLevel) {
		j.find(FrontLightOut, Warning, 0, j.song.Length,
			fmt.Sprintf("the front light (%s) is out through the whole song: L* %.0f at most, and below %s is dark", headNames(j.night.Show.Program, j.kept.front.Heads), bright, j.limitText(limits.DarkLevel)),
			"set it in the first section: nobody sees faces without it")
	}
}

// houseLights finds strong sections with the house lights up, and reports the first
// with the names of the others.
func (j *judge) houseLights() {
	if len(j.kept.house.Heads) == 0 {
		return
	}
	var lit []*Section
	most := 0.0
	for i := range j.song.Sections {
		s := &j.song.Sections[i]
		if !j.isStrong(s) || s.Spoken {
			continue
		}
		if level := j.houseLevel(s); level > j.night.Show.Limits.Share(limits.HouseLevel) {
			lit, most = append(lit, s), max(most, level)
		}
	}
	if len(lit) == 0 {
		return
	}
	var names []string
	for _, s := range lit {
		names = append(names, s.Name)
	}
	j.find(HouseLit, Warning, lit[0].Start, lit[0].Start+lit[0].Length,
		fmt.Sprintf("the house lights are up to %.0f %% of their light in %s; want %s or less where energy is %s or more", most*100, strings.Join(names, ", "), j.limitText(limits.HouseLevel), j.limitText(limits.StrongEnergy)),
		"set them lower in the first section of the song, or accept it where the hall sings")
}

// houseLevel returns the mean luminance of the house lights in a section, 0..1.
func (j *judge) houseLevel(s *Section) float64 {
	sum, count := 0.0, 0
	for i := range j.song.Columns {
		if c := &j.song.Columns[i]; c.Beat >= s.Start && c.Beat < s.Start+s.Length {
			sum += flash.Luminance(j.kept.house.Light(c.Lights))
			count++
		}
	}
	return sum / float64(max(1, count))
}
