package panel

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"tactus/engine"
	"tactus/protocol/osc"
)

// Playing is the state of a rehearsal's player.
type Playing struct {
	Plays bool    `json:"plays"`
	Loops bool    `json:"loops"` // the section repeats
	Share float64 `json:"share"` // tempo, as a part of the written tempo
	Place int     `json:"place"` // in the set, from 0
}

// PlayerKind is the kind of a request to a player.
type PlayerKind uint8

// The kinds of request, and the fields they use.
const (
	Play   PlayerKind = iota + 1
	Stop              // keeps the position
	Jump              // Place and Beat, playing or stopped
	Loop              // On: repeat the present section, or stop repeating
	Speed             // Share of the written tempo
	Browse            // Steps: go that many cues forward or back, and stop there
)

// PlayerRequest is a request to a rehearsal's player.
type PlayerRequest struct {
	Kind  PlayerKind
	Place int     // in the set, from 0
	Beat  float64 // quarter notes from the song's first downbeat
	On    bool
	Share float64 // LeastShare..MostShare
	Steps int     // -1 or 1
}

// The slowest and the fastest tempo of a rehearsal, as parts of the written tempo.
const (
	LeastShare = 0.25
	MostShare  = 2
)

// Player plays the set in a rehearsal, as a DAW would on the night.
type Player interface {
	// Request passes on a request without waiting; it returns false when the queue
	// is full.
	Request(PlayerRequest) bool
	Playing() Playing
}

// playerAddress is an address under player/.
type playerAddress struct {
	path, with, words string
	read              func(p *engine.Program, args []osc.Arg) (PlayerRequest, error)
}

func playerAddresses() []playerAddress {
	return []playerAddress{
		{"play", "", "play on from where it stands", bare(PlayerRequest{Kind: Play})},
		{"stop", "", "stop and stay", bare(PlayerRequest{Kind: Stop})},
		{"jump", "song's number in the set; quarter notes from its first downbeat", "go there", readJump},
		{"loop", "1 or 0", "1: the present section loops; 0: it no longer loops", readLoop},
		{"speed", fmt.Sprintf("%g to %g", LeastShare, float64(MostShare)), "share of the written tempo", readSpeed},
		{"browse", "1 or -1", "stop at the next cue, or at the one before", readBrowse},
	}
}

var errNumbers = errors.New("want numbers")

// numbers returns args as want numbers.
func numbers(args []osc.Arg, want int) ([]float64, error) {
	if len(args) != want {
		return nil, fmt.Errorf("%d arguments, want %d", len(args), want)
	}
	list := make([]float64, want)
	for i := range args {
		v, ok := args[i].Number()
		if !ok {
			return nil, errNumbers
		}
		list[i] = v
	}
	return list, nil
}

func bare(w PlayerRequest) func(*engine.Program, []osc.Arg) (PlayerRequest, error) {
	return func(_ *engine.Program, args []osc.Arg) (PlayerRequest, error) {
		_, err := numbers(args, 0)
		return w, err
	}
}

func readJump(p *engine.Program, args []osc.Arg) (PlayerRequest, error) {
	n, err := numbers(args, 2)
	if err != nil {
		return PlayerRequest{}, err
	}
	place := int(n[0]) - 1
	if n[0] != float64(place+1) || place < 0 || place >= len(p.SetList) {
		return PlayerRequest{}, fmt.Errorf("%g is no song of the set: it has %d", n[0], len(p.SetList))
	}
	if length := quarters(p.Songs[p.SetList[place]].Length()); !(n[1] >= 0 && n[1] < length) {
		return PlayerRequest{}, fmt.Errorf("%g lies outside the song: it has %g quarter notes", n[1], length)
	}
	return PlayerRequest{Kind: Jump, Place: place, Beat: n[1]}, nil
}

func readLoop(_ *engine.Program, args []osc.Arg) (PlayerRequest, error) {
	n, err := numbers(args, 1)
	if err != nil {
		return PlayerRequest{}, err
	}
	return PlayerRequest{Kind: Loop, On: n[0] != 0}, nil
}

func readSpeed(_ *engine.Program, args []osc.Arg) (PlayerRequest, error) {
	n, err := numbers(args, 1)
	if err != nil {
		return PlayerRequest{}, err
	}
	if !(n[0] >= LeastShare && n[0] <= MostShare) {
		return PlayerRequest{}, fmt.Errorf("%g of the tempo: want %g to %g", n[0], LeastShare, float64(MostShare))
	}
	return PlayerRequest{Kind: Speed, Share: n[0]}, nil
}

func readBrowse(_ *engine.Program, args []osc.Arg) (PlayerRequest, error) {
	n, err := numbers(args, 1)
	if err != nil {
		return PlayerRequest{}, err
	}
	if n[0] != 1 && n[0] != -1 {
		return PlayerRequest{}, fmt.Errorf("%g: want 1 or -1", n[0])
	}
	return PlayerRequest{Kind: Browse, Steps: int(n[0])}, nil
}

// player passes a request to the player.
func (p *Panel) player(w http.ResponseWriter, r *http.Request) {
	if p.c.Player == nil {
		refuse(w, http.StatusConflict, errors.New("there is no player: only a rehearsal has one"))
		return
	}
	args, err := argsOf(w, r)
	if err != nil {
		refuse(w, http.StatusBadRequest, err)
		return
	}
	list := playerAddresses()
	i := slices.IndexFunc(list, func(x playerAddress) bool { return x.path == r.PathValue("request") })
	if i < 0 {
		refuse(w, http.StatusNotFound, fmt.Errorf("unknown player request %.60q", r.PathValue("request")))
		return
	}
	program, _ := p.current()
	request, err := list[i].read(program, args)
	switch {
	case err != nil:
		refuse(w, http.StatusUnprocessableEntity, err)
	case !p.c.Player.Request(request):
		refuse(w, http.StatusServiceUnavailable, errors.New("the player is too busy; try again"))
	default:
		w.WriteHeader(http.StatusNoContent)
	}
}
