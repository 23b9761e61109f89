package shows

import (
	"cmp"
	"slices"

	"tactus/engine"
	"tactus/fixtures"
)

// compiler turns checked files into a show.
type compiler struct {
	faults
	show                   *value
	rig                    *value
	looks                  *value
	songs                  []*File
	sets                   []*File
	profiles               []*File
	program                *engine.Program
	outputs                Outputs
	heads                  *headNames
	power                  Power
	unplaced               bool // some fixture lacks what its placing needs
	placements             []fixtures.Placement
	effects                map[string]*effect
	look                   map[string]*look
	effectNames, lookNames []string         // as written
	meters                 []engine.Meter   // of the songs
	songOf                 map[string]int32 // songs by name and by file
	songAt                 []*value         // where each song's name stands
	called                 map[string]int32 // names of sections: 1 + place in Program.Called
	ladder                 *Ladder
}

// Compile checks what files say of one another and compiles them. Files may
// come from Parse with problems of their own; what could be read of them is
// checked all the same, but then there is no show.
func Compile(files []*File, opts Options) (*Show, Problems) {
	c := &compiler{called: map[string]int32{}, program: &engine.Program{WalkIn: engine.None, WalkOut: engine.None, Talk: engine.None, Pad: engine.None, Notes: engine.NewNotes()}}
	c.sort(files)
	c.compileShow()
	c.compileRig()
	c.readMeters()
	c.compileEffects(c.looks.get("effects"))
	c.compileLooks(c.looks.get("looks"))
	c.ladder = c.compileLadder(c.looks.get("ladder"))
	c.compileSongs()
	sets := c.compileSets(opts)
	c.checkNotes()
	accepted := c.accepted()
	whole := func(f *File) bool { return f.root != nil && !f.faulty }
	if len(c.list) > 0 || !all(files, whole) {
		return nil, c.list.sorted()
	}
	return &Show{
		Program: c.program, Outputs: c.outputs, Venue: c.rig.get("venue").word(),
		Sets: sets, Clock: c.sources(), Power: c.power, Groups: c.namedGroups(), Files: c.songFiles(), Ladder: c.ladder,
		Accepted: accepted, NotesWritten: c.notesWritten(),
	}, nil
}

// sort hands the files out and reports those that are missing.
func (c *compiler) sort(files []*File) {
	byKind := map[Kind][]*File{}
	for _, f := range files {
		byKind[f.Kind] = append(byKind[f.Kind], f)
	}
	single := func(kind Kind) *value {
		if len(byKind[kind]) == 0 {
			c.add(Problem{File: string(kind) + ".yaml", What: "the file is missing", Allowed: folderHas})
			return nil
		}
		return byKind[kind][0].root
	}
	c.show, c.rig, c.looks = single(ShowFile), single(RigFile), single(LooksFile)
	byName := func(a, b *File) int { return cmp.Compare(a.Name, b.Name) }
	c.songs, c.sets = byKind[SongFile], byKind[SetFile]
	slices.SortFunc(c.songs, byName)
	slices.SortFunc(c.sets, byName)
	c.profiles = byKind[ProfileFile]
	slices.SortFunc(c.profiles, byName)
	if len(c.songs) == 0 {
		c.add(Problem{File: "songs", What: "there is no song", Allowed: folderHas})
	}
}

func all(files []*File, holds func(*File) bool) bool {
	return !slices.ContainsFunc(files, func(f *File) bool { return !holds(f) })
}
