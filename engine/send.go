package engine

// SendTo is how a message is sent.
type SendTo uint8

// The ways.
const (
	ToMIDI SendTo = iota
	ToOSC
)

// Send is a message that a cue sends besides its light, such as one that changes a
// slide. It is encoded when the show is loaded.
type Send struct {
	To    SendTo
	Bytes []byte // ToMIDI: whole messages with their status; ToOSC: one packet
	Text  string // as in the show's files, for screens
}

// AppendTo adds the octets to b.
func (s *Send) AppendTo(b []byte) []byte { return append(b, s.Bytes...) }

// Messages sends the messages of cues: once when a cue begins, after the universes of that
// frame. Deliver must not block, and must not keep or change s.
type Messages interface {
	Deliver(s *Send)
}

// updateSends makes the present cue's messages leave with this frame if it has begun
// since the frame before. While the light is held, none leave; after the release those of
// the cue that is present then leave.
func (s *State) updateSends() {
	s.sendsNow = !s.held && s.cuesBegun != s.cuesSent
	if s.sendsNow {
		s.cuesSent = s.cuesBegun
	}
}

// keepsLight reports whether the light stays as it is: between the present cue, or the
// light before the song, and the next one are only cues with SendsOnly.
func (s *State) keepsLight(song *Song, now shownCue) bool {
	cues := song.list(now.list)
	if c := &cues[lightCue(cues, now.cue)]; c.SendsOnly && len(c.Parts)+len(c.Effects) == 0 {
		return true
	}
	if s.play.cue == None || s.shown.song != now.song || s.shown.list != now.list {
		return false
	}
	return lightCue(cues, s.shown.cue) == lightCue(cues, now.cue)
}

// lightCue returns the index of the cue that set the light of cue i of a list: i itself,
// or the last one before it that does more than send.
func lightCue(cues []Cue, i int32) int32 {
	for i > 0 && cues[i].SendsOnly {
		i--
	}
	return i
}

// lightIn returns the cue whose light the present one has: itself, or the one before it
// if it only sends; nil for none.
func (n shownCue) lightIn(p *Program) *Cue {
	if n.cue == None || n.song == None {
		return n.cueIn(p)
	}
	list := p.Songs[n.song].list(n.list)
	return &list[lightCue(list, n.cue)]
}

// DueSends returns the messages of the last frame, as indexes into Program.Sends.
func (e *Engine) DueSends() []int32 {
	if c := e.shown.cueIn(e.prog); c != nil && e.sendsNow {
		return c.Sends
	}
	return nil
}

func (l *Loop) deliverSends() {
	if l.config.Messages == nil {
		return
	}
	for _, i := range l.engine.DueSends() {
		l.config.Messages.Deliver(&l.engine.prog.Sends[i])
	}
}
