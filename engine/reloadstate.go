package engine

import "tactus/clock"

// carryState returns the new program's state after the frame at pos. It is a pure
// function. Song, section, the place in it, pass, hold, overrides, masters and what
// is armed stay, also where earlier sections have another length now. What the new
// program lacks is counted in State.lost, and the light stays: until the next
// section that the new program has, or outside songs until the next cue.
func (r *Reload) carryState(s State, pos clock.Position) State {
	t := &s.play
	t.setListIndex = r.carryPlace(t.setListIndex)
	r.carryOverrides(&s)
	in := t.song != None && t.live && t.cue != None && s.shown.song == t.song && t.keepLightUntil != noMark // the song's cue is present
	if !in {
		had := s.shown.cue != None
		s.shown = r.carryShown(s.shown)
		if had && s.shown.cue == None {
			s.lost++
		}
	}
	if t.song != None {
		r.carrySong(&s, pos, in)
	}
	for _, waits := range [...]*int32{&t.armed.song, &t.programSong} {
		if r.carrySongIndex(waits) {
			s.lost++
		}
	}
	r.carrySongIndex(&t.left.song)
	t.left.place = r.carryPlace(t.left.place)
	r.carrySongIndex(&s.programs.Song)
	if in && t.song != None {
		r.findCue(&s, pos)
	}
	return s
}

// carryPlace returns where a place of the old set list stands in the new one.
func (r *Reload) carryPlace(place int) int {
	if place < 0 || place >= len(r.places) {
		return place
	}
	return int(r.places[place])
}

// carrySongIndex makes an index of the old program's songs one of the new program's. It
// reports whether the song is gone, and then makes it None.
func (r *Reload) carrySongIndex(song *int32) (lost bool) {
	if *song == None {
		return false
	}
	*song = r.songs[*song]
	return *song == None
}

// findCue finds the present cue in the new program, and does not start it again.
func (r *Reload) findCue(s *State, pos clock.Position) {
	was := *s
	s.shown, s.play.cue = shownCue{song: None, cue: None}, None
	s.play.programSong = None // it begins with a frame
	s.pickCue(r.prog, pos)
	now := *s
	now.play.programSong = was.play.programSong
	*s = was
	if now.shown.cue == None && now.play.keepLightUntil == 0 { // before the first cue of a song that was restarted
		s.play, s.shown = now.play, r.carryShown(was.shown)
		s.play.cue = s.shown.cue
		return
	}
	s.play, s.shown, s.effectsOrigin, s.effectsEarliest, s.feel = now.play, now.shown, now.effectsOrigin, now.effectsEarliest, now.feel
}

// carrySong takes over playback. The present section stays where it is on the
// transport.
func (r *Reload) carrySong(s *State, pos clock.Position, in bool) {
	t := &s.play
	old, to, plan := &r.old.Songs[t.song], r.songs[t.song], &r.sectionMaps[t.song]
	if to == None {
		s.lost++
		if in {
			s.shown = shownCue{song: None, cue: None}
		}
		t.song, t.cue, t.section, t.live = None, None, None, false
		armed := t.armed
		t.disarm()
		if armed.song != None {
			t.armed = armed
		}
		t.end, t.keepLightUntil = 0, 0
		t.passes = [MaxSections]uint8{}
		return
	}
	song := &r.prog.Songs[to]
	by, stay := plan.sectionShift(old, song, t, pos)
	if t.section != None && plan.sections[t.section] == None {
		s.lost++
	}
	for _, a := range [...]*armed{&t.armed, &t.soon} {
		r.carryArmed(s, a, old, song, plan, by, pos)
	}
	passes := t.passes
	t.passes = [MaxSections]uint8{}
	for i, j := range plan.sections[:min(len(plan.sections), MaxSections)] {
		if j != None && j < MaxSections {
			t.passes[j] = passes[i]
		}
	}
	if t.section != None {
		t.section = plan.sections[t.section]
	}
	t.song, t.noteGrid, t.end, t.keepLightUntil = to, song.noteGrid(), song.Length(), stay
	t.origin -= by
	if t.earliest != noEarliest {
		t.earliest += by
	}
	if !in {
		t.cue = None
		if s.shown.song == to {
			t.cue = s.shown.cue
		}
		return
	}
	s.effectsOrigin -= by
	if s.effectsEarliest != noEarliest {
		s.effectsEarliest += by
	}
	s.feel.shift(by)
}

