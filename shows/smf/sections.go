package smf

import (
	"fmt"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows/language"
)

// found is a marker on a bar line.
type found struct {
	at clock.Beat
	Mark
}

// sections makes a section from each marker, or from each cue point if there are no
// markers.
func (r *reader) sections() {
	list, end := r.cutEnd(r.onBars(r.barUp(r.beat(r.file.Ticks))), r.barUp(r.beat(r.file.Ticks)))
	end = r.cutSilence(list, end)
	if r.Unmarked = len(list) == 0; r.Unmarked {
		list = r.propose(end)
	}
	if len(list) == 0 {
		r.addRemark("no markers: the whole song is one section")
		list = []found{{Mark: Mark{Key: "song"}}}
	}
	if list[0].at > 0 {
		bar, _, _ := r.bar(list[0].at)
		r.addRemark("%s before the first marker: a section of their own", language.Count(bar, "bar"))
		first := found{Mark: Mark{Kind: CountIn, Key: "count-in"}}
		if bar > 2 {
			first.Mark = Mark{Kind: Intro, Key: "opening"}
		}
		list = append([]found{first}, list...)
	}
	if len(list) > maxSections {
		r.addRemark("%d markers after the first %d", len(list)-maxSections, maxSections)
		list = list[:maxSections]
	}
	for i, f := range list {
		to := end
		if i+1 < len(list) {
			to = list[i+1].at
		}
		r.Song.Sections = append(r.Song.Sections, engine.Section{Start: f.at, Length: to - f.at, Note: engine.NoNote})
		r.Marks = append(r.Marks, f.Mark)
	}
	r.nameSections()
	r.guess()
	// Drop the meters at or after the end of the last section.
	r.Song.Meters = slices.DeleteFunc(r.Song.Meters, func(c engine.MeterChange) bool { return c.At >= end })
}

// cutSilence returns the end of the song: the end of the bar in which the last note
// ends, if the file goes on after it. What a person marked counts: a marker "End", and a
// section whose marker comes after the last note. That section lasts to the end of the
// file, but not longer than the longest section before it.
//
// Notes that all begin with a section are not music but enter sections, as WriteSong
// writes them: then the file's end is the song's.
func (r *reader) cutSilence(list []found, end clock.Beat) clock.Beat {
	if r.signed() || r.ended {
		return end
	}
	last, music := clock.Beat(0), false
	for _, n := range r.notes {
		last = max(last, r.beat(n.End))
		at := r.beat(n.Tick)
		music = music || !slices.ContainsFunc(list, func(f found) bool { return f.at == at })
	}
	if !music {
		return end
	}
	to := r.barUp(last)
	if n := len(list) - 1; n >= 0 && list[n].at >= to {
		_, start, m := r.bar(list[n].at)
		to = max(start+m.Bar(), r.barUp(start+min(end-start, longestBefore(list))))
	}
	if to >= end {
		return end
	}
	bars := r.barsUntil(end) - r.barsUntil(to)
	r.addRemark("%s without notes at the end: left out; where the song is longer, put a marker \"End\" at its end", language.Count(bars, "bar"))
	return to
}

// longestBefore returns the length of the longest section before the last.
func longestBefore(list []found) clock.Beat {
	longest, from := clock.Beat(0), clock.Beat(0)
	for _, f := range list {
		longest, from = max(longest, f.at-from), f.at
	}
	return longest
}

// barsUntil counts the bars before a bar line.
func (r *reader) barsUntil(at clock.Beat) int64 {
	return (&engine.Song{Meter: r.Song.Meter, Meters: r.Song.Meters}).BarsUntil(0, at)
}

// barUp returns the bar line at or after a place. A place less than a sixteenth after
// a bar line counts as on the line, since the end of a note may overlap it.
func (r *reader) barUp(at clock.Beat) clock.Beat {
	_, start, m := r.bar(at)
	if at-start < clock.Sixteenth && start > 0 {
		return start
	}
	return start + m.Bar()
}

