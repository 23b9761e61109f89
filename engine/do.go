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
		e.selectSong(e.nextSong(), pos)
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
		e.masters.move(c.Level, c.Over, pos.At)
	default:
		e.unknown++
	}
}

func (e *Engine) selectSong(song int32, pos clock.Position) {
	if song < 0 || int(song) >= len(e.prog.Songs) {
		e.unknown++
		return
	}
	e.keep()
	e.play.choose(song, pos, e.prog.RunsOn)
}

// nextSong returns the song after the present one in the set list, or None.
func (e *Engine) nextSong() int32 {
	list := e.prog.SetList
	if e.play.song == None && len(list) > 0 {
		return list[0]
	}
	for i, s := range list {
		if s == e.play.song && i+1 < len(list) {
			return list[i+1]
		}
	}
	return None
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
	case !pos.Playing:
		p.enter(&song.Sections[section], pos.Beat)
	case arm:
		p.arm(song, section, c.When, pos)
	default:
		p.enter(&song.Sections[section], pos.Beat.RoundTo(grid))
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
