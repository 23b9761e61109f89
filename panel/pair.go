package panel

import (
	"errors"
	"net/http"
)

// Partner is another computer that plays the same show; one of the two is on the lamps,
// the other follows and takes over when the first is lost.
type Partner interface {
	Pair() Pair
	// ChangeOver asks for the lamps to change hands, or says why they cannot.
	ChangeOver() error
}

// Pair says where the two computers stand.
type Pair struct {
	OnLamps   bool    `json:"onLamps"`   // this computer's light counts; else the other's
	Connected bool    `json:"connected"` // with the other computer
	Follows   bool    `json:"follows"`   // whoever is not on the lamps follows, and can take over
	BehindMS  float64 `json:"behindMs"`  // by how much this computer follows later; 0 on the lamps
	Differing uint64  `json:"differing"` // frames of the one that follows that were not those on the lamps
	Words     string  `json:"words"`
}

// pair returns where the computers stand; nil if there is only this one.
func (p *Panel) pair() *Pair {
	if p.c.Partner == nil {
		return nil
	}
	at := p.c.Partner.Pair()
	return &at
}

// errFollows refuses a request to a computer whose light does not count.
var errFollows = errors.New("the other computer is on the lamps, and this one only follows: use the page there, or change over first")

// follows reports whether another computer is on the lamps.
func (p *Panel) follows() bool {
	at := p.pair()
	return at != nil && !at.OnLamps
}

// changeOver lets the lamps change hands. That they have shows in a report.
func (p *Panel) changeOver(w http.ResponseWriter, _ *http.Request) {
	if p.c.Partner == nil {
		refuse(w, http.StatusConflict, errors.New("there is no second computer; see 'tactus run --help'"))
		return
	}
	if err := p.c.Partner.ChangeOver(); err != nil {
		refuse(w, http.StatusConflict, err)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}
