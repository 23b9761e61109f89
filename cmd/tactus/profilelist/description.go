package profilelist

import (
	"tactus/fixtures"
	"tactus/shows"
)

// Description is a profile in JSON.
type Description struct {
	Name     string    `json:"name"`
	Source   string    `json:"source"` // "built in", "rig.yaml" or a file of the folder profiles
	About    string    `json:"about"`
	Slots    int       `json:"slots"`
	Heads    int       `json:"heads"`
	Watts    *float64  `json:"watts"` // at full; null if the file does not say it
	Curve    string    `json:"curve"`
	Channels []Channel `json:"channels"`
	Emitters []Emitter `json:"emitters"`
}

// Channel is a slot of a profile.
type Channel struct {
	Slot    int    `json:"slot"`    // from 1
	Channel string `json:"channel"` // as profiles write it
	Head    int    `json:"head"`    // from 1; 0 if it belongs to none
	Bits    int    `json:"bits"`    // 16 if it is one of two slots of a parameter, else 8
	Other   int    `json:"other"`   // the other slot of the two, or 0
	Values  string `json:"values"`
}

// Emitter is an emitter of a profile.
type Emitter struct {
	Name    string  `json:"name"`
	X       float64 `json:"x"` // CIE 1931
	Y       float64 `json:"y"`
	Flux    float64 `json:"flux"`    // relative to the other emitters
	Typical bool    `json:"typical"` // the profile gives no values of its own
}

// Describe returns the description of a profile.
func Describe(p *shows.Profile) *Description {
	d := &Description{
		Name: p.Name, Source: p.Source, About: p.About, Slots: p.Footprint(), Heads: p.Heads, Curve: p.Curve.String(),
		Channels: []Channel{}, Emitters: []Emitter{},
	}
	if p.Watts > 0 {
		d.Watts = &p.Watts
	}
	for i := range p.Channels {
		c := Channel{Slot: i + 1, Channel: p.Written[i], Bits: 8, Values: values(p.Profile, i)}
		if p.Channels[i].Use != fixtures.Steady {
			c.Head = int(p.Channels[i].Head) + 1
			if other := partner(p.Profile, i); other >= 0 {
				c.Bits, c.Other = 16, other+1
			}
		}
		d.Channels = append(d.Channels, c)
	}
	for _, e := range p.Lights {
		d.Emitters = append(d.Emitters, Emitter{e.Param.String(), e.Chromaticity.X, e.Chromaticity.Y, e.Flux, e.Typical})
	}
	return d
}
