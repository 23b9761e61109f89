package engine

import (
	"tactus/clock"
	"tactus/engine/flash"
	"tactus/fixtures"
)

// code codes a memory; groups is how many groups the checkpoint has. Light that fades from
// no longer, and what the limiter works out anew in each frame, are left out.
func (m *memory) code(c *clock.Coder, p *Program, groups int) {
	m.State.code(c, p)
	m.codeCue(c, p)
	m.codePalette(c, p)
	m.deep.code(c)
	m.meter.code(c)
	codeStates(c, m.keptLight)
	codeStates(c, m.settledLight)
	codeStates(c, m.showLight)
	if m.fade.active || m.colourFade.active {
		codeStates(c, m.fadeFrom)
	}
	c.FloatList(m.lightBelowFloor)
	m.reloadFade.code(c)
	c.Floats(&m.reloadTop)
	if m.reloadFade != (slide{}) {
		codeStates(c, m.reloadGap)
	}
	m.codeFaders(c)
	m.limiter.code(c, groups)
}

// codeStates codes light by head, without the number of heads.
func codeStates(c *clock.Coder, list []fixtures.State) {
	for i := range list {
		c.SparseList(list[i][:])
	}
}

// lostCue stands for a cue that an edited program lacks: its light is there, its effects
// and its name are not.
const lostCue = int32(-2)

// codeCue codes which cue is present. It is nearly always the one of State.shown.
func (m *memory) codeCue(c *clock.Coder, p *Program) {
	at := shownCue{song: None, cue: None}
	if !c.Reading() {
		at = m.placeOfCue(p)
	}
	lost := at.cue == lostCue
	c.Bools(&lost)
	if lost {
		if c.Reading() {
			m.cue, m.lostEffects = nil, nil
		}
		return
	}
	at.code(c, p)
	if c.Reading() && c.Err() == nil {
		m.cue = at.cueIn(p)
	}
}

// placeOfCue returns where the present cue is in the program.
func (m *memory) placeOfCue(p *Program) shownCue {
	switch {
	case m.cue == nil:
		return shownCue{song: None, cue: None}
	case m.lostEffects != nil:
		return shownCue{song: None, cue: lostCue}
	case m.cue == m.shown.cueIn(p):
		return m.shown
	}
	for i := range p.Looks {
		if m.cue == &p.Looks[i] {
			return shownCue{song: None, cue: int32(i)}
		}
	}
	for i := range p.Songs {
		for list := range len(p.Songs[i].Variants) + 1 {
			cues := p.Songs[i].list(cueList(list))
			for k := range cues {
				if m.cue == &cues[k] {
					return shownCue{song: int32(i), list: cueList(list), cue: int32(k)}
				}
			}
		}
	}
	return shownCue{song: None, cue: lostCue}
}

// Where a palette is.
const (
	plainPalette = iota // plain
	lookPalette         // memory.lookPalette
	songPalette         // of a song
	ownPalette          // of a program before an edit: its colours are written
)

// codePalette codes which palette is in force.
func (m *memory) codePalette(c *clock.Coder, p *Program) {
	where, song := ownPalette, None
	switch m.palette {
	case &plain:
		where = plainPalette
	case m.lookPalette:
		where = lookPalette
	default:
		for i := range p.Songs {
			if m.palette == &p.Songs[i].Palette {
				where, song = songPalette, int32(i)
			}
		}
	}
	clock.CodeIndex(c, &where, plainPalette, ownPalette, "the place of the palette")
	clock.CodeIndex(c, &song, int(None), len(p.Songs)-1, "the song of the palette")
	if !c.Reading() {
		if where == ownPalette {
			for r := range m.palette {
				c.FloatList(m.palette[r][:])
			}
		}
		return
	}
	switch {
	case c.Err() != nil:
	case where == plainPalette:
		m.palette = &plain
	case where == lookPalette:
		m.palette = m.lookPalette
	case where == songPalette && song != None:
		m.palette = &p.Songs[song].Palette
	case where == songPalette:
		c.Failf("the song of the palette is %d", song)
	default:
		own := Palette{}
		for r := range own {
			c.FloatList(own[r][:])
		}
		m.palette = &own
	}
}

func (d *DeepColours) code(c *clock.Coder) {
	for i := range d.Roles {
		c.Bools(&d.Roles[i])
	}
	c.Bools(&d.Fixed)
}

func (m *Meter) code(c *clock.Coder) {
	clock.CodeInts(c, &m.Upper, &m.Lower)
	if c.Reading() && c.Err() == nil {
		if _, err := NewMeter(int(m.Upper), int(m.Lower)); err != nil {
			c.Failf("%v", err)
		}
	}
}

// code codes the limiter. Areas are those of heads, then of groups, then the whole rig; a
// truth value before each says whether it is there, as heads without light have none. Areas
// of groups that the program lacks are read and dropped: see identity.code.
func (m *limiter) code(c *clock.Coder, groups int) {
	clock.CodeInts(c, &m.maxFlashes)
	for h := range m.before {
		c.SparseList(m.before[h][:])
		c.SparseList(m.statesBefore[h][:])
		c.Bools(&m.catchingUp[h])
	}
	clock.CodeInts(c, &m.at)
	c.Bools(&m.started, &m.strobing, &m.holding)
	m.blackout.code(c)
	m.work.code(c)
	m.status.code(c)
	for _, i := range m.headAt {
		m.codeArea(c, i)
	}
	for g := range groups {
		if g < len(m.groupAt) {
			m.codeArea(c, m.groupAt[g])
			continue
		}
		var dropped area
		there := false
		if c.Bools(&there); there {
			dropped.code(c, &areaTimes{})
		}
	}
	m.codeArea(c, int32(len(m.areas)-1)) // None without areas
}

func (m *limiter) codeArea(c *clock.Coder, i int32) {
	there := i != None
	c.Bools(&there)
	switch {
	case c.Err() != nil:
	case there != (i != None):
		c.Failf("it is of another show: another head, or another group, gives light")
	case there:
		m.areas[i].code(c, &m.times[i])
	}
}

func (a *area) code(c *clock.Coder, times *areaTimes) {
	a.letThrough.Code(c, &times.letThrough)
	a.wanted.Code(c, &times.wanted)
	clock.CodeInts(c, &a.heldAt)
}

func (u *urgentKey) code(c *clock.Coder) {
	c.Bools(&u.on, &u.exempt)
	clock.CodeInts(c, &u.since)
}

func (s *LimiterStatus) code(c *clock.Coder) {
	c.Bools(&s.Acting)
	clock.CodeInts(c, &s.Count)
	clock.CodeInts(c, &s.Since, &s.lastHeld, &s.wantedAt)
	c.Text(&s.Area)
	clock.CodeIndex(c, &s.Kind, 0, int(flash.NumKinds)-1, "the kind of a flash")
	c.Floats(&s.Wanted, &s.LetThrough)
	clock.CodeInts(c, &s.Limit)
}
