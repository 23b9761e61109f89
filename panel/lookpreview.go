package panel

import (
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"

	"tactus/engine"
	"tactus/fixtures"
	"tactus/shows/compose"
	"tactus/shows/plan"
	"tactus/shows/plot"
	"tactus/shows/swatches"
	"tactus/shows/written"
)

// LookPreview is the light that a look would give, which no lamp need show.
type LookPreview struct {
	Tag        string  `json:"tag"` // of the state that it is of
	Look       string  `json:"look"`
	Brightness float64 `json:"brightness"` // 0..100, as sections are measured
	Light      string  `json:"light"`      // as in a Moment
}

// LooksMeasured is how bright each look is.
type LooksMeasured struct {
	Tag   string           `json:"tag"`
	Looks []LookBrightness `json:"looks"` // in file order
}

// LookBrightness is how bright a look is.
type LookBrightness struct {
	Look       string  `json:"look"`
	Brightness float64 `json:"brightness"` // 0..100
}

// TypeReach is how far a type of fixture is from the colours of a screen.
type TypeReach struct {
	Type  string  `json:"type"`
	Heads []int32 `json:"heads"` // indexes of the show's heads
	// Differences is the base64 code of an octet for each saturation of each hue: ten times
	// ΔE00, at most 255. Hues come in even steps from red, saturations from white to pure.
	Differences string `json:"differences"`
}

// Reaches is what all types that mix colours reach.
type Reaches struct {
	Hues        int         `json:"hues"`
	Saturations int         `json:"saturations"`
	From        float64     `json:"from"` // the ΔE00 from which a colour is not reached
	Types       []TypeReach `json:"types"`
}

// ColourMixed is a colour, and what each type of fixture makes of it.
type ColourMixed struct {
	Colour written.Colour `json:"colour"`
	Types  []TypeMixed    `json:"types"`
}

// TypeMixed is what a type of fixture makes of a colour.
type TypeMixed struct {
	Type    string  `json:"type"`
	Heads   []int32 `json:"heads"`
	Shown   string  `json:"shown"`  // sRGB
	DeltaE  float64 `json:"deltaE"` // ΔE00 (CIEDE2000) from the colour asked for
	Reached bool    `json:"reached"`
	Words   string  `json:"words"`
}

// lookPreview answers with the light of a look in the colours of a song or of the show.
func (p *Panel) lookPreview(w http.ResponseWriter, r *http.Request) {
	v, ok := p.composable(w)
	if !ok {
		return
	}
	what, ok := lookAsked(w, r, v)
	if !ok {
		return
	}
	program := v.Show.Program
	states := what.States(program)
	send(w, http.StatusOK, LookPreview{
		p.composing.tag(v.State.Revision), program.Looks[what.Look].Name, round(plan.Brightness(program, states), 10), lightOf(program, states),
	})
}

// looksMeasured answers with how bright each look is, without its effects.
func (p *Panel) looksMeasured(w http.ResponseWriter, r *http.Request) {
	v, ok := p.composable(w)
	if !ok {
		return
	}
	song := int32(engine.None)
	if r.URL.Query().Has("song") {
		if song, ok = songAsked(w, r, v); !ok {
			return
		}
	}
	program, out := v.Show.Program, LooksMeasured{Tag: p.composing.tag(v.State.Revision), Looks: []LookBrightness{}}
	for i := range program.Looks {
		what := plot.LookPicture{Look: int32(i), Effects: []int32{}, Song: song}
		out.Looks = append(out.Looks, LookBrightness{program.Looks[i].Name, round(plan.Brightness(program, what.States(program)), 10)})
	}
	send(w, http.StatusOK, out)
}

// reaches answers with the colours that each type of fixture can show.
func (p *Panel) reaches(w http.ResponseWriter, _ *http.Request) {
	v, ok := p.composable(w)
	if !ok {
		return
	}
	out := Reaches{swatches.ReachHues, swatches.ReachSaturations, swatches.UnreachedFrom, []TypeReach{}}
	for _, k := range swatches.Kinds(v.Show.Program) {
		b := make([]byte, 0, swatches.ReachHues*swatches.ReachSaturations)
		for _, row := range k.Reach() {
			for _, difference := range row {
				b = append(b, byte(min(255, math.Round(10*difference))))
			}
		}
		out.Types = append(out.Types, TypeReach{k.Name, k.Heads, base64.StdEncoding.EncodeToString(b)})
	}
	send(w, http.StatusOK, out)
}

// colourMixed answers with what each type of fixture makes of a colour.
func (p *Panel) colourMixed(w http.ResponseWriter, r *http.Request) {
	v, ok := p.composable(w)
	if !ok {
		return
	}
	text := r.URL.Query().Get("colour")
	c, err := fixtures.ParseColour(text, v.Show.Program.Patch.Placements()[0].Profile.White) // of the rig, of which there is one
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("%.60q is no colour: want such as #ff8040, gold, 3200 K or xy 0.31 0.33", text))
		return
	}
	out := ColourMixed{written.Colour{Written: text, Shown: written.CSS(c)}, []TypeMixed{}}
	for _, k := range swatches.Kinds(v.Show.Program) {
		shown, _, difference := k.Match(swatches.Colour{RGB: c})
		out.Types = append(out.Types, TypeMixed{
			k.Name, k.Heads, written.CSS(shown), round(difference, 10), difference < swatches.UnreachedFrom, swatches.DifferenceWords(difference),
		})
	}
	send(w, http.StatusOK, out)
}

// composable returns the view of what is edited, if files can be changed and have no
// faults, and refuses the request if not.
func (p *Panel) composable(w http.ResponseWriter) (v *compose.View, ok bool) {
	if !p.hasComposer(w) {
		return nil, false
	}
	v = p.c.Composer.View()
	w.Header().Set("ETag", p.composing.etag(v.State.Revision))
	if v.Show == nil {
		refuse(w, http.StatusConflict, errFaulty)
		return nil, false
	}
	return v, true
}

// errNoLook is wrapped by the refusal of a look that the show does not have.
var errNoLook = errors.New("the show has no such look")

// lookAsked returns the look that a request names, with its effects and colours, or refuses
// the request.
func lookAsked(w http.ResponseWriter, r *http.Request, v *compose.View) (what plot.LookPicture, ok bool) {
	query := r.URL.Query()
	what.Song = engine.None
	if query.Has("song") || v.Show == nil {
		if what.Song, ok = songAsked(w, r, v); !ok {
			return what, false
		}
	}
	program := v.Show.Program
	i := slices.IndexFunc(program.Looks, func(c engine.Cue) bool { return c.Name == query.Get("look") })
	if i < 0 {
		refuse(w, http.StatusUnprocessableEntity, fmt.Errorf("look=%.60q: %w", query.Get("look"), errNoLook))
		return what, false
	}
	what.Look = int32(i)
	if query.Has("effects") {
		names := slices.DeleteFunc(slices.Clone(query["effects"]), func(name string) bool { return name == "none" || name == "" })
		effects, err := plot.PictureEffects(program, names)
		if err != nil {
			refuse(w, http.StatusUnprocessableEntity, err)
			return what, false
		}
		what.Effects = effects
	}
	return what, true
}
