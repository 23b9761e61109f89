package plot

import (
	"tactus/clock"
	"tactus/shows/sheet"
)

// lookSpan is how long a look lasts in a song.
type lookSpan struct {
	name     string
	from, to clock.Time
}

// lookSpans lists the song's looks in order. Cues that keep the look lengthen it.
func (d *score) lookSpans() (spans []lookSpan) {
	for i := range d.written.Cues {
		cue := &d.written.Cues[i]
		at := d.written.TimeAt(max(0, cue.At))
		if n := len(spans); cue.SendsOnly || cue.At >= d.song.Length || n > 0 && spans[n-1].name == cue.Name {
			continue
		}
		if n := len(spans); n > 0 {
			spans[n-1].to = at
		}
		spans = append(spans, lookSpan{cue.Name, at, d.song.Time})
	}
	return spans
}

// writeLooks writes the name of each look at its start: whole, smaller, shortened, or
// upwards. A look of less than about a millimetre has a tick alone.
func (d *score) writeLooks(y, high float64) {
	spans := d.lookSpans()
	if len(spans) > 0 {
		d.Bold(d.time.x-7, y+high/2+0.9, 2.7, sheet.End, sheet.Black, "look")
	}
	for _, s := range spans {
		x := d.time.at(s.from)
		room := d.time.at(s.to) - x - 1.2
		d.Line(x, y, x, y+high, 0.5, sheet.Strong)
		text, size := d.lookName(s.name, room)
		if text != "" {
			d.Words(x+0.8, y+high/2+size/3, size, sheet.Start, sheet.Black, text)
		} else if room > 0 {
			d.Write(sheet.Words{X: x + 1.6, Y: y + high - 0.3, Size: 1.7, Turned: true, Ink: sheet.Black, Text: d.Fits(s.name, 1.7, high-0.6, false)})
		}
	}
}

// lookName returns a look's name and its size in millimetres for the room along the
// song, or "" if even a shortened name does not fit.
func (d *score) lookName(name string, room float64) (text string, size float64) {
	for _, size := range []float64{2.7, 2.2} {
		if d.Width(name, size, false) <= room {
			return name, size
		}
	}
	const small = 2.0
	if short := d.Fits(name, small, room, false); short == name || len([]rune(short)) > 3 {
		return short, small
	}
	return "", 0
}
