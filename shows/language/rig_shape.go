package language

import (
	"strings"

	"tactus/fixtures"
)

func rigShape() *shape {
	names := oneOrMore(target())
	s := recordOf([]field{
		need("venue", text("the name of the hall", "Harbour Hall"), "The hall the rig hangs in."),
		may("sacn", recordOf([]field{
			may("source name", matching(freeText, "a name of at most 63 bytes", "Harbour Hall").upTo(63),
				"What receivers are told the source is called; the show's name unless said."),
			may("interface", text("a network interface by name or address", "en0"), "Where packets leave the laptop."),
			may("sync universe", whole(1, 63999, "a universe", 7962), "Universe for synchronization packets; none unless said."),
		}), "Settings of sACN (E1.31)."),
		may("artnet", recordOf([]field{
			may("interface", text("a network interface by name or address", "en0"), "Where packets leave the laptop."),
			may("sync", yesNo(), "Whether to send ArtSync; no unless said."),
			may("poll", yesNo(), "Whether to look for nodes with ArtPoll; yes unless said."),
		}), "Settings of Art-Net."),
		may("frame grid", option("beat", "free"), "Whether frames are laid so that every beat is one, or come at a plain rate; beat unless said."),
		may("white", whitePoint(), "The light that white is, on every fixture type; 5600 K unless said."),
		may("whites", option("match", "bright"), "Whether whites keep their proportion to other colours, the same on every type, or are as bright as each type can; match unless said."),
		need("universes", tableOf(name("a universe's name", "stage"), universeShape(), 1, 0), "Where the light goes, by a name of your own."),
		may("profiles", tableOf(ProfileName(), profileShape(), 1, 0), "Fixture types that the built-in ones lack. A file profiles/NAME.yaml is one too."),
		need("fixtures", tableOf(name("a fixture's name, or a range of them such as wash 1-8", "wash 1-8"), fixtureShape(), 1, 0), "Every light. A name such as wash 1-8 stands for eight."),
		may("groups", tableOf(name("a group's name", "washes"), names, 1, 0), "Fixtures under one name; groups may hold groups."),
		may("mains", recordOf([]field{
			need("voltage", volts(), "Of the mains here."),
		}), "The mains of the hall, for adding up what the rig draws."),
		may("circuits", tableOf(name("a circuit's name", "left wall"), recordOf([]field{
			need("breaker", amps(), "What its breaker is rated for."),
		}), 1, 0), "The mains circuits that fixtures are plugged into."),
		may("keep", names, "What songs leave alone unless a cue names it, such as front light."),
		may("blackout spares", names, "What blackout and grand master leave alone, such as house lights."),
		may("house lights", names, "What house up, half and out move, and the work light brings up."),
		may("work light", names, "What else the work light brings up, such as front light."),
		may("floors", tableOf(target(), percent(), 1, 16), "Under which level lights do not go while someone speaks: in sections marked spoken, and in the talk look."),
		may("haze cycle", recordOf([]field{
			need("on", seconds(), "How long hazers run in each cycle."),
			need("every", seconds(), "How long a cycle is."),
		}), "When hazers may run, in seconds whatever the music does; always unless said."),
	})
	s.about = "The fixtures of a venue and how they are patched."
	return s
}

func universeShape() *shape {
	return recordOf([]field{
		may("sacn", whole(1, 63999, "an sACN universe", 1), "sACN universe (E1.31)."),
		may("art-net", whole(0, 32767, "an Art-Net port address", 0), "Art-Net port address: net, sub-net and universe in one number."),
		may("virtual", option("yes"), "A universe that goes nowhere, for rehearsing without a network."),
		may("to", oneOrMore(address()), "Receivers to send to directly."),
		may("multicast", yesNo(), "Whether to send to everyone who listens; yes unless there is a to."),
		may("broadcast", yesNo(), "Whether to send to every Art-Net node alike; no unless said."),
		may("priority", whole(0, 200, "a priority", 100), "Which source wins at a receiver, the highest; 100 unless said."),
		may("rate", hertz(), "The most frames a second; 44 Hz unless said, 40 Hz for gateways that cannot follow."),
		may("lead", leadTime(), "How far ahead of the beat it is sent, to cancel the delay of network and fixtures, 0 ms to 200 ms; 0 ms unless said."),
		may("send", option("constantly", "on change"), "Whether every frame is sent, or changes and a keep-alive; constantly unless said."),
	},
		rule{one: []string{"sacn", "art-net", "virtual"}},
		rule{when: when{key: "sacn"}, ban: []string{"broadcast"}},
		rule{when: when{key: "art-net"}, ban: []string{"priority", "multicast"}},
		rule{when: when{key: "virtual"}, ban: []string{"to", "multicast", "broadcast", "priority", "rate", "send", "lead"}},
		rule{when: when{key: "multicast", is: []string{"no"}}, need: []string{"to"}},
		rule{when: when{key: "broadcast", is: []string{"yes"}}, ban: []string{"to"}},
	)
}

