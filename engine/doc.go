// Package engine plays a compiled show: a position in the music goes in,
// universes of light come out.
//
//	Event ─► State     song, section, pass and cue; what is armed; masters and
//	          │        overrides: (state, event) to state
//	          ▼
//	        layers     1 look           the cue's static light
//	          │        2 effects        waves over it, functions of the beat
//	          │        3 build          levels that grow or ebb over a section
//	          │        4 fade           from the light when the cue began
//	          │        5 kept groups    stay as they were; floors; the haze's cycle
//	          │          (a hold keeps 1 to 5 as they were)
//	          │        6 overrides      set by an operator; house lights
//	          │        7 inputs         faders of a house desk: highest, last or scaling
//	          │        8 masters        of groups, then the grand master
//	          │        9 blackout       all heads but those it spares
//	          │        10 work light    house and work light, over everything
//	          │        11 flash limiter holds back light that would flash too often;
//	          │                         it applies to all of the above
//	          ▼
//	        Encode     states to slots
//	     ─► []dmx.Universe ─► Output.Send
//
// The list is in order of precedence: a later layer overrides an earlier one (layer.go).
// View.Explain renders them one by one and reports what each did to a head.
//
// Which section comes next has an order of precedence too, the strongest first:
//
//	1 a jump of the transport, another song or look   nothing is armed any longer
//	2 a section fired, armed or disarmed by hand      replaces what is armed
//	3 a section armed by hand, at its own boundary    notes for that beat change
//	                                                  nothing, early or late
//	4 notes that name sections: the DAW's plan        enter and arm; a section armed
//	                                                  by hand for later stays armed
//	5 a section that loops                            begins again at its end
//	6 the order of the song                           the section after the present
//
// By hand is every command that is not a section's note or a program change: from the
// page, a key, OSC or a note with a command of its own. Sections armed by hand keep their
// beat of the transport when notes enter other sections before it.
//
// And which song plays, the strongest first:
//
//	1 a song or look chosen by hand                    at once; releases a song that waits
//	2 a note that enters a section at once, and that
//	  only another song has                            enters it there: a song that waits,
//	                                                   or one that a program change ended
//	                                                   before its time, which was a mistake
//	3 a program change while no song plays             at once
//	4 a program change while another song plays        waits: for a stop, a start from 0,
//	                                                   song position 0, the song's end, a
//	                                                   jump out of the song
//
// A song plays from a bar after play starts in it until its end: in that first bar a
// program change belongs to the start. A note that comes with a program change, up to
// 150 ms after it, means a section of the song named. A jump to a place beyond a
// song's end changes no light, and there notes of the song before come first.
//
// # Songs
//
// State is a value that depends only on the events before. Cues count from where
// their section was entered, so that a section that comes again plays its cues on
// its own downbeat. A section that loops repeats until another is entered; passes
// are counted, and cues may differ by pass. A pickup belongs to the section that
// follows it: it plays when that section is armed, and does not when another is. A
// note or program change that comes a little early waits for the next boundary; a
// late one acts at once, its effects counted from the boundary. Commands that name
// something unknown are counted and change nothing.
//
// A frame is a function of the program, the position, the commands given to Do
// before it, and the engine's memory (memory.go): everything that earlier frames leave to
// later ones. Engine.Frame reads no clock, does no I/O, cannot fail and does not
// allocate, so that live shows, rehearsal, analysis and pictures all use it. Loop
// owns an Engine and a clock and has the only timer; Offline (frames.go) has none.
//
// An edited show is taken over between two frames: see Reload.
//
// # Checkpoints
//
// A checkpoint has all that later frames depend on: another process with the same show
// goes on from it and makes the same frames, to the byte. RestoreCheckpoint gives the show
// to a Loop (LoopConfig.Resume) after a crash, or to a Replay (ResumeReplay) that follows
// the loop by its records and can go on live itself (Replay.TakeOver).
//
//	mark      "tactus checkpoint\n"
//	version   8 bytes, CheckpointVersion
//	length    8 bytes, of all, checksum included
//	info      show's name, origin of the times, time and number of the last frame
//	identity  counts, and a hash of names and places: another show is refused
//	memory    playback, masters, overrides, fades, light by head, flash limiter
//	frames    when the next are due, what the clock was told, evidence of bars, counts
//	clock     the whole clock.Transport: tempo lock, taps, position
//	checksum  4 bytes, CRC-32C of all before
//
// Numbers are little-endian of 8 bytes (clock.Coder). Each struct lists its fields once,
// for writing and reading. Indexes are checked against the program when they are read.
//
// Not in it: commands that wait in the input; the goodbye; frames on the way to universes
// with less lead; an edit that waits; the effects and the name of a cue that an edited show
// lacks (its light stays until the next cue). Times are those of the process that wrote it.
// A process on the same computer goes on with them by clock.ResumeBase, one on another by
// clock.Base.Shifted. Clock ticks lost between are counted by time, as in any silence.
//
// A loop makes one after each frame while that takes a fiftieth of its time at most, else
// less often, and always after a frame in which a command came or a cue or section began.
// On a rig so large that the next frame would be late for it, it waits for a frame that
// leaves the time, for a second or two at most. After a crash meanwhile, the show goes on
// from the checkpoint before.
//
// # When frames are made
//
// A song may change its meter at any bar line and its tempo anywhere (bars.go). Bars
// and beats count by the meter of the place, from the start of the section; a length
// that crosses a change counts each bar and beat by its own meter; effects in bars
// restart with each bar. Song position is in quarter notes throughout. The internal
// clock takes the song's tempo on the beat of the change (follow.go).
//
// While music plays, frames lie in equal steps between marks: beats, cues, the
// boundaries of armed sections, ends of sections. The clock says ahead of time when
// each mark comes, so that a cue on the downbeat leaves on it and not up to 22.7 ms
// later. There are as many steps as fit: ⌊44·60/T⌋ a beat at T beats a minute.
//
// The way left to the mark is divided anew at each frame, so that frames follow the
// tempo smoothly (framegrid.go). Of two marks closer than 1/44 s the second is sent as
// early as the rate allows. While the music is stopped, or with LoopConfig.Free, frames
// come at the plain rate. A frame that is late by a whole period is skipped and counted.
//
// Sources: ANSI E1.31-2018, 6.6.1 (no faster than E1.11 allows); ANSI E1.11
// (the shortest packet of 512 slots: 44 a second).
package engine
