package shows

import (
	"fmt"
	"net/netip"
	"regexp"
	"strconv"
	"strings"

	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/protocol/osc"
	"tactus/shows/language"
)

// Messages are the destinations of the messages that cues send.
type Messages struct {
	MIDI string         // a MIDI output as midi.OpenOutput has it, or ""
	OSC  netip.AddrPort // or not valid
}

// MostOSC is how many octets a cue's OSC message may have.
const MostOSC = 512

func (c *compiler) messages() Messages {
	v := c.show.Get("sends to")
	to, _ := netip.ParseAddrPort(v.Get("osc").Word())
	return Messages{MIDI: v.Get("midi").Word(), OSC: to}
}

// sends compiles messages and returns their indexes. Equal messages are kept once.
func (c *compiler) sends(v *language.Value) []int32 {
	var list []int32
	for _, item := range v.Items() {
		var s engine.Send
		switch m, o := item.Get("midi"), item.Get("osc"); {
		case m != nil:
			s = engine.Send{To: engine.ToMIDI, Bytes: midiOctets(m.Text), Text: m.Text}
		case o != nil:
			s = engine.Send{To: engine.ToOSC, Bytes: oscOctets(o.Text), Text: o.Text}
			if len(s.Bytes) > MostOSC {
				c.At(o, fmt.Sprintf("the message has %d octets", len(s.Bytes)), fmt.Sprintf("at most %d", MostOSC), "")
			}
		default:
			continue // a fault of its own
		}
		list = append(list, c.sendIndex(s))
	}
	return list
}

func (c *compiler) sendIndex(s engine.Send) int32 {
	p := c.program
	for i := range p.Sends {
		if p.Sends[i].To == s.To && p.Sends[i].Text == s.Text {
			return int32(i)
		}
	}
	p.Sends = append(p.Sends, s)
	return int32(len(p.Sends) - 1)
}

// midiOctets compiles "note 60 at 100 on 2", "program 5 on 2" or "control 7 to 100 on
// 2". A note ends at once, so that none is left sounding.
func midiOctets(text string) []byte {
	w := strings.Fields(text)
	n := func(i int) uint8 {
		v, _ := strconv.Atoi(w[i])
		return uint8(v)
	}
	channel := n(len(w) - 1)
	switch w[0] {
	case "note":
		velocity := uint8(100)
		if w[2] == "at" {
			velocity = n(3)
		}
		on, off := midi.NewNoteOn(channel, n(1), velocity), midi.NewNoteOff(channel, n(1))
		return off.AppendTo(on.AppendTo(nil))
	case "program":
		m := midi.NewProgramChange(channel, n(1)-1)
		return m.AppendTo(nil)
	}
	m := midi.NewControlChange(channel, n(1), n(3))
	return m.AppendTo(nil)
}

var oscWord = regexp.MustCompile(`'[^']*'|[^ ]+`)

// oscOctets compiles "/slides/show 3 0.5 'verse one'": whole numbers are int32,
// numbers with a point float32, all else is text.
func oscOctets(text string) []byte {
	w := oscWord.FindAllString(text, -1)
	m := osc.Message{Address: w[0]}
	for _, arg := range w[1:] {
		if n, err := strconv.ParseInt(arg, 10, 32); err == nil {
			m.Args = append(m.Args, osc.Int(int32(n)))
		} else if f, err := strconv.ParseFloat(arg, 32); err == nil {
			m.Args = append(m.Args, osc.Float(float32(f)))
		} else {
			m.Args = append(m.Args, osc.Text(strings.Trim(arg, "'")))
		}
	}
	return m.AppendTo(nil)
}

// callSections numbers the names of a song's sections, for commands that name one.
func (c *compiler) callSections(s *engine.Song) {
	for i := range s.Sections {
		name := s.Sections[i].Name
		if c.called[name] == 0 {
			c.program.SectionNames = append(c.program.SectionNames, name)
			c.called[name] = int32(len(c.program.SectionNames))
		}
		s.Sections[i].NameNumber = c.called[name]
	}
}
