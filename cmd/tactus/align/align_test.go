package align

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/shows/showtest"
)

// In fake time the flash leaves before the click by the lead, at any tempo that
// is let through, and a lead that moves is followed at the next beat.
func TestAlignFlashPrecedesClickByLead(t *testing.T) {
	for _, tempo := range []float64{60, 97, 120} {
		synctest.Test(t, func(t *testing.T) {
			f := &Options{Fixtures: []string{demoFixture}, Tempo: tempo, Channel: 10, Note: 37}
			f.Protocol = senders.Virtual
			f.Lead, f.LeadSaid = 40*time.Millisecond, true
			show := showtest.Demo(t)
			show.Outputs.Universes[0].Lead = 77 * clock.Millisecond // not added to what is sought
			a, err := New(show, f, zerolog.Nop())
			require.NoError(t, err)
			var clicks, flashes []clock.Time
			clicked := make(chan clock.Time, 100)
			a.clicked = func(at clock.Time) { clicked <- at }
			ctx, cancel := context.WithCancel(t.Context())
			clock24 := a.begin()
			done := make(chan struct{}, 2)
			go func() { a.sendClicks(ctx, clock24); done <- struct{}{} }()
			go func() { _ = a.session.Run(ctx); done <- struct{}{} }()
			var snap engine.Snapshot
			lit := false
			for range 9_000 {
				time.Sleep(500 * time.Microsecond)
				synctest.Wait()
				a.session.Snapshot(&snap)
				bright := snap.Universes[a.universes[0]].Slots[demoDimmer-1] > 0
				for len(clicked) > 0 {
					clicks = append(clicks, <-clicked)
				}
				if bright && !lit {
					flashes = append(flashes, a.session.Base().Now())
				}
				if lit = bright; len(clicks) == 3 {
					a.lead.Store(int64(25 * clock.Millisecond))
				}
			}
			cancel()
			<-done
			<-done
			require.GreaterOrEqual(t, len(clicks), 4)
			require.GreaterOrEqual(t, len(flashes), len(clicks))
			for i, at := range clicks {
				want := 40 * clock.Millisecond
				if i >= 3 {
					want = 25 * clock.Millisecond
				}
				// Go's timer is exact in fake time; the samples are 0.5 ms apart.
				if off := at - flashes[i] - want; i > 0 {
					assert.GreaterOrEqual(t, off, -2*clock.Millisecond, "%g BPM, click %d comes %d µs after its flash, want %d", tempo, i, (at-flashes[i])/clock.Microsecond, want/clock.Microsecond)
					assert.LessOrEqual(t, off, 2*clock.Millisecond, "%g BPM, click %d comes %d µs after its flash, want %d", tempo, i, (at-flashes[i])/clock.Microsecond, want/clock.Microsecond)
				}
			}
		})
	}
}

func TestAlignKeys(t *testing.T) {
	for keys, want := range map[string]struct {
		lead  int64
		enter bool
	}{
		"++-\r": {11, true}, "\x1b[5~\x1b[5~\x1b[6~+\n": {21, true}, "----q": {6, false},
		"\x1b[6~\x1b[6~\r": {0, true}, strings.Repeat("\x1b[5~", 30) + "\r": {200, true}, "+": {11, false},
		"\x1b+\r": {11, true}, "\x1b\x1b[5~\r": {20, true}, "\x1b[A-\r": {9, true}, // Escape, and keys that mean nothing
	} {
		a := &Aligner{}
		a.lead.Store(int64(10 * clock.Millisecond))
		assert.Equal(t, want.enter, a.readKeys(strings.NewReader(keys), io.Discard), "%q", keys)
		assert.Equal(t, want.lead*int64(clock.Millisecond), a.lead.Load(), "%q", keys)
	}
}

// A press of Escape holds up no key that comes after it.
func TestAlignEscapeDoesNotBlock(t *testing.T) {
	in, terminal := io.Pipe()
	done := make(chan bool, 1)
	go func() { done <- (&Aligner{}).readKeys(in, io.Discard) }()
	for _, key := range []string{"\x1b", "q"} { // and nothing more, as from a terminal
		_, err := io.WriteString(terminal, key)
		require.NoError(t, err)
	}
	select {
	case enter := <-done:
		assert.False(t, enter, "q counted as Enter")
	case <-time.After(10 * time.Second):
		require.Fail(t, "q is not heard after Escape")
	}
}

// Without --lead the show's own is where the search begins.
func TestAlignBeginsWithTheShowsLead(t *testing.T) {
	show := showtest.Demo(t)
	show.Outputs.Universes[0].Lead = 33 * clock.Millisecond
	f := &Options{Fixtures: []string{demoFixture}, Tempo: 60, Channel: 10}
	f.Protocol = senders.Virtual
	a, err := New(show, f, zerolog.Nop())
	require.NoError(t, err)
	var out bytes.Buffer
	a.printLead(&out)
	assert.Contains(t, out.String(), "lead: 33 ms", "said %q", &out)
}