// sectionShift returns how much later in the song the present section begins now, and
// 0. If it is gone, it returns the shift of the next section that is left, and the
// place of that one, until which the light stays.
func (p *sectionMap) sectionShift(old, song *Song, t *playback, pos clock.Position) (by, stay clock.Beat) {
	k := t.section
	if t.keepLightUntil == noMark {
		return song.Length() - old.Length(), noMark
	}
	if k == None {
		if t.keepLightUntil > 0 && t.songBeat(pos) < t.keepLightUntil { // since an earlier edit
			if i := old.sectionAt(t.keepLightUntil); i != None && p.sections[i] != None {
				by = song.Sections[p.sections[i]].Start - old.Sections[i].Start
			} else {
				by = song.Length() - old.Length()
			}
			return by, t.keepLightUntil + by
		}
		if t.live && len(old.Sections) > 0 && t.songBeat(pos) >= old.Length() {
			by = song.Length() - old.Length()
		}
		return by, 0
	}
	if j := p.sections[k]; j != None {
		return song.Sections[j].Start - old.Sections[k].Start, 0
	}
	if n := p.nextKept[k]; n != None {
		start := song.Sections[p.sections[n]].Start
		return start - old.Sections[n].Start, start
	}
	return song.Length() - old.Length(), song.Length()
}

// carryArmed keeps what is armed on its beat. If that is the end of the present
// section, it moves with the end, unless that has passed.
func (r *Reload) carryArmed(s *State, a *armed, old, song *Song, p *sectionMap, by clock.Beat, pos clock.Position) {
	t := &s.play
	if a.section == None {
		return
	}
	if a.section = p.sections[a.section]; a.section == None {
		s.lost++
		return
	}
	here := t.songBeat(pos) + by
	k := t.section
	atEnd := k != None && p.sections[k] != None && a.when == SectionEnd && a.boundary == old.Sections[k].Start+old.Sections[k].Length
	a.boundary += by
	if atEnd {
		now := &song.Sections[p.sections[k]]
		if end := now.Start + now.Length; end > here {
			a.boundary = end
		}
	}
}

// carryShown finds the present look by its name, or the present cue by its place in
// its section.
func (r *Reload) carryShown(was shownCue) shownCue {
	gone := shownCue{song: None, cue: None}
	if was.cue == None {
		return gone
	}
	if was.song == None {
		return shownCue{song: None, cue: r.looks[was.cue]}
	}
	to := r.songs[was.song]
	if to == None {
		return gone
	}
	old, song, plan := &r.old.Songs[was.song], &r.prog.Songs[to], &r.sectionMaps[was.song]
	at := old.list(was.list)[was.cue].At
	if i := old.sectionAt(at); i != None {
		if plan.sections[i] == None {
			return gone
		}
		at += song.Sections[plan.sections[i]].Start - old.Sections[i].Start
	} else if at >= old.Length() {
		at += song.Length() - old.Length()
	}
	now := shownCue{song: to, list: 0}
	if was.list != 0 {
		v := &old.Variants[was.list-1]
		for i := range song.Variants {
			if n := &song.Variants[i]; n.Pass == v.Pass && n.Section == plan.sections[v.Section] {
				now.list = cueList(i + 1)
			}
		}
	}
	cues := song.list(now.list)
	now.cue = cueAt(cues, at)
	if now.cue == None || cues[now.cue].At != at {
		return gone
	}
	return now
}

func (r *Reload) carryOverrides(s *State) {
	full := fullMasters().groups
	groups := s.masters.groups
	s.masters.groups = full
	for i, j := range r.groups[:min(len(r.groups), MaxGroups)] {
		if j != None && j < MaxGroups {
			s.masters.groups[j] = groups[i]
		} else if groups[i] != full[0] {
			s.lost++
		}
	}
	for i := range s.overrides.list {
		h := &s.overrides.list[i]
		if h.amount == (slide{}) || int(h.group) >= len(r.groups) {
			continue
		}
		if to := r.groups[h.group]; to != None {
			h.group = to
		} else {
			*h = override{}
			s.lost++
		}
	}
}
