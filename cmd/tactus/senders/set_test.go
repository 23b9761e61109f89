package senders

import (
	"errors"
	"net/netip"
	"reflect"
	"testing"

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
	list, err := redirected(someUniverses, &Options{To: "127.0.0.1:9000"})
	if err != nil {
		t.Fatal(err)
	}
	for _, u := range list {
		if u.Multicast || u.Broadcast || !reflect.DeepEqual(u.to, []netip.AddrPort{netip.MustParseAddrPort("127.0.0.1:9000")}) {
			t.Errorf("%s goes to %v, multicast %v, broadcast %v", u.Name, u.to, u.Multicast, u.Broadcast)
		}
	}
	if list[0].Number != 7 || list[1].Protocol != shows.ArtNet || list[2].Protocol != shows.Virtual {
		t.Errorf("--to changed more than the way: %+v", list)
	}
}

func TestProtocolOverride(t *testing.T) {
	for flag, want := range map[string]shows.Protocol{"sacn": shows.SACN, "art-net": shows.ArtNet, "virtual": shows.Virtual} {
		list, err := redirected(someUniverses, &Options{Protocol: flag})
		if err != nil {
			t.Fatal(err)
		}
		for i, u := range list {
			if u.Protocol != want {
				t.Errorf("--protocol %s leaves %s at %v", flag, u.Name, u.Protocol)
			}
			if want == shows.SACN && (u.Number < 1 || !u.Multicast && len(u.to) == 0) {
				t.Errorf("--protocol sacn: %s has number %d and goes nowhere", someUniverses[i].Name, u.Number)
			}
		}
	}
	if someUniverses[0].Protocol != shows.SACN {
		t.Error("the show itself was changed")
	}
}

// --protocol gives a number to what had one of another protocol; never one that
// is in use.
func TestProtocolOverrideSharesNoNumber(t *testing.T) {
	for flag, universes := range map[string][]shows.Universe{
		"sacn":    {{Protocol: shows.ArtNet, Number: 9}, {Protocol: shows.SACN, Number: 1}, {Protocol: shows.ArtNet, Number: 1}, {Protocol: shows.SACN, Number: 3}},
		"art-net": {{Protocol: shows.SACN, Number: 9}, {Protocol: shows.ArtNet, Number: 0}, {Protocol: shows.SACN, Number: 1}, {Protocol: shows.ArtNet, Number: 2}},
	} {
		list, err := redirected(universes, &Options{Protocol: flag})
		if err != nil {
			t.Fatal(err)
		}
		has := map[int]bool{}
		for i, u := range list {
			if has[u.Number] || u.Protocol == universes[i].Protocol && u.Number != universes[i].Number {
				t.Errorf("--protocol %s: universe %d of %+v has number %d", flag, i, universes, u.Number)
			}
			has[u.Number] = true
		}
	}
}

func TestAddressFaults(t *testing.T) {
	for _, bad := range []string{"here", "::1", "[::1]:5568", "10.0.0", "10.0.0.1:99999", ""} {
		var usage usage.Error
		if _, err := address(bad); !errors.As(err, &usage) {
			t.Errorf("--to %q: %v, want a usage error", bad, err)
		}
	}
}

// A node that has never told its name has none.
func TestNodeText(t *testing.T) {
	at := netip.MustParseAddr("10.0.0.7")
	for want, n := range map[string]artnet.Node{
		"10.0.0.7: never answered; gets its data all the same":              {Addr: at},
		`10.0.0.7 "balcony": answers`:                                       {Addr: at, ShortName: "balcony", Seen: true, Answering: true},
		`10.0.0.7 "balcony": no longer answers; gets its data all the same`: {Addr: at, ShortName: "balcony", Seen: true},
	} {
		if got := nodeText(n); got != want {
			t.Errorf("have %s, want %s", got, want)
		}
	}
}
