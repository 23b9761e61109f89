package language

import (
	"fmt"
	"strings"
	"sync"

	"tactus/engine/commands"
	"tactus/shows/limits"
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
		required("show", text("the name of the show", "Harbour Hall"), "The show's name, as screens print it."),
		optional("daw", dawShape(), "How MIDI notes, programs and controllers drive the show."),
		optional("clock", clockShape(), "The sources that may lead the tempo. A MIDI clock has priority, then taps, then the internal clock. Default: all three."),
		optional("on exit", exitShape(), "What happens to the light when the program ends. Default: fade, over 3 s."),
		optional("while stopped", option("effects carry on", "effects settle"),
			"What effects do while the transport is stopped. Default: effects carry on."),
		optional("after a hold", seconds(), "Length of the fade after a hold. Default: 2 s."),
		optional("house lights take", seconds(), "Length of the fades of house lights, work light and released overrides. Default: 2 s."),
		optional("phrase", measured(`1 ?`+anyCase("bar")+`|([2-9]|[1-5][0-9]|6[0-4]) ?`+anyCase("bars"), "a number of bars such as 4 bars, 1 to 64", "4 bars"),
			"Length of a phrase, counted from the start of the present section. A section armed for the next phrase waits for its end. Default: 4 bars."),
		optional("judge", judgeShape(), "The limits by which check judges the light, where they differ from the defaults. tactus check --limits prints all of them."),
		optional("sends to", recordOf([]field{
			optional("midi", text("a MIDI output: a port's name, a device or FIFO by its path", "Slide Desk"), "Where the MIDI messages of cues are sent."),
			optional("osc", matching(`(`+octet+`\.){3}`+octet+`:`+port, "an IPv4 address and port such as 127.0.0.1:9000", "127.0.0.1:9000"), "Where the OSC messages of cues are sent."),
		}, rule{any: []string{"midi", "osc"}}), "Where the messages of cues are sent in a run. Default: they are not sent."),
	})
	s.about = "Settings of the whole show."
	return s
}

// judgeShape has a key for each limit, from the table of limits.
func judgeShape() *shape {
	var fields []field
	for k := range limits.NumLimits {
		l := &limits.Table()[k]
		called := "a number"
		switch l.Unit {
		case "%", "L*", "s", "beats", "bars":
			called += " in " + l.Unit
		}
		fields = append(fields, optional(l.Name, fractional(l.Least, l.Most, called, l.Default), fmt.Sprintf("%s Default: %s: %s.", l.Meaning, l.Text(l.Default), l.Reason)))
	}
	return recordOf(fields)
}

func clockShape() *shape {
	s := listOf(option("midi", "tap", "internal"), 1, 3)
	s.unique = true
	return s
}

func exitShape() *shape {
	long := recordOf([]field{
		required("do", option("hold", "fade", "terminate"),
			"hold: stop sending, so that receivers hold the last light; fade: fade to dark, then stop; terminate: tell receivers to stop at once."),
		optional("over", seconds(), "Length of the fade. Default: 3 s."),
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
		optional("song position", option("restarts", "runs on"),
			"restarts: every song starts at bar 1 of the DAW; runs on: the songs follow one another in one DAW project. Default: restarts."),
		optional("channels", recordOf([]field{
			optional("fire", channel(), "Notes on this channel enter a section at once. Default: 1."),
			optional("arm at beat", channel(), "Notes on this channel enter a section at the next beat. Default: 2."),
			optional("arm at bar", channel(), "Notes on this channel enter a section at the next bar. Default: 3."),
			optional("arm at section end", channel(), "Notes on this channel enter a section when the present one ends. Default: 4."),
			optional("arm at phrase", channel(), "Notes on this channel enter a section at the next phrase. Default: none."),
			optional("control", oneOf(whole(1, 16, "a MIDI channel", 16), option("any")),
				"The channel of the notes below, and of the program changes that select songs. Default: 16."),
		}), "The MIDI channel of each kind of note; none switches that kind off."),
		optional("note window", measured(`0 ?`+anyCase("ms")+`|([1-9]|[1-9][0-9]|1[0-9][0-9]|2[0-4][0-9]|250) ?`+anyCase("ms"), "a time of 0 ms to 250 ms", "120 ms"),
			"How early a note or program change may come and still count for the next eighth (in meters counted in sixteenths, the next sixteenth); at most half of an eighth. 0 ms: it acts when it comes. Default: 120 ms."),
		optional("first section note", whole(0, 127, "a MIDI note", 36),
			"The note of a song's first section; the next sections have the notes above it. Default: 36."),
		optional("notes", recordOf(noteFields()), "The notes on the control channel that give commands; none switches a command's note off."),
		optional("faders", tableOf(name("grand master, or a group's name", "grand master"), whole(0, 119, "the number of a MIDI controller, 0 to 119", 20), 1, 0),
			"Which control changes on the control channel move the grand master and the groups' masters. Default: none."),
	})
}

// noteFields returns a key for each command that a MIDI note can give.
func noteFields() []field {
	var fields []field
	for _, r := range commands.ByNote() {
		does := strings.ToUpper(r.Description[:1]) + r.Description[1:]
		fields = append(fields, optional(r.Name, note(), fmt.Sprintf("%s. Default: %d.", does, r.Note)))
	}
	return fields
}

// FirstSectionNote is the default MIDI note of the first section: C2 if middle C is C4,
// the lowest note of most pad controllers (common practice, no source).
const FirstSectionNote = 36