// onBars moves each marker to the nearest bar line and keeps one marker a bar: the
// first of a known kind, or else the first.
func (r *reader) onBars(end clock.Beat) (list []found) {
	marks := slices.Clone(r.file.Markers)
	if slices.ContainsFunc(marks, func(m midi.Marker) bool { return !m.Cue }) {
		marks = slices.DeleteFunc(marks, func(m midi.Marker) bool { return m.Cue })
	}
	letters := slices.ContainsFunc(marks, func(m midi.Marker) bool { return strings.TrimSpace(m.Text) == "A" })
	for _, m := range marks {
		f := found{at: r.barNear(r.beat(m.Tick), m.Text), Mark: Mark{Text: m.Text}}
		f.Kind, f.Key = understand(m.Text, letters)
		if r.signed() && nameOf(m.Text) == m.Text {
			f.Key = m.Text
		}
		if f.Key == "" {
			r.addRemark("%s: a marker without a name; its section is called \"part\"", r.where(f.at))
			f.Key = "part"
		}
		f.at = min(f.at, end)
		if n := len(list) - 1; n >= 0 && list[n].at == f.at {
			drop := f
			if list[n].Kind == Unknown && f.Kind != Unknown {
				drop, list[n] = list[n], f
			}
			r.addRemark("%s: marker %q; one section begins in a bar", r.where(f.at), drop.Text)
			continue
		}
		list = append(list, f)
	}
	return list
}

// barNear returns the nearest bar line.
func (r *reader) barNear(at clock.Beat, text string) clock.Beat {
	_, start, m := r.bar(at)
	near := start
	if at-start > m.Bar()/2 {
		near += m.Bar()
	}
	if r.offGrid(near, at) {
		r.addRemark("%s: marker %q is off the bar; taken to the nearest", r.where(at), text)
	}
	return near
}

// cutEnd removes the last markers if they are at the end of the file or mark the end of
// the song. It returns the markers left and the song's end.
func (r *reader) cutEnd(list []found, end clock.Beat) ([]found, clock.Beat) {
	for n := len(list) - 1; n >= 0; n-- {
		f := &list[n]
		if f.at > 0 && (f.at >= end || f.Kind == End && !r.signed()) {
			if r.ended = true; f.Kind != End {
				r.addRemark("marker %q at the end of the file", f.Text)
			}
			end = f.at
			list = list[:n]
			continue
		}
		break
	}
	return list, end
}

// nameSections names the sections as the loader will: repeated names get numbers. The
// file's own numbers stay if no two sections have the same name.
func (r *reader) nameSections() {
	for i := range r.Marks {
		if stem, _ := splitName(r.Marks[i].Key); r.distinct(stem) {
			r.Song.Sections[i].Name = r.Marks[i].Key
		}
	}
	nth := map[string]int{}
	for i := range r.Marks {
		stem, _ := splitName(r.Marks[i].Key)
		nth[stem]++
		name := fmt.Sprintf("%s %d", stem, nth[stem])
		switch s := &r.Song.Sections[i]; s.Name {
		case "": // two have the same name: number them again
			r.Marks[i].Key, s.Name = stem, name
		case name: // if all have the loader's numbers, leave the numbering to it
			if r.inOrder(stem) {
				r.Marks[i].Key = stem
			}
		}
	}
}

// splitName splits "verse 2" into "verse" and "2"; the number is "" if there is none.
func splitName(name string) (stem, number string) {
	if i := strings.LastIndexByte(name, ' '); i > 0 && i+1 < len(name) && name[i+1] != '0' && strings.Trim(name[i+1:], "0123456789") == "" {
		return name[:i], name[i+1:]
	}
	return name, ""
}

// distinct reports whether all sections with a stem have different names.
func (r *reader) distinct(stem string) bool {
	seen := map[string]bool{}
	for i := range r.Marks {
		if s, _ := splitName(r.Marks[i].Key); s == stem {
			if seen[r.Marks[i].Key] {
				return false
			}
			seen[r.Marks[i].Key] = true
		}
	}
	return true
}

// inOrder reports whether there are several sections with a stem, numbered 1, 2, 3 in
// order.
func (r *reader) inOrder(stem string) bool {
	n := 0
	for i := range r.Song.Sections {
		if s, number := splitName(r.Song.Sections[i].Name); s == stem {
			if n++; number != fmt.Sprint(n) {
				return false
			}
		}
	}
	return n > 1
}

// guess sets the energy of each section from its kind.
func (r *reader) guess() {
	kinds := make([]Kind, len(r.Marks))
	for i, m := range r.Marks {
		kinds[i] = m.Kind
	}
	for i, energy := range energiesOf(kinds) {
		if m := &r.Marks[i]; m.Reason != "" {
			energy = m.energy
		}
		r.Song.Sections[i].Energy = energy
	}
}
