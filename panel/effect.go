package panel

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"

	"tactus/engine"
	"tactus/shows/waveform"
)

// EffectDrawn is an effect as it is edited, for a drawing.
type EffectDrawn struct {
	Tag      string `json:"tag"` // of the state that was drawn
	Revision uint64 `json:"revision"`
	Effect   string `json:"effect"`
	Period   int32  `json:"period"` // number of the period that is drawn, from 0
	// The period is a count of beats or bars; Beats is the same in beats of the song's meter.
	Count   float64        `json:"count"`
	Unit    string         `json:"unit"` // beats or bars
	Beats   float64        `json:"beats"`
	Pulses  int32          `json:"pulses"`
	Wave    []float64      `json:"wave"`    // over the period, 0..1
	Light   []float64      `json:"light"`   // what it makes of Over, 0..1
	Over    float64        `json:"over"`    // level of the look, 0..1
	Edge    [2]float64     `json:"edge"`    // where the light's outermost value lies with a depth of 0 and of 1
	Depth   float64        `json:"depth"`   // 0..1
	Repeats bool           `json:"repeats"` // all periods are alike
	Colours []string       `json:"colours"` // from the bottom of the wave to its top; empty: it moves no colour
	Steps   int            `json:"steps"`   // of the path; 1: all heads move together
	Heads   []EffectHead   `json:"heads"`
	Flashes *EffectFlashes `json:"flashes"` // null: not asked for
}

// EffectHead is a head of an effect.
type EffectHead struct {
	Head  int32   `json:"head"`  // index
	Step  int     `json:"step"`  // on the path, from 0
	Delay float64 `json:"delay"` // behind the first, in repeats of the wave, 0..1
}

// EffectFlashes says whether the flash limiter holds an effect back that plays alone.
type EffectFlashes struct {
	Held   bool    `json:"held"`
	Wanted float64 `json:"wanted"` // flashes a second that it asks for; 0: not held back
	Limit  int     `json:"limit"`  // flashes a second that are let through
	Kind   string  `json:"kind"`   // general or red
	Area   string  `json:"area"`   // where they are: a head, a group or the whole rig
	Song   string  `json:"song"`   // the fastest song that it plays in; "": the show has none
	BPM    float64 `json:"bpm"`    // of that song at its fastest, as its meter counts
}

// effect answers with an effect as it is edited.
func (p *Panel) effect(w http.ResponseWriter, r *http.Request) {
	if !p.hasComposer(w) {
		return
	}
	v := p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	song, query := engine.None, r.URL.Query()
	if query.Has("song") || v.Show == nil {
		asked, ok := songAsked(w, r, v)
		if !ok {
			return
		}
		song = asked
	}
	program := v.Show.Program
	i := slices.IndexFunc(program.Effects, func(e engine.Effect) bool { return e.Name == query.Get("effect") })
	if i < 0 {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("effect=%.60q: the show has no such effect", query.Get("effect")))
		return
	}
	period := int64(0)
	if query.Has("period") {
		var err error
		if period, err = strconv.ParseInt(query.Get("period"), 10, 32); err != nil || period < 0 {
			refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("period=%.60q: want the number of a period, 0 to %d", query.Get("period"), math.MaxInt32))
			return
		}
	}
	out := drawnOf(program, int32(i), song, int32(period))
	out.Tag, out.Revision = p.composing.tag(v.State.Revision), v.State.Revision
	if query.Get("flashes") == "yes" {
		ctx, end, ok := p.turnToMeasure(w, r, v)
		if !ok {
			return
		}
		defer end()
		f, err := waveform.FlashesOf(ctx, program, int32(i))
		if err != nil {
			refuse(w, http.StatusConflict, errNewer)
			return
		}
		out.Flashes = flashesOf(program, &f)
	}
	send(w, http.StatusOK, out)
}

// flashesOf returns what was measured of an effect for the page.
func flashesOf(p *engine.Program, f *waveform.Flashes) *EffectFlashes {
	out := &EffectFlashes{Held: f.Held, Wanted: round(f.Wanted, 10), Limit: f.Limit, Kind: f.Kind.String(), Area: f.Area, BPM: round(f.Tempo.BPM(), 10)}
	if f.Song != engine.None {
		s := &p.Songs[f.Song]
		out.Song, out.BPM = s.Name, round(s.Meter.PerBeat(f.Tempo).BPM(), 10)
	}
	return out
}

// drawnOf returns a drawing for the page.
func drawnOf(p *engine.Program, effect, song, period int32) *EffectDrawn {
	e, d := &p.Effects[effect], waveform.Of(p, effect, song, period)
	meter := engine.Meter{Upper: 4, Lower: 4}
	if song != engine.None {
		meter = p.Songs[song].Meter
	}
	out := &EffectDrawn{
		Effect: e.Name, Period: period, Beats: round(waveform.Beats(e.Period, meter), 1e6), Pulses: e.Pulses,
		Wave: rounded(d.Wave), Light: rounded(d.Light), Over: d.Over, Edge: d.Edge, Depth: e.Depth, Repeats: d.Repeats,
		Colours: []string{}, Steps: d.Steps, Heads: make([]EffectHead, len(d.Heads)),
	}
	out.Count, out.Unit = waveform.Period(e.Period)
	for _, c := range d.Colours {
		out.Colours = append(out.Colours, cssColour(c))
	}
	for i, h := range d.Heads {
		out.Heads[i] = EffectHead{h.Head, h.Step, round(h.Delay, 1e6)}
	}
	return out
}

func rounded(values []float64) []float64 {
	for i, v := range values {
		values[i] = round(v, 1e4)
	}
	return values
}
