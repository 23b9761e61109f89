package inwords

import (
	"strconv"
	"strings"

	"tactus/clock"
)

// Level says how much there is to do about a clock.
type Level uint8

// The levels. A clock that is gone is Grave too.
const (
	Well   Level = iota // nothing, though it might be better
	Remark              // a keen eye may see it
	Grave               // it can be seen
)

// String names the level as reports print it.
func (l Level) String() string {
	if l > Grave {
		return "unknown"
	}
	return [...]string{"well", "remark", "grave"}[l]
}

// Limits of beatError. Common practice, no source.
const (
	seenByNobody = 5 * clock.Millisecond
	seenByAll    = 20 * clock.Millisecond
	unknown      = clock.Second // an error this large says nothing
)

// Words describes a clock.
type Words struct {
	Level Level
	Short string // a few words, to stand behind "clock: "
	Long  string // sentences
	Help  string // what would help, in sentences; "": nothing
}

// Of says how the clock comes in, from what a Transport knows of it at a moment.
func Of(a *clock.Arrivals, p *clock.Position) Words {
	w := Words{Level: LevelOf(a, p), Short: string(Append(nil, a, p))}
	switch {
	case p.Source != clock.MIDI:
		w.Long, w.Help = notLedText(a, p)
	case p.Sync == clock.Holdover:
		w.Long = "The clock has stopped coming in. The tempo carries on as it was, and the light plays on."
		w.Help = "Look at the DAW and the MIDI cable."
	case learning(a, p):
		w.Long = "The clock has just come in, and its tempo is being found. That takes a bar or two."
	default:
		w.Long = string(appendWithin(append([]byte(patternText(a)), ' '), a, p)) + sharedDelayText(a)
		w.Help = helpText(a, w.Level)
	}
	if p.Source == clock.MIDI {
		w.Long += correctionText(a)
	}
	return w
}

// Append appends a few words, to stand behind "clock: " in a line. It allocates
// nothing where there is room.
func Append(b []byte, a *clock.Arrivals, p *clock.Position) []byte {
	switch {
	case p.Source != clock.MIDI && a.Feed != clock.NoFeed:
		return append(b, "comes in and is not followed"...)
	case p.Source == clock.Tapped:
		return append(b, "none comes in, taps lead"...)
	case p.Source != clock.MIDI:
		return append(b, "none comes in, the song's own tempo leads"...)
	case p.Sync == clock.Holdover:
		return append(b, "gone, the tempo carries on"...)
	case learning(a, p):
		return append(b, "just come in, finding its tempo"...)
	}
	switch a.Feed {
	case clock.Even:
		b = append(b, "even, "...)
	case clock.Uneven:
		b = append(b, "uneven, "...)
	case clock.InSteps:
		b = append(appendNear(append(b, "every "...), a.Every), ", "...)
	case clock.InBursts:
		b = append(b, "in bursts, "...)
	}
	if p.Err >= unknown {
		return append(b, "beat not known yet"...)
	}
	return appendMS(append(b, "beat within "...), beatError(a, p))
}

// learning tells whether there is nothing to say yet: the tempo is not locked and the
// pattern not known.
func learning(a *clock.Arrivals, p *clock.Position) bool {
	return p.Sync == clock.Acquiring || a.Feed == clock.Learning && p.Sync != clock.Locked
}

// LevelOf says how much there is to do, from what a Transport knows of the clock at a
// moment. Without a MIDI clock in the lead it is Well.
func LevelOf(a *clock.Arrivals, p *clock.Position) Level {
	switch {
	case p.Source != clock.MIDI:
		return Well
	case p.Sync == clock.Holdover:
		return Grave
	case learning(a, p):
		return Well
	case beatError(a, p) >= seenByAll:
		return Grave
	case beatError(a, p) >= seenByNobody:
		return Remark
	}
	return Well
}

// notLedText is what to say when no MIDI clock leads the tempo.
func notLedText(a *clock.Arrivals, p *clock.Position) (long, help string) {
	leads := "The song's own tempo leads."
	if p.Source == clock.Tapped {
		leads = "Taps lead the tempo."
	}
	if a.Feed != clock.NoFeed {
		return "A MIDI clock comes in, and the show does not follow it. " + leads,
			"If the light is to follow the DAW, see who leads the tempo: --clock, or show.yaml."
	}
	return "No MIDI clock comes in. " + leads, "If the light is to follow a DAW, start it; or tap."
}

