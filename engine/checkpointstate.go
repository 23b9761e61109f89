package engine

import (
	"tactus/clock"
	"tactus/fixtures"
)

// code codes a state. What it reads points only at what the program has.
func (s *State) code(c *clock.Coder, p *Program) {
	s.play.code(c, p)
	s.masters.code(c)
	for i := range s.overrides.list {
		s.overrides.list[i].code(c, p)
	}
	s.overrides.house.code(c, p)
	s.feel.code(c)
	s.shown.code(c, p)
	s.fade.code(c)
	s.colourFade.code(c)
	c.Bools(&s.held, &s.sendsNow)
	s.workFade.code(c)
	s.floorFade.code(c)
	clock.CodeInts(c, &s.unknownCommands, &s.lost, &s.programs.Armed, &s.programs.Begun, &s.programs.Undone)
	codeSong(c, p, &s.programs.Song)
	clock.CodeInts(c, &s.effectsOrigin, &s.effectsEarliest)
	clock.CodeInts(c, &s.cueChanges, &s.songExits, &s.fadeStarts, &s.floorChanges, &s.entriesSeen, &s.cuesBegun, &s.cuesSent)
}

// codeSong codes the index of a song, or None.
func codeSong(c *clock.Coder, p *Program, song *int32) {
	clock.CodeIndex(c, song, int(None), len(p.Songs)-1, "the index of a song")
}

// codePlace codes a place in the set list; -1 before the first.
func codePlace(c *clock.Coder, p *Program, place *int) {
	clock.CodeIndex(c, place, -1, max(len(p.SetList)-1, 0), "a place in the set list")
}

func (t *playback) code(c *clock.Coder, p *Program) {
	codeSong(c, p, &t.song)
	codePlace(c, p, &t.setListIndex)
	clock.CodeInts(c, &t.origin, &t.base, &t.earliest, &t.dawDelay, &t.pulseSkew, &t.noteGrid, &t.end)
	clock.CodeInts(c, &t.programAt, &t.playFrom, &t.handEntry, &t.keepLightUntil)
	clock.CodeInts(c, &t.lead)
	c.Bools(&t.live, &t.settlesAtStart, &t.selectedAgain, &t.playing)
	codeSong(c, p, &t.programSong)
	codeSong(c, p, &t.left.song)
	clock.CodeInts(c, &t.left.base)
	codePlace(c, p, &t.left.place)
	clock.CodeInts(c, &t.entries, &t.jumps)
	c.ByteList(t.passes[:])
	if c.Err() != nil {
		return
	}
	sections, cues := 0, len(p.Looks)
	if t.song != None {
		song := &p.Songs[t.song]
		sections, cues = len(song.Sections), max(cues, len(song.Cues))
		for i := range song.Variants {
			cues = max(cues, len(song.Variants[i].Cues))
		}
	}
	clock.CodeIndex(c, &t.cue, int(None), cues-1, "the index of the present cue")
	t.armed.code(c, p, sections)
	t.soon.code(c, p, sections)
	if t.song == None {
		sections = mostSections // that of the song before, which is not used
	}
	clock.CodeIndex(c, &t.section, int(None), sections-1, "the index of the present section")
	grid := t.song == None && t.programSong == None && t.left.song == None && t.armed.song == None && !t.settlesAtStart && !t.selectedAgain
	if c.Reading() && c.Err() == nil && (t.noteGrid < 0 || t.noteGrid == 0 && !grid) {
		c.Failf("notes are moved to steps of %d beats, must be above 0", t.noteGrid)
	}
}

// mostSections is a bound for the index of a section of any song.
const mostSections = 1 << 20

func (a *armed) code(c *clock.Coder, p *Program, sections int) {
	clock.CodeIndex(c, &a.section, int(None), sections-1, "the index of an armed section")
	codeSong(c, p, &a.song)
	clock.CodeInts(c, &a.boundary)
	clock.CodeIndex(c, &a.when, 0, int(numWhen)-1, "the boundary of what is armed")
	c.Bools(&a.fromNote, &a.byHand)
}

func (n *shownCue) code(c *clock.Coder, p *Program) {
	codeSong(c, p, &n.song)
	if c.Err() != nil {
		return
	}
	lists, cues := 0, len(p.Looks)
	if n.song != None {
		lists = len(p.Songs[n.song].Variants)
	}
	clock.CodeIndex(c, &n.list, 0, lists, "the list of the present cue")
	if c.Err() != nil {
		return
	}
	if n.song != None {
		cues = len(p.Songs[n.song].list(n.list))
	}
	clock.CodeIndex(c, &n.cue, int(None), cues-1, "the index of the present cue")
}

func (l *slide) code(c *clock.Coder) {
	c.FloatBetween(&l.from, 0, 1, "a level")
	c.FloatBetween(&l.goal, 0, 1, "a level")
	clock.CodeInts(c, &l.start, &l.over)
}

func (m *masters) code(c *clock.Coder) {
	m.all.code(c)
	for i := range m.groups {
		m.groups[i].code(c)
	}
	c.Bools(&m.blackout)
}

// code codes an override. One of a group that the program lacks is released: see
// identity.code.
func (h *override) code(c *clock.Coder, p *Program) {
	clock.CodeIndex(c, &h.group, 0, mostSections, "the group of an override")
	clock.CodeIndex(c, &h.param, 0, int(fixtures.NumParams)-1, "the parameter of an override")
	h.level.code(c)
	h.amount.code(c)
	clock.CodeInts(c, &h.until)
	if c.Reading() && int(h.group) >= max(len(p.Groups), 1) {
		*h = override{}
	}
}

func (f *feel) code(c *clock.Coder) {
	for _, m := range [...]*rateMap{&f.old, &f.now} {
		clock.CodeInts(c, &m.at, &m.base)
		clock.CodeIndex(c, &m.rate, 0, 4, "the rate of effects in halves")
	}
	clock.CodeInts(c, &f.from)
}

func (f *fade) code(c *clock.Coder) {
	c.Bools(&f.active)
	clock.CodeInts(c, &f.start, &f.time)
	clock.CodeInts(c, &f.beat, &f.length)
	c.Floats(&f.share)
}
