package smf

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/protocol/midi"
	"tactus/shows/language"
)

// Import is a song read from a Standard MIDI File. It has no looks or cues yet.
type Import struct {
	Song  engine.Song // name, tempos, meters, and sections with guessed energies
	Marks []Mark      // by section: the marker it came from
	Left  []string    // sentences about what was moved or left out
	// Unmarked is true for a file without markers: its sections are not those of a person.
	Unmarked bool
	// Head is a comment for the head of the song's file, whole lines; "" for that of a MIDI file.
	Head string
}

// Mark is the marker that a section came from.
type Mark struct {
	Text string // the marker's text; "" if there is no marker
	Kind Kind
	Key  string // the section's name in the song file; the loader numbers repeated names
	// Reason says why a section is proposed that no marker asked for; "" if one did.
	Reason string
	energy int8 // of a proposed section
}

// Limits of a song file.
const (
	maxSections = 128
	maxBars     = 999
	maxChanges  = 2000
)

// Read returns the song in a file of format 0 or 1: name, tempos, meters, and a section
// for each marker. It uses name if the file has none.
//
// It returns the errors of midi.ParseFile, ErrEmpty for a file without length, and
// ErrLong for a section of more than 999 bars.
func Read(src []byte, name string) (*Import, error) {
	file, err := midi.ParseFile(src)
	if err != nil {
		return nil, err
	}
	if file.Ticks == 0 {
		return nil, fmt.Errorf("%w: the file has no length", ErrEmpty)
	}
	r := reader{file: file, notes: file.Notes(), Import: &Import{}}
	r.Song = engine.Song{Name: SongName(file.Name, name), Program: -1, Meter: engine.Meter{Upper: 4, Lower: 4}, Tempo: clock.BPM(120)}
	r.meters()
	r.sections()
	r.tempos()
	for i := range r.Song.Sections {
		if s := &r.Song.Sections[i]; r.Song.SectionBars(int32(i)) > maxBars {
			return nil, fmt.Errorf("%w: %s has %d bars, at most %d", ErrLong, s.Name, r.Song.SectionBars(int32(i)), maxBars)
		}
	}
	return r.Import, nil
}

// SongName makes a song's name from the first text that is not empty: 100 letters at
// most, with single spaces. It returns "song" if all are empty.
func SongName(texts ...string) string {
	for _, t := range texts {
		t = strings.Join(strings.Fields(strings.ReplaceAll(t, "·", " ")), " ")
		if r := []rune(t); len(r) > 100 {
			t = strings.TrimSpace(string(r[:100]))
		}
		if t != "" {
			return t
		}
	}
	return "song"
}

type reader struct {
	*Import
	file  *midi.File
	notes []midi.Note
	ended bool // a marker says where the song ends
}

func (r *reader) addRemark(format string, args ...any) {
	r.Left = append(r.Left, fmt.Sprintf(format, args...))
}

// beat converts ticks of the file to beats.
func (r *reader) beat(tick int64) clock.Beat {
	d := clock.Beat(r.file.Division)
	t := clock.Beat(tick)
	return t/d*clock.Quarter + (t%d*clock.Quarter+d/2)/d
}

// offGrid reports whether at and exact differ by more than a tick or a quarter of a MIDI
// clock, whichever is shorter.
func (r *reader) offGrid(at, exact clock.Beat) bool {
	return max(at-exact, exact-at) > min(r.beat(1), clock.Tick/4)
}

// where prints a place as bar and beat, counted from 1 at the start of the file.
func (r *reader) where(at clock.Beat) string {
	bar, start, m := r.bar(at)
	return fmt.Sprintf("bar %d beat %d", bar+1, (at-start)/m.Beat()+1)
}

// bar returns the number of the bar at a place, from 0 at the start of the file, the
// bar's start, and its meter.
func (r *reader) bar(at clock.Beat) (int64, clock.Beat, engine.Meter) {
	whole := engine.Song{Meter: r.Song.Meter, Meters: r.Song.Meters}
	whole.Sections = []engine.Section{{Length: 1 << 60}}
	return whole.BarAt(at)
}

// meters reads the meters. A change inside a bar cuts that bar short and gives it its
// own meter, so that downbeats stay in place.
func (r *reader) meters() {
	for i, x := range r.file.Meters {
		if len(r.Song.Meters) >= maxChanges {
			r.addRemark("%s", language.Count(len(r.file.Meters)-i, "more meter change"))
			return
		}
		m, err := engine.NewMeter(x.Beats, x.Unit)
		exact := r.beat(x.Tick)
		at := exact.RoundTo(clock.Sixteenth)
		if r.offGrid(at, exact) {
			r.addRemark("%s: the meter %d/%d begins off the sixteenths; taken to the nearest", r.where(at), x.Beats, x.Unit)
		}
		if err != nil {
			r.addRemark("%s: %v; as before", r.where(at), err)
			continue
		}
		if n := len(r.Song.Meters); n > 0 && r.Song.Meters[n-1].At >= at { // of changes at the same place the last counts
			r.Song.Meters = r.Song.Meters[:n-1]
		}
		if at == 0 {
			r.Song.Meter = m
			continue
		}
		r.cutBar(at, x.Beats, x.Unit)
		if m != r.Song.MeterAt(at) {
			r.Song.Meters = append(r.Song.Meters, engine.MeterChange{At: at, Meter: m})
		}
	}
}

