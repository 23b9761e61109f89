package shows

import (
	"cmp"
	"slices"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/language"
	"tactus/shows/position"
)

// compiler makes a show of checked files.
type compiler struct {
	language.Faults
	loader                 *Loader
	show                   *language.Value
	rig                    *language.Value
	looks                  *language.Value
	songs                  []*language.File
	sets                   []*language.File
	profiles               []*language.File
	listed                 []Profile
	program                *engine.Program
	outputs                Outputs
	heads                  *headNames
	power                  Power
	facesAudience          []int32
	unplaced               bool // some fixture has no profile, universe or address
	placements             []fixtures.Placement
	effects                map[string]*effect
	look                   map[string]*look
	effectNames, lookNames []string          // as written
	meters                 []engine.Meter    // of the songs
	songOf                 map[string]int32  // songs by name and by file
	songAt                 []*language.Value // where each song's name stands
	called                 map[string]int32  // names of sections: 1 + place in Program.SectionNames
	ladder                 *Ladder
	characters             []Character   // built-in ones, and those of the looks file
	songCharacters         [][]Character // of the songs, as their files name them
	numberings             []Numbering   // by set, in file order
	inputs                 []Input
}

// Compile checks files against one another and compiles them. Files that Parse
// found problems in are checked as far as they could be read, but give no show.
func Compile(files []*language.File, opts Options) (*Show, language.Problems) {
	return new(Loader).Compile(files, opts)
}

func (l *Loader) compile(files []*language.File, opts Options) (*Show, language.Problems) {
	c := &compiler{loader: l, called: map[string]int32{}, program: &engine.Program{WalkIn: engine.None, WalkOut: engine.None, Talk: engine.None, Pad: engine.None, Notes: engine.NewNotes()}}
	c.sortFiles(files, opts.RigOnly)
	c.compileShow()
	c.compileRig()
	if opts.RigOnly {
		return c.rigOnly(files)
	}
	c.readMeters()
	c.compileEffects(c.looks.Get("effects"))
	c.compileLooks(c.looks.Get("looks"))
	c.compileCharacters(c.looks.Get("characters"))
	c.ladder = c.compileLadder(c.looks.Get("ladder"))
	c.compileSongs()
	sets := c.compileSets(opts)
	c.checkNotes()
	accepted := c.accepted()
	if len(c.List) > 0 || slices.ContainsFunc(files, faulty) {
		return nil, c.List.Sorted()
	}
	return &Show{
		Program: c.program, Outputs: c.outputs, Venue: c.rig.Get("venue").Word(),
		Sets: sets, Clock: c.sources(), Power: c.power, Groups: c.namedGroups(), Kept: c.keptGroups(), Files: c.songFiles(), Ladder: c.ladder,
		Profiles: c.listedProfiles(), Accepted: accepted, NotesWritten: c.notesWritten(), Numberings: c.numberings, Limits: c.limits(), FacesAudience: c.facesAudience,
		Inputs: c.inputs, Characters: c.characters, SongCharacters: c.songCharacters,
	}, nil
}

// placeFault reports a place of a song that was not found.
func (c *compiler) placeFault(at *language.Value, f *position.Fault) {
	if f.Unknown {
		c.UnknownAt(at, f.What, f.Allowed, f.Nearest)
		return
	}
	c.At(at, f.What, f.Allowed, f.Nearest)
}

// rigOnly returns a show that has a rig, and nothing to play on it.
func (c *compiler) rigOnly(files []*language.File) (*Show, language.Problems) {
	if len(c.List) > 0 || slices.ContainsFunc(files, faulty) {
		return nil, c.List.Sorted()
	}
	return &Show{
		Program: c.program, Outputs: c.outputs, Venue: c.rig.Get("venue").Word(), Clock: c.sources(),
		Power: c.power, Groups: c.namedGroups(), Kept: c.keptGroups(), Profiles: c.listedProfiles(), Inputs: c.inputs, RigOnly: true,
	}, nil
}

// faulty reports whether Parse found problems in a file.
func faulty(f *language.File) bool { return f.Root == nil || f.Faulty }

// sortFiles sorts the files by kind and reports those that are missing; of a rig, no
// looks and songs.
func (c *compiler) sortFiles(files []*language.File, rigOnly bool) {
	byKind := map[language.Kind][]*language.File{}
	for _, f := range files {
		byKind[f.Kind] = append(byKind[f.Kind], f)
	}
	single := func(kind language.Kind) *language.Value {
		if len(byKind[kind]) == 0 {
			c.Add(language.Problem{File: kind.Where(), What: "the file is missing", Allowed: language.FolderHas})
			return nil
		}
		return byKind[kind][0].Root
	}
	c.show, c.rig = single(language.ShowFile), single(language.RigFile)
	byName := func(a, b *language.File) int { return cmp.Compare(a.Name, b.Name) }
	c.songs, c.sets = byKind[language.SongFile], byKind[language.SetFile]
	slices.SortFunc(c.songs, byName)
	slices.SortFunc(c.sets, byName)
	c.profiles = byKind[language.ProfileFile]
	slices.SortFunc(c.profiles, byName)
	if rigOnly {
		return
	}
	c.looks = single(language.LooksFile)
	if len(c.songs) == 0 {
		c.Add(language.Problem{File: "songs", What: "there is no song", Allowed: language.FolderHas})
	}
}
