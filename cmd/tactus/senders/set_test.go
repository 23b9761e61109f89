package senders

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/usage"
	"tactus/protocol/artnet"
	"tactus/shows"
)

var someUniverses = []shows.Universe{
	{Name: "stage", Protocol: shows.SACN, Number: 7, Priority: 110, Multicast: true, Rate: 44},
	{Name: "foyer", Protocol: shows.ArtNet, Number: 3, Broadcast: true, Rate: 40, To: []netip.Addr{netip.MustParseAddr("10.0.0.7")}},
	{Name: "paper", Protocol: shows.Virtual},
}

// --to sends everything to one address and nothing anywhere else.
func TestToSendsNothingElsewhere(t *testing.T) {
	list, err := targets(someUniverses, &Options{To: "127.0.0.1:9000"})
	require.NoError(t, err)
	for _, u := range list {
		assert.False(t, u.Multicast, "%s goes", u.Name)
		assert.False(t, u.Broadcast, "%s goes", u.Name)
		assert.Equal(t, []netip.AddrPort{netip.MustParseAddrPort("127.0.0.1:9000")}, u.to, "%s goes", u.Name)
	}
	assert.Equal(t, 7, list[0].Number, "--to changed more than the way")
	assert.Equal(t, shows.ArtNet, list[1].Protocol, "--to changed more than the way")
	assert.Equal(t, shows.Virtual, list[2].Protocol, "--to changed more than the way")
}

func TestProtocolOverride(t *testing.T) {
	for flag, want := range map[string]shows.Protocol{"sacn": shows.SACN, "art-net": shows.ArtNet, "virtual": shows.Virtual} {
		list, err := targets(someUniverses, &Options{Protocol: flag})
		require.NoError(t, err)
		for i, u := range list {
			assert.Equal(t, want, u.Protocol, "--protocol %s leaves %s", flag, u.Name)
			if want == shows.SACN {
				assert.GreaterOrEqual(t, u.Number, 1, "--protocol sacn: %s has number %d and goes nowhere", someUniverses[i].Name, u.Number)
				if !u.Multicast {
					assert.NotEmpty(t, u.to, "--protocol sacn: %s has number %d and goes nowhere", someUniverses[i].Name, u.Number)
				}
			}
		}
	}
	assert.Equal(t, shows.SACN, someUniverses[0].Protocol, "the show itself was changed")
}

// --protocol gives a number to what had one of another protocol; never one that
// is in use.
func TestProtocolOverrideSharesNoNumber(t *testing.T) {
	for flag, universes := range map[string][]shows.Universe{
		"sacn":    {{Protocol: shows.ArtNet, Number: 9}, {Protocol: shows.SACN, Number: 1}, {Protocol: shows.ArtNet, Number: 1}, {Protocol: shows.SACN, Number: 3}},
		"art-net": {{Protocol: shows.SACN, Number: 9}, {Protocol: shows.ArtNet, Number: 0}, {Protocol: shows.SACN, Number: 1}, {Protocol: shows.ArtNet, Number: 2}},
	} {
		list, err := targets(universes, &Options{Protocol: flag})
		require.NoError(t, err)
		has := map[int]bool{}
		for i, u := range list {
			assert.False(t, has[u.Number], "--protocol %s: universe %d of %+v has number", flag, i, universes)
			if u.Protocol == universes[i].Protocol {
				assert.Equal(t, universes[i].Number, u.Number, "--protocol %s: universe %d of %+v has number", flag, i, universes)
			}
			has[u.Number] = true
		}
	}
}

func TestAddressFaults(t *testing.T) {
	for _, bad := range []string{"here", "::1", "[::1]:5568", "10.0.0", "10.0.0.1:99999", ""} {
		var usage usage.Error
		_, err := address(bad)
		assert.ErrorAs(t, err, &usage, "--to %q", bad)
	}
}

// A node that has never told its name has none.
func TestNodeText(t *testing.T) {
	at := netip.MustParseAddr("10.0.0.7")
	for want, n := range map[string]artnet.Node{
		"10.0.0.7: never answered; gets its data all the same":                                                    {Addr: at},
		`10.0.0.7 "balcony": answers`:                                                                             {Addr: at, ShortName: "balcony", Seen: true, Answering: true},
		`10.0.0.7 "balcony": no longer answers; gets its data all the same`:                                       {Addr: at, ShortName: "balcony", Seen: true, Patched: true},
		`10.0.0.7 "balcony": no longer answers; gets its data for another half minute, because it is not patched`: {Addr: at, ShortName: "balcony", Seen: true},
		`10.0.0.7 "balcony": no longer answers; gets no data until it answers, because it is not patched`:         {Addr: at, ShortName: "balcony", Seen: true, Expired: true},
	} {
		assert.Equal(t, want, nodeText(n))
	}
}

// Replies that are not used are told with their number and why; none, no line.
func TestRefusalText(t *testing.T) {
	assert.Empty(t, refusalText(artnet.Refusals{Others: 3}, artnet.Counts{Sent: 9}))
	list := refusalText(artnet.Refusals{Foreign: 1, Forged: 2, Full: 3}, artnet.Counts{LeftOut: 4})
	if assert.Len(t, list, 4) {
		assert.Equal(t, "1 replies refused: their senders are outside the networks of the interface", list[0])
		assert.Contains(t, list[3], "4 packets left out")
	}
}
