package engine

import "tactus/clock"

// SendTo is the way that a message leaves by.
type SendTo uint8

// The ways.
const (
	ToMIDI SendTo = iota
	ToOSC
)

// Send is what a cue sends besides its light, for slides and backgrounds to
// change with it. It is made ready at load: the engine does not look inside.
type Send struct {
	To    SendTo
	Bytes []byte // ToMIDI: whole messages with their status; ToOSC: one packet
	Text  string // as the show says it, for screens
}

// AppendTo adds the octets to b.
func (s *Send) AppendTo(b []byte) []byte { return append(b, s.Bytes...) }

// Messages takes what cues send, once when the cue begins, right after the
// first universes of the same frame have left. Deliver must not wait, and must
// not keep or change s.
type Messages interface {
	Deliver(s *Send)
}

// updateSends says with each frame whether the cue in force has something to send:
// it has begun since the frame before. What begins while the light is held waits
// for the release, and then it is the cue in force that is sent.
func (s *State) updateSends() {
	s.sendsNow = !s.held && s.cuesBegun != s.cuesSent
	if s.sendsNow {
		s.cuesSent = s.cuesBegun
	}
}

// restartsCue reports whether the music has been taken, by a jump or an entry, to the
// place of a cue or before it, so that the cue begins again.
func (s *State) restartsCue(c *Cue, landed bool, heard clock.Beat) bool {
	return landed && max(heard-s.play.origin, s.play.earliest) <= c.At
}

// keepsLight reports whether a cue goes on with the light that is in force: there are
// none but cues that only send from one cue to the other, or from the light
// before the song on.
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

// lightCue returns the cue whose light holds in cue i of a list.
func lightCue(cues []Cue, i int32) int32 {
	for i > 0 && cues[i].SendsOnly {
		i--
	}
	return i
}

// DueSends returns what leaves with the last frame, as indexes into Program.Sends.
func (e *Engine) DueSends() []int32 {
	if !e.sendsNow {
		return nil
	}
	if c := e.shown.cueIn(e.prog); c != nil {
		return c.Sends
	}
	return nil
}

// deliverSends hands over what the last frame sends.
func (l *Loop) deliverSends() {
	if l.messages == nil {
		return
	}
	for _, i := range l.engine.DueSends() {
		l.messages.Deliver(&l.engine.prog.Sends[i])
	}
}
