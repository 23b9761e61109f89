package written

import (
	"tactus/shows/language"
	"tactus/shows/limits"
)

// Limit is a limit by which check judges the light.
type Limit struct {
	Name    string  `json:"name"`
	Written string  `json:"written"` // in show.yaml; "": the default
	Unit    string  `json:"unit"`    // "": none
	Default float64 `json:"default"`
	Least   float64 `json:"least"`
	Most    float64 `json:"most"`
	Meaning string  `json:"meaning"`
	Reason  string  `json:"reason"` // of the default
}

// limitsOf returns all limits, with what a show writes of them.
func limitsOf(v *language.Value) (list []Limit) {
	for i := range limits.Table() {
		l := &limits.Table()[i]
		list = append(list, Limit{l.Name, v.Get(l.Name).Word(), l.Unit, l.Default, l.Least, l.Most, l.Meaning, l.Reason})
	}
	return list
}