// patternText says in which pattern the ticks arrive.
func patternText(a *clock.Arrivals) string {
	late := func() string { return string(appendMS(nil, a.Spread)) }
	switch a.Feed {
	case clock.Even:
		return "The clock comes in evenly."
	case clock.Uneven:
		return "The clock comes in unevenly, its ticks up to " + late() + " late."
	case clock.InSteps:
		return "Your DAW sends clock every " + string(appendNear(nil, a.Every)) + ", most likely once for each audio buffer."
	case clock.InBursts:
		return "The clock is held up now and then, and its ticks then come at once, up to " + late() + " late."
	}
	return "The clock leads."
}

// beatError is how far the beat may be off, without the delay that all ticks share.
func beatError(a *clock.Arrivals, p *clock.Position) clock.Time { return max(p.Err-a.Unknown, 0) }

// sharedDelayText says how large a delay all ticks may share, from 5 ms on.
func sharedDelayText(a *clock.Arrivals) string {
	if a.Unknown < seenByNobody {
		return ""
	}
	return " All of it may be up to " + string(appendMS(nil, a.Unknown)) + " early or late alike, which the lead sets off."
}

// appendWithin says how far off the beat may be, and who would see it.
func appendWithin(b []byte, a *clock.Arrivals, p *clock.Position) []byte {
	off := beatError(a, p)
	switch {
	case p.Err >= unknown:
		return append(b, "How far the beat is off is not known."...)
	case off >= seenByAll:
		return append(appendMS(append(b, "The beat may be off by "...), off), ", and that can be seen."...)
	case off >= seenByNobody:
		return append(appendMS(append(b, "The beat is within "...), off), " of the DAW's; a keen eye may see it."...)
	}
	return append(appendMS(append(b, "The beat is within "...), off), " of the DAW's, which nobody sees."...)
}

// helpText says what would make the clock steadier.
func helpText(a *clock.Arrivals, l Level) string {
	words := ""
	switch a.Feed {
	case clock.Uneven:
		words = "A MIDI cable instead of a network, another port or driver, and less load on the DAW's computer would be steadier."
	case clock.InSteps:
		words = "Smaller audio buffers in the DAW would be steadier."
	case clock.InBursts:
		words = "Less load on the DAW's computer would be steadier, and a MIDI cable instead of a network."
	case clock.Even:
		if l != Well {
			words = "All ticks share a delay that cannot be told from them. Smaller audio buffers in the DAW make it smaller."
		}
	default:
		if l != Well {
			words = "A MIDI cable instead of a network, and smaller audio buffers in the DAW, would be steadier."
		}
	}
	if words != "" && l == Well {
		return "Nothing needs to be done. " + words
	}
	return words
}

// correctionText says how many ticks were put in and taken out.
func correctionText(a *clock.Arrivals) string {
	var list []string
	if a.Lost > 0 {
		list = append(list, ticks(a.Lost)+" got lost")
	}
	if a.Extra > 0 {
		list = append(list, ticks(a.Extra)+" too many came")
	}
	if list == nil {
		return ""
	}
	return " So far " + strings.Join(list, " and ") + "; the count was put right."
}

func ticks(n uint32) string {
	if n == 1 {
		return "1 tick"
	}
	return strconv.FormatUint(uint64(n), 10) + " ticks"
}

const tenth = int64(clock.Millisecond / 10)

// appendMS appends a time in milliseconds, rounded up: tenths below 10 ms.
func appendMS(b []byte, t clock.Time) []byte {
	return appendTenths(b, max((int64(t)+tenth-1)/tenth, 1), 9)
}

// appendNear appends a time to the nearest millisecond, or tenth below 10 ms.
func appendNear(b []byte, t clock.Time) []byte {
	return appendTenths(b, (int64(t)+tenth/2)/tenth, 5)
}

// appendTenths appends tenths of a millisecond, whole ones above 10 ms: round is added
// before the tenths are cut off.
func appendTenths(b []byte, tenths, round int64) []byte {
	if tenths > 100 {
		tenths = (tenths + round) / 10 * 10
	}
	b = strconv.AppendInt(b, tenths/10, 10)
	if tenths%10 != 0 {
		b = strconv.AppendInt(append(b, '.'), tenths%10, 10)
	}
	return append(b, " ms"...)
}
