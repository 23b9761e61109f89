package hearing

import (
	"errors"
	"fmt"
	"io"
	"math"

	"tactus/shows/hearing/loudness"
	"tactus/shows/hearing/sound"
	"tactus/shows/smf"
)

// Take is a recording as it was heard: what is measured of it once, whatever it is taken to
// be.
type Take struct {
	Format  sound.Format
	Seconds float64
	Cut     bool // the file ends before its own end

	features *features
	loud     *loudness.Meter
}

// Longest is how long a recording may be, in seconds: a song, and a rehearsal of one.
const Longest = 20 * 60

// Errors of Open and Song, wrapped with what was found.
var (
	ErrLong   = fmt.Errorf("longer than %d minutes: cut the song out of it", Longest/60)
	ErrNoSong = errors.New("no song was heard")
)

// Open reads a recording and measures it. progress is called with the share done, 0..1; it
// may be nil. It returns the errors of [sound.Read], ErrLong, and ErrNoSong for a recording
// that is too short or silent.
func Open(r io.Reader, progress func(done float64)) (*Take, error) {
	if progress == nil {
		progress = func(float64) {}
	}
	in := &intake{}
	format, cut, err := sound.Read(r, in.write)
	if err != nil {
		return nil, err
	}
	t := &Take{Format: format, Cut: cut, loud: in.loud}
	samples := in.mono.Samples()
	t.Seconds = float64(len(samples)) / rate
	if t.Seconds < shortest {
		return nil, fmt.Errorf("%w: the recording is %.1f s long, want %d at least", ErrNoSong, t.Seconds, shortest)
	}
	if t.loud.Integrated() <= -70 {
		return nil, fmt.Errorf("%w: the recording is silent", ErrNoSong)
	}
	t.features = hear(samples, progress)
	return t, nil
}

// intake takes a recording in as it is read.
type intake struct {
	mono   *sound.Resampler
	loud   *loudness.Meter
	frames int // taken in
}

// write is a [sound.Sink]. It returns ErrLong when there is more than a song may have.
func (in *intake) write(f sound.Format, block [][]float32) error {
	if in.mono == nil {
		in.mono, in.loud = sound.NewResampler(f.Rate), loudness.NewMeter(f.Rate, f.Channels)
	}
	if in.frames += len(block[0]); in.frames > Longest*f.Rate {
		return ErrLong
	}
	in.mono.Write(block)
	in.loud.Write(block)
	return nil
}

// shortest is how long a recording has to be, in seconds.
const shortest = 8

// Asked is what the listener is told; zero values leave it to the recording.
type Asked struct {
	BPM          float64 // the tempo within 6 %, 44..190 beats a minute
	Upper, Lower int     // the meter: 2/4, 3/4, 4/4, 6/8 or 12/8
}

// CheckMeter returns an error for a meter that cannot be listened for.
func CheckMeter(upper, lower int) error {
	switch [2]int{upper, lower} {
	case [2]int{2, 4}, [2]int{3, 4}, [2]int{4, 4}, [2]int{6, 8}, [2]int{12, 8}:
		return nil
	}
	return fmt.Errorf("meter %d/%d: want 2/4, 3/4, 4/4, 6/8 or 12/8", upper, lower)
}

// The tempi that are listened for, in beats a minute.
const (
	Slowest = 44
	Fastest = 190
)

// allows reports whether a reading is what was asked for.
func (a Asked) allows(r reading) bool {
	if a.BPM != 0 && math.Abs(r.bpm/a.BPM-1) > 0.06 {
		return false
	}
	if a.Upper == 0 {
		return true
	}
	if t := r.told(r.beats); t.Upper == a.Upper && t.Lower == a.Lower {
		return true
	}
	return false
}

// Heard is the song that a recording has.
type Heard struct {
	Readings []Reading // ways to count it, the one taken first
	Beats    []float64 // seconds
	Places   []int     // of the beats in their bars, from 0
	Lines    []float64 // the bar lines of the music, and its end, in seconds
	BarBeats []int     // beats of each bar
	Pieces   []Piece   // the tempo
	Sections []Section
}

// Reading is a way to count a song.
type Reading struct {
	BPM          float64
	Upper, Lower int     // the meter
	Likely       float64 // 0..1, among these
}

// beats returns the beats of a bar: of 6/8 two.
func (r Reading) beats() int {
	if r.Lower == 8 {
		return r.Upper / 3
	}
	return r.Upper
}

// Section is a part of the song, on bars.
type Section struct {
	First int // bar, from 0
	Bars  int
	Group int // sections with the same one are alike
	// Edge is how much speaks for its beginning, against other bar lines: 2 and more is clear,
	// under 1 a guess; 0 for the first.
	Edge float64
	Kind smf.Kind // a guess
	// Energy is how strong it feels, 0..10, in whole numbers: a guess.
	Energy float64
	Parts  EnergyParts
	Words  string // what the energy comes from: "loud, bright"
}

