package engine

import "tactus/clock"

// Do applies a command at a position. What the show lacks is counted and
// changes nothing: the light stays.
func (e *Engine) Do(c Command, pos clock.Position) {
	e.follow(pos)
	switch c.Kind {
	case SelectSong:
		e.selectSong(c.Index, pos)
	case NextSong:
		e.nextSong(pos)
	case FireSection, ArmSection:
		e.enter(c, c.Index, pos)
	case FireNote, ArmNote:
		section := None
		if e.play.song != None {
			section = e.prog.Songs[e.play.song].sectionByNote(c.Index)
		}
		e.enter(c, section, pos)
	case Disarm:
		e.play.armed.section = None
	case ShowLook:
		e.showLook(c.Index, pos)
	case ShowWalkIn:
		e.play.place = -1
		e.showLook(e.prog.WalkIn, pos)
	case ShowWalkOut:
		e.showLook(e.prog.WalkOut, pos)
	case Hold:
		e.held = true
	case Release:
		e.release(pos)
	case Blackout:
		e.masters.blackout = true
	case Restore:
		e.masters.blackout = false
	case GrandMaster:
		e.grandMaster(c, pos)
	default:
		e.unknown++
	}
}

func (e *Engine) selectSong(song int32, pos clock.Position) {
	if song < 0 || int(song) >= len(e.prog.Songs) {
		e.unknown++
		return
	}
	// A DAW sends its program change again whenever it starts or jumps, mostly
	// just before: the song goes on.
	if p := &e.play; song == p.song && !p.settle && (p.live || !pos.Playing) && p.within(pos) {
		p.again = !pos.Playing && e.prog.RunsOn
		return
	}
	e.findPlace(song)
	e.choose(song, pos)
}

// findPlace looks a song up in the set list: where the list stands, else
// further on, else from the top. A song outside the list leaves its place.
func (e *Engine) findPlace(song int32) {
	list := e.prog.SetList
	from := max(e.play.place, 0)
	for i := range list {
		if at := (from + i) % len(list); list[at] == song {
			e.play.place = at
			return
		}
	}
}

// nextSong goes to the song after the one last chosen from the set list.
func (e *Engine) nextSong(pos clock.Position) {
	if e.play.place+1 >= len(e.prog.SetList) {
		e.unknown++
		return
	}
	e.play.place++
	e.choose(e.prog.SetList[e.play.place], pos)
}

func (e *Engine) choose(song int32, pos clock.Position) {
	e.keep()
	e.play.choose(song, &e.prog.Songs[song], pos, e.prog.RunsOn)
}

func (e *Engine) grandMaster(c Command, pos clock.Position) {
	if c.Level != c.Level { // not a number
		e.unknown++
		return
	}
	e.masters.move(c.Level, c.Over, pos.At)
}

// enter fires or arms a section. While the transport stands still there is no
// boundary to wait for, so that an armed section is entered at once.
func (e *Engine) enter(c Command, section int32, pos clock.Position) {
	p := &e.play
	if p.song == None || section < 0 || int(section) >= len(e.prog.Songs[p.song].Sections) {
		e.unknown++
		return
	}
	song := &e.prog.Songs[p.song]
	arm := c.Kind == ArmSection || c.Kind == ArmNote
	switch {
	case arm && pos.Playing:
		p.arm(song, section, c.When, pos)
	default:
		p.enterNow(&song.Sections[section], pos)
	}
}

func (e *Engine) showLook(look int32, pos clock.Position) {
	if look < 0 || int(look) >= len(e.prog.Looks) {
		e.unknown++
		return
	}
	e.keep()
	e.play.song = None
	e.play.cue = None
	e.play.armed.section = None
	e.palette, e.meter = e.house, common
	e.take(&e.prog.Looks[look], pos, 0)
}

// release lets the light move from where it was held to where the show is.
func (e *Engine) release(pos clock.Position) {
	if !e.held {
		return
	}
	e.held = false
	copy(e.from, e.light)
	e.fade.begin(Span{Time: e.prog.Unheld}, e.meter, pos, 0)
}