// cutBar ends the bar at a place inside it, and gives it a shorter meter.
func (r *reader) cutBar(at clock.Beat, upper, lower int) {
	_, start, m := r.bar(at)
	if start == at {
		return
	}
	short := shortBar(at-start, m)
	r.addRemark("%s: the meter %d/%d begins inside a bar; the bar before is one of %s", r.where(at), upper, lower, short)
	if n := len(r.Song.Meters); n > 0 && r.Song.Meters[n-1].At == start {
		r.Song.Meters = r.Song.Meters[:n-1]
	}
	if start == 0 {
		r.Song.Meter = short
	} else {
		r.Song.Meters = append(r.Song.Meters, engine.MeterChange{At: start, Meter: short})
	}
}

// shortBar returns a meter for a bar of a length, with the lower number of m if
// possible.
func shortBar(length clock.Beat, m engine.Meter) engine.Meter {
	for _, lower := range []uint8{m.Lower, 4, 8, 16} {
		if unit := 4 * clock.Quarter / clock.Beat(lower); length%unit == 0 && length/unit <= 32 {
			return engine.Meter{Upper: uint8(length / unit), Lower: lower}
		}
	}
	return engine.Meter{Upper: 1, Lower: 16}
}

// tempos reads the tempo map and moves each change to the nearest beat.
func (r *reader) tempos() {
	song, between, replaced := &r.Song, 0, 0
	for i, x := range r.file.Tempos {
		exact := r.beat(x.Tick)
		at := r.nearestBeat(exact)
		if at >= song.Length() {
			continue
		}
		if r.offGrid(at, exact) {
			between++
		}
		tempo, ok := asWritten(x.MicrosPerQuarter, song.MeterAt(at))
		if !ok {
			r.addRemark("%s: %.4g quarter notes a minute; %v is the nearest", r.where(at), 60e6/float64(x.MicrosPerQuarter), tempo)
		}
		if n := len(song.Tempos); n > 0 && song.Tempos[n-1].At >= at {
			song.Tempos = song.Tempos[:n-1]
			replaced++
		}
		switch {
		case at == 0:
			song.Tempo = tempo
		case tempo == song.TempoAt(at):
		case len(song.Tempos)+len(song.Meters) >= maxChanges:
			r.addRemark("%d more tempo changes", len(r.file.Tempos)-i)
			return
		default:
			song.Tempos = append(song.Tempos, engine.TempoChange{At: at, Tempo: tempo})
		}
	}
	if between > 0 {
		r.addRemark("%s between beats, taken to the nearest; of those on one beat the last counts", language.Count(between, "tempo change"))
	} else if replaced > 0 {
		r.addRemark("%s on one beat with the next, which counts", language.Count(replaced, "tempo change"))
	}
}

// nearestBeat returns the beat nearest to a place.
func (r *reader) nearestBeat(at clock.Beat) clock.Beat {
	_, start, m := r.Song.BarAt(at)
	low := start + (at - start).FloorTo(m.Beat())
	high := r.Song.NextBeat(low)
	if high-at <= at-low {
		return high
	}
	return low
}

// asWritten returns a tempo as a song file writes it: in the beats of m, with the
// fewest decimals that give the same microseconds a quarter note. If the tempo is out
// of range it returns the nearest one allowed, and false.
func asWritten(micros int64, m engine.Meter) (clock.Tempo, bool) {
	bpm := float64(60e6/float64(micros)) * float64(clock.Quarter) / float64(m.Beat())
	low := math.Ceil(1000*max(10, m.PerBeat(clock.MinTempo).BPM())) / 1000
	high := math.Floor(1000*min(500, m.PerBeat(clock.MaxTempo).BPM())) / 1000
	if bpm < low || bpm > high {
		return m.Quarters(clock.BPM(min(max(bpm, low), high))), false
	}
	for scale := 1.0; scale <= 1000; scale *= 10 {
		t := m.Quarters(clock.BPM(float64(int64(bpm*scale+0.5)) / scale))
		if microsPerQuarter(t) == micros {
			return t, true
		}
	}
	return m.Quarters(clock.BPM(float64(int64(bpm*1000+0.5)) / 1000)), true
}

// signed reports whether this program wrote the file's markers.
func (r *reader) signed() bool { return slices.Contains(r.file.Texts, Signature) }
