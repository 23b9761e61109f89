// Package engine plays a compiled show: a position in the music goes in,
// universes of light come out.
//
//	Event ─► State     which song, section, pass and cue; what is armed; the
//	          │        operator's hands and masters: (state, event) to state
//	          ▼
//	        layers     1 look           the cue's static light
//	          │        2 effects        waves over it, functions of the beat
//	          │        3 fade           from wherever the light was
//	          │        4 kept groups    as they were left; floors; the haze's cycle
//	          │          (a hold keeps 1 to 4 as they were)
//	          │        5 overrides      what an operator holds by hand, house lights
//	          │        6 masters        of groups, then the grand master
//	          │        7 blackout       all but what it spares
//	          │        8 work light     house and work light, over everything
//	          │        9 flash limiter  what would flash too often is held back;
//	          │                         nothing goes round it
//	          ▼
//	        Encode     states to slots
//	     ─► []dmx.Universe ─► Output.Send
//
// That list is the order of precedence: a later layer has the word over an
// earlier one. Layer numbers them, Engine.lay is the one function that lays them,
// and a test holds it to a table. Engine.Explain lays the same ones one by one and
// says what each made of a head.
//
// Which section comes next has an order of precedence too, the strongest first:
//
//	1 a jump of the transport, another song or look   nothing is armed any longer
//	2 a hand: a section fired, armed or disarmed      replaces what is armed
//	3 what a hand armed, at its own boundary          notes for that beat change
//	                                                  nothing, early or late
//	4 notes that name sections: the DAW's plan        fire and arm; what a hand armed
//	                                                  for later waits on
//	5 a section that goes round                       begins again at its end
//	6 the order of the song                           the section after the present
//
// A hand is any command that is no section's note: from the page, a key, OSC or a
// note with a command of its own. Sections that a hand armed keep their beat of the
// transport when notes enter other sections before it.
//
// # Songs as they are played
//
// State is a value and Program.NextState a pure function. Cues count from where their
// section was entered, so that a section that comes again, anywhere, plays its
// cues on its own downbeat. A section that loops goes round until something else
// is entered; passes are counted, and cues may differ by pass. A pickup belongs
// to the section that it leads to: it comes before that section when it is armed,
// and stays away when another follows. A note or program change that comes a
// little early waits for the boundary ahead of it; one that is late is shown at
// once, its effects counted from the boundary. What is not known is counted and
// changes nothing.
//
// Half and double time are a feel: effects ride at half or twice their rate from
// the next beat on, whoever leads the tempo, while tempo and song position stand.
// A tempo that was tapped at half or twice its rate is mended in package clock.
//
// Engine.Frame does all of that as a function of the program, the position, the
// commands given to Do before it, and the engine's memory (memory.go): one struct
// with all that frames before have left behind, such as where a fade came from and
// what flashed in the last second. It reads no clock, does no I/O, cannot fail and
// does not touch the heap, so that the live loop, rehearsal, analysis and pictures
// all call the same one. Loop owns an Engine and a clock and is the only timer;
// Offline takes the same steps (frames.go) without one.
//
// # A show that is edited while it plays
//
// A Reload is another program, matched by name off the loop. The loop takes it
// once a frame has left, and the engine's whole memory is carried over: its state
// by name, light and what the flash limiter counts by heads and groups. By how much the new light differs from what was lit is taken off over
// Program.Ease, so that the wire does not jump; equal programs give equal bytes.
//
// # The grid of frames
//
// A song may change its meter at any bar line and its tempo anywhere (measure.go,
// times.go). Bars and beats count by the meter of the place, from the start of the
// section; a length that crosses a change counts each bar and beat by its own; and
// effects in bars begin anew with each bar. Song position is in quarter notes
// throughout, so that it needs no map. A MIDI clock that leads has its own tempo;
// the internal clock takes the song's on the beat of the change (follow.go).
//
// While music plays, frames lie in equal steps between marks: beats, cues, the
// boundaries of armed sections, ends of sections. Each is asked of the clock
// ahead of time and becomes a frame, so that a cue on the downbeat leaves on it
// and not up to 22.7 ms later. Of the steps there are as many as fit:
// ⌊44·60/T⌋ a beat at tempo T.
//
//	mark            mark (a cue)    mark
//	|   |   |   |   |  |  |  |  |  |   |   |   |     time ►
//	 no step under 1/44 s; no second with more than 44
//
// What is left of the way is divided anew at each frame. Where marks are closer
// than 1/44 s, the second one's frame goes as early as it may. Stopped, or with a free
// grid, frames come at the plain rate. Late by a whole period is skipped and
// counted. Universes with less lead than others get the same frames later.
//
// Sources: ANSI E1.31-2018, 6.6.1 (no faster than E1.11 allows); ANSI E1.11
// (the shortest packet of 512 slots: 44 a second).
//
// A Program is a show with every name resolved to an index. Package shows
// compiles one from files.
package engine