// Song finds the song in the recording. It returns ErrNoSong where there is no beat.
func (t *Take) Song(asked Asked) (*Heard, error) {
	f := t.features
	from, to := f.music()
	if to-from < shortest {
		return nil, fmt.Errorf("%w: of %.0f s, %.0f have music", ErrNoSong, t.Seconds, max(to-from, 0))
	}
	readings := f.readings(asked)
	if len(readings) == 0 {
		return nil, fmt.Errorf("%w: no beat of the tempo and meter asked for", ErrNoSong)
	}
	h := f.count(readings, asked)
	h.bars(from, to, t.Seconds)
	if len(h.Lines) < 5 {
		return nil, fmt.Errorf("%w: %d bars, want 4 at least", ErrNoSong, max(len(h.Lines)-1, 0))
	}
	b := f.barFeatures(h.Lines)
	sounds, harmony := b.likeness()
	cuts := boundaries(sounds, harmony)
	groups := b.grouping(cuts, harmony)
	gain := boundaryGain(sounds, harmony)
	for i, g := range groups {
		h.Sections = append(h.Sections, Section{First: cuts[i], Bars: cuts[i+1] - cuts[i], Group: g, Edge: gain[cuts[i]]})
	}
	t.energies(h)
	h.name()
	h.Pieces = pieces(h.Lines, h.BarBeats)
	return h, nil
}

// count finds beats and bars.
func (f *features) count(readings []reading, asked Asked) *Heard {
	best := readings[0]
	beats, _ := follow(f.onset, best.bpm/1.34, min(best.bpm*1.34, 215))
	h := &Heard{Beats: exact(refine(beats, f.onset), f.samples)}
	evidence := f.downbeatEvidence(h.Beats)
	options := []int{3, 4}
	switch {
	case asked.Upper != 0:
		options = []int{best.beats}
	case best.parts == 3:
		options = []int{2, 4}
	}
	most, bar := math.Inf(-1), 0
	for _, m := range options {
		places, score := barPlaces(evidence, m)
		if m == best.beats {
			score += 0.1
		}
		if score > most {
			most, bar, h.Places = score, m, places
		}
	}
	for i, r := range readings {
		beats := r.beats
		if i == 0 {
			beats = bar
		}
		h.tell(r.told(beats))
	}
	return h
}

// tell adds a reading. One that is told like another, such as triplets in four like four, only
// makes that one likelier.
func (h *Heard) tell(r Reading) {
	for i := range h.Readings {
		o := &h.Readings[i]
		if o.Upper == r.Upper && o.Lower == r.Lower && math.Abs(math.Log2(o.BPM/r.BPM)) <= sameTempo {
			o.Likely += r.Likely
			return
		}
	}
	h.Readings = append(h.Readings, r)
}

func (r reading) told(beats int) Reading {
	upper, lower := beats, 4
	if r.parts == 3 {
		upper, lower = 3*beats, 8
		if beats == 4 && r.bpm >= 72 { // swung or in triplets: written in four
			upper, lower = 4, 4
		}
	}
	return Reading{r.bpm, upper, lower, r.share}
}

// music returns where the music begins and ends, in seconds: where it is louder than the
// quietest tenth by far.
func (f *features) music() (from, to float64) {
	level := make([]float64, len(f.bands))
	for i, b := range f.bands {
		level[i] = mean(b)
	}
	level = smooth(level, frameRate*0.25)
	least := 0.5*percentile(level, 0.1) + 0.02
	first, last := -1, -1
	for i, v := range level {
		if v > least {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	return float64(first) / frameRate, float64(last) / frameRate
}

// bars makes the bar lines of the downbeats within the music, and the line at its end. A
// last bar of which less than a part sounds is none: the last chord rings on into it.
func (h *Heard) bars(from, to, end float64) {
	whole := h.Readings[0].beats()
	last := -1
	for i, t := range h.Beats {
		if h.Places[i] != 0 || t <= from-0.5 || t >= to {
			continue
		}
		if last >= 0 {
			h.BarBeats = append(h.BarBeats, i-last)
		}
		h.Lines, last = append(h.Lines, t), i
	}
	n := len(h.Lines)
	if n < 2 {
		return
	}
	long := (h.Lines[n-1] - h.Lines[n-2]) * float64(whole) / float64(h.BarBeats[n-2])
	if to-h.Lines[n-1] > lastBar*long {
		h.Lines, h.BarBeats = append(h.Lines, min(end, h.Lines[n-1]+long)), append(h.BarBeats, whole)
	}
}

// lastBar is the share of the last bar that has to sound.
const lastBar = 0.4
