package panel

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"

	"tactus/clock"
	"tactus/engine"
)

func TestHealth(t *testing.T) {
	program := &engine.Program{}
	at := func(at clock.Time, err error) *engine.Snapshot {
		return &engine.Snapshot{Program: program, Pos: clock.Position{At: at}, Health: engine.Health{LastErr: err}}
	}
	for _, c := range []struct {
		snap *engine.Snapshot
		ok   bool
		word string
	}{
		{&engine.Snapshot{}, false, "no frame"},
		{at(9*clock.Second, nil), true, "go out"},
		{at(8*clock.Second, nil), true, "go out"},
		{at(7*clock.Second, nil), false, "second or more"},
		{at(9*clock.Second, errors.New("no cable")), false, "no cable"},
	} {
		h := health(c.snap, 9*clock.Second)
		assert.Equal(t, c.ok, h.OK, c.snap.Pos.At)
		assert.Contains(t, h.Words, c.word, c.snap.Pos.At)
	}
}
