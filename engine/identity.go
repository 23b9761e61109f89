package engine

import (
	"encoding/binary"
	"hash/crc32"
	"hash/fnv"

	"tactus/clock"
)

// identity tells the programs of different shows apart, so that a checkpoint is used only
// with the show that it was made of. It has the counts and names of what a checkpoint
// points at by index, and where sections and cues lie.
type identity struct {
	counts [numCounts]int64
	names  uint64            // FNV-1a of all names and places but those of groups
	groups [MaxGroups]uint32 // CRC-32C of the name and heads of each group
}

// The counts of an identity.
const (
	countSongs = iota
	countSections
	countCues
	countLooks
	countHeads
	countUniverses
	countSetList
	countGroups
	numCounts
)

var countNames = [numCounts]string{"songs", "sections", "cues", "looks", "heads", "universes", "songs in the set list", "groups"}

// identityOf returns the identity of a program.
func identityOf(p *Program) (id identity) {
	id.counts = [numCounts]int64{
		countSongs: int64(len(p.Songs)), countLooks: int64(len(p.Looks)), countHeads: int64(len(p.Heads)),
		countUniverses: int64(p.Patch.Universes()), countSetList: int64(len(p.SetList)), countGroups: int64(min(len(p.Groups), MaxGroups)),
	}
	h := fnv.New64a()
	var b []byte
	number := func(n int64) { b = binary.LittleEndian.AppendUint64(b, uint64(n)) }
	text := func(s string) { b = append(append(b, s...), 0) }
	cues := func(list []Cue) {
		id.counts[countCues] += int64(len(list))
		for i := range list {
			text(list[i].Name)
			number(int64(list[i].At))
		}
	}
	for i := range p.Songs {
		s := &p.Songs[i]
		id.counts[countSections] += int64(len(s.Sections))
		text(s.Name)
		for k := range s.Sections {
			text(s.Sections[k].Name)
			number(int64(s.Sections[k].Start))
			number(int64(s.Sections[k].Length))
		}
		number(int64(len(s.Tempos)))
		cues(s.Cues)
		for k := range s.Variants {
			number(int64(s.Variants[k].Section))
			number(int64(s.Variants[k].Pass))
			cues(s.Variants[k].Cues)
		}
		h.Write(b) // never fails
		b = b[:0]
	}
	for i := range p.Looks {
		text(p.Looks[i].Name)
	}
	for i := range p.Heads {
		text(p.Heads[i].Name)
	}
	for _, u := range p.Universes {
		text(u)
	}
	for _, s := range p.SetList {
		number(int64(s))
	}
	h.Write(b)
	id.names = h.Sum64()
	id.hashGroups(p)
	return id
}

func (id *identity) hashGroups(p *Program) {
	castagnoli := crc32.MakeTable(crc32.Castagnoli)
	var b []byte
	for i := range id.counts[countGroups] {
		g := &p.Groups[i]
		b = append(b[:0], g.Name...)
		for _, h := range g.Heads {
			b = binary.LittleEndian.AppendUint32(b, uint32(h))
		}
		id.groups[i] = crc32.Checksum(b, castagnoli)
	}
}

// code codes an identity. When it reads, the checkpoint must be of the show that id is of,
// but it may have more groups: an edited show keeps those of the show before until it
// starts again. It returns how many groups the checkpoint has.
func (id *identity) code(c *clock.Coder) (groups int) {
	stored := *id
	for i := range stored.counts {
		clock.CodeInts(c, &stored.counts[i])
	}
	clock.CodeInts(c, &stored.names)
	groups = int(min(max(stored.counts[countGroups], 0), MaxGroups))
	for i := range groups {
		clock.CodeInts(c, &stored.groups[i])
	}
	if c.Reading() && c.Err() == nil {
		id.compare(c, &stored)
	}
	return groups
}

// compare sets the error if a checkpoint is of another show.
func (id *identity) compare(c *clock.Coder, stored *identity) {
	for i, n := range stored.counts {
		if has := id.counts[i]; n != has && (i != countGroups || n < has || n > MaxGroups) {
			c.Failf("it is of another show: it has %d %s, this show %d", n, countNames[i], has)
			return
		}
	}
	if stored.names != id.names {
		c.Failf("it is of another show: it has as many songs and heads, with other names or places (%016x, this show %016x)", stored.names, id.names)
		return
	}
	for i := range id.counts[countGroups] {
		if stored.groups[i] != id.groups[i] {
			c.Failf("it is of another show: its group %d has another name or other heads", i+1)
			return
		}
	}
}