// ProfileName returns the shape of a profile's name.
func ProfileName() *shape { return name("a profile's name", "my wash") }

func profileShape() *shape {
	params := `(` + strings.Join(fixtures.ChannelNames(), "|") + `)`
	head := `(head ([1-9]|[1-9][0-9]|1[0-9][0-9]|2[0-4][0-9]|25[0-5]) )?`
	rate := `[0-9]{1,2}(\.[0-9]{1,2})? ?Hz`
	emitters := recordOf(nil)
	for _, n := range fixtures.EmitterNames() {
		emitters.fields = append(emitters.fields, may(n, recordOf([]field{
			may("colour", whitePoint(), "Its chromaticity; that of most fixtures unless said."),
			may("flux", whole(1, 100000, "a flux", 100), "Its light at full beside that of the others; typical unless said."),
		}, rule{any: []string{"colour", "flux"}}), "What is known of this emitter."))
	}
	s := recordOf([]field{
		may("about", text("one line about it"), "What the fixture is."),
		may("watts", watts(), "What it draws at full, as its plate says."),
		need("channels", listOf(matching(`unused|fixed `+octet+`|`+head+params+`( fine)?|`+head+`shutter open `+octet+`( strobe `+octet+` to `+octet+` at `+rate+` to `+rate+`)?`,
			"a channel: "+strings.Join(fixtures.ChannelNames(), ", ")+", with head 2 before or fine after it; shutter open 255; unused; or fixed 255",
			"intensity", "red fine", "head 2 red", "shutter open 255 strobe 16 to 250 at 1 Hz to 20 Hz", "unused", "fixed 255"), 1, 512), "What each channel does, in order."),
		may("emitters", emitters, "What the colour channels light, for colours that match across fixture types."),
		may("curve", option(fixtures.CurveNames()...), "How intensity becomes light; linear unless said."),
	})
	s.about = "What the channels of a fixture type mean."
	return s
}

func fixtureShape() *shape {
	return recordOf([]field{
		need("profile", name("a profile", "dimmer-rgb"), "The fixture type: built in or from profiles."),
		need("universe", name("a universe", "stage"), "Which universe it is on."),
		need("address", whole(1, 512, "a start address", 1), "Its first slot. The fixtures of a range follow each other."),
		may("every", whole(1, 512, "a number of slots", 8), "Slots from one start address of a range to the next; the footprint unless said."),
		may("at", place(), "Where it hangs."),
		may("watts", watts(), "What each draws at full, as its plate says; the profile's unless said."),
		may("circuit", name("a circuit", "left wall"), "Which mains circuit it is plugged into."),
		may("pan", travelShape(), "How much of its pan it may use, for where it hangs; all of it unless said."),
		may("tilt", travelShape(), "How much of its tilt it may use, for where it hangs; all of it unless said."),
		may("from", place(), "Where the first head of the row hangs."),
		may("to", place(), "Where the last head of the row hangs; those between are spaced evenly."),
	},
		rule{when: when{key: "from"}, need: []string{"to"}, ban: []string{"at"}},
		rule{when: when{key: "to"}, need: []string{"from"}},
	)
}

func travelShape() *shape {
	return recordOf([]field{
		may("from", percent(), "The end that 0 % of a look stands for, as a share of the channel; 0 % unless said."),
		may("to", percent(), "The end that 100 % of a look stands for, as a share of the channel; 100 % unless said."),
		may("invert", yesNo(), "Whether it hangs the other way round, so that 0 % of a look is at to; no unless said."),
	}, rule{any: []string{"from", "to", "invert"}})
}

func leadTime() *shape {
	return measured(`(200|1[0-9][0-9]|[1-9]?[0-9]) ?ms`, "a time such as 30 ms, 0 ms to 200 ms", "30 ms")
}
