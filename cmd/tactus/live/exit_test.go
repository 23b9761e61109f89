package live

import (
	"context"
	"net"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/shows"
	"tactus/shows/showtest"
)

// What the show says about the exit is what leaves on the wire: E1.31-2018
// 6.2.6 ends a stream with three packets that have bit 6 of Options set.
func TestExitRules(t *testing.T) {
	for _, c := range []struct {
		rule shows.ExitRule
		ends int  // terminated packets
		dark bool // in the last packet with levels
	}{
		{shows.ExitHold, 0, false},
		{shows.ExitFade, 3, true},
		{shows.ExitTerminate, 3, false},
	} {
		heard, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
		require.NoError(t, err)
		defer heard.Close()
		show := showtest.Demo(t)
		show.Outputs.Exit = shows.Exit{Rule: c.rule, Over: 100 * clock.Millisecond}
		f := Options{Options: senders.Options{Protocol: senders.SACN, To: heard.LocalAddr().String(), State: t.TempDir()}}
		s, err := New(show, &f, zerolog.Nop())
		require.NoError(t, err)
		ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
		assert.NoError(t, s.Run(ctx))
		cancel()
		ends, last := 0, byte(0)
		var b [1500]byte
		for {
			// All has been sent: what is not there at once was lost.
			heard.SetReadDeadline(time.Now().Add(50 * time.Millisecond))
			n, err := heard.Read(b[:])
			if err != nil {
				break
			}
			if n < 638 || b[114] != 1 { // the universe's low octet
				continue
			}
			if b[112]&0x40 != 0 {
				ends++
			} else {
				last = b[126] // wash 1's dimmer, at 25 % before the show
			}
		}
		assert.Equal(t, c.ends, ends, "exit rule %v; last level %d", c.rule, last)
		assert.Equal(t, c.dark, last == 0, "exit rule %v; last level %d", c.rule, last)
	}
}

// Who leads by the show, and by --clock, which is asked first.
func TestLeadOf(t *testing.T) {
	all := shows.Sources{MIDI: true, Tap: true, Internal: true}
	for _, c := range []struct {
		flag string
		show shows.Sources
		want clock.Lead
	}{
		{"", all, clock.LeadAuto},
		{"", shows.Sources{MIDI: true}, clock.LeadMIDI},
		{"", shows.Sources{Tap: true}, clock.LeadTap},
		{"", shows.Sources{Tap: true, Internal: true}, clock.LeadTap},
		{"", shows.Sources{Internal: true}, clock.LeadInternal},
		{"auto", shows.Sources{MIDI: true}, clock.LeadAuto},
		{"midi", all, clock.LeadMIDI},
		{"tap", all, clock.LeadTap},
		{"internal", shows.Sources{MIDI: true}, clock.LeadInternal},
	} {
		got, err := leadSource(c.flag, c.show)
		assert.Equal(t, c.want, got, "--clock %q, show %+v", c.flag, c.show)
		assert.NoError(t, err, "--clock %q, show %+v", c.flag, c.show)
	}
}
