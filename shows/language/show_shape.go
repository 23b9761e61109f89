package language

import (
	"fmt"
	"strings"
	"sync"

	"tactus/engine/commands"
)

// shapes has the shape of each kind of file. They are made once, because compiling
// their patterns takes longer than checking a file, and never change.
var shapes = sync.OnceValue(func() map[Kind]*shape {
	return map[Kind]*shape{
		ShowFile: showShape(), RigFile: rigShape(), LooksFile: looksShape(),
		SongFile: songShape(), SetFile: setShape(), ProfileFile: profileShape(),
	}
})

func shapeOf(kind Kind) *shape { return shapes()[kind] }

func showShape() *shape {
	s := recordOf([]field{
		need("show", text("the name of the show", "Harbour Hall"), "What the show is called on screens."),
		may("daw", dawShape(), "What MIDI means to the show."),
		may("clock", clockShape(), "What may lead the tempo. MIDI clock comes first, then taps, then the internal clock."),
		may("on exit", exitShape(), "What becomes of the light when the program ends."),
		may("while stopped", option("effects carry on", "effects settle"),
			"What effects do while the transport stands still; they carry on unless said."),
		may("after a hold", seconds(), "How long the light takes to move on from a hold; 2 s unless said."),
		may("house lights take", seconds(), "How long house lights, work light and a hand that lets go take; 2 s unless said."),
		may("phrase", measured(`1 ?bar|([2-9]|[1-5][0-9]|6[0-4]) ?bars`, "a number of bars such as 4 bars, 1 to 64", "4 bars"),
			"What a section that is armed for the next phrase waits for, counted from the start of the present one; 4 bars unless said."),
		may("sends to", recordOf([]field{
			may("midi", text("a MIDI output: a port's name, a device or FIFO by its path", "Slide Desk"), "Where MIDI goes that cues send."),
			may("osc", matching(`(`+octet+`\.){3}`+octet+`:`+port, "an IPv4 address and port such as 127.0.0.1:9000", "127.0.0.1:9000"), "Where OSC goes that cues send."),
		}, rule{any: []string{"midi", "osc"}}), "Where goes what cues send besides light, in a run; nowhere unless said."),
	})
	s.about = "What belongs to the show as a whole."
	return s
}

func clockShape() *shape {
	s := listOf(option("midi", "tap", "internal"), 1, 3)
	s.unique = true
	return s
}

func exitShape() *shape {
	long := recordOf([]field{
		need("do", option("hold", "fade", "terminate"),
			"hold: keep sending nothing new and let receivers hold; fade: go dark, then stop; terminate: tell receivers to stop at once."),
		may("over", seconds(), "How long the fade takes; 3 s unless said."),
	}, rule{when: when{key: "do", not: []string{"fade"}}, ban: []string{"over"}})
	return oneOf(option("hold", "fade", "terminate"), long)
}

func channel() *shape {
	return oneOf(whole(1, 16, "a MIDI channel", 1), option("none"))
}

func note() *shape {
	return oneOf(whole(0, 127, "a MIDI note", 36), option("none"))
}

func dawShape() *shape {
	return recordOf([]field{
		may("song position", option("restarts", "runs on"),
			"restarts: every song starts at bar 1 of the DAW; runs on: the songs lie one after another. Restarts unless said."),
		may("channels", recordOf([]field{
			may("fire", channel(), "Notes on it enter a section now; 1 unless said."),
			may("arm at beat", channel(), "Notes on it enter a section at the next beat; 2 unless said."),
			may("arm at bar", channel(), "Notes on it enter a section at the next bar; 3 unless said."),
			may("arm at section end", channel(), "Notes on it enter a section when the present one ends; 4 unless said."),
			may("arm at phrase", channel(), "Notes on it enter a section at the next phrase; none unless said."),
			may("control", oneOf(whole(1, 16, "a MIDI channel", 16), option("any")),
				"Channel of the notes below and of program changes, which select songs; 16 unless said."),
		}), "Who listens where; none switches one off."),
		may("note window", measured(`0 ?ms|([1-9]|[1-9][0-9]|1[0-9][0-9]|2[0-4][0-9]|250) ?ms`, "a time of 0 ms to 250 ms", "120 ms"),
			"How early a note or program change may come and still wait for the eighth it is meant for (sixteenth in meters counted in them), at most half of that; 120 ms unless said, 0 ms for none."),
		may("first section note", whole(0, 127, "a MIDI note", 36),
			"The sections of a song take notes upwards from here; 36 unless said."),
		may("notes", recordOf(noteFields()), "What notes on the control channel do; none switches one off."),
		may("faders", tableOf(name("grand master, or a group's name", "grand master"), whole(0, 119, "the number of a MIDI controller, 0 to 119", 20), 1, 0),
			"Which control changes on the control channel move the grand master and the groups' masters; none unless said."),
	})
}

// noteFields returns a key for each command that a MIDI note can give.
func noteFields() []field {
	var fields []field
	for _, r := range commands.ByNote() {
		does := strings.ToUpper(r.Description[:1]) + r.Description[1:]
		fields = append(fields, may(r.Name, note(), fmt.Sprintf("%s; %d unless said.", does, r.Note)))
	}
	return fields
}

// FirstSectionNote is the default MIDI note of the first section: C2 if middle C is C4,
// the lowest note of most pad controllers (common practice, no source).
const FirstSectionNote = 36
