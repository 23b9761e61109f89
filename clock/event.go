package clock

// Kind is the kind of an Event.
type Kind uint8

// The kinds of event. Tick to Locate are MIDI 1.0 system messages.
const (
	Tick24   Kind = iota + 1 // F8: 1/24 of a quarter note has passed
	Start                    // FA: play from 0 at the next tick
	Stop                     // FC: stop at once, keep the position
	Continue                 // FB: play from the present position at the next tick
	Locate                   // F2: song position, in Event.Sixteenths
	Tap                      // a person taps the beat
	SetTempo                 // the internal clock's tempo, in Event.Tempo
	Lost                     // the port that carried the clock has gone
	Halve                    // half the tempo that was tapped, or is the internal clock's
	Double                   // twice that tempo
	Planned                  // a hint: the score's tempo, in Event.Tempo, and its next change
)

// Event is one message to the clock, stamped when it arrived.
type Event struct {
	At         Time
	Kind       Kind
	Sixteenths int32 // Locate: 0..16383
	Tempo      Tempo // SetTempo, Planned; 0 with Planned: nothing is planned
	// Planned: from the song position Beat on, the score has the tempo Next; 0: no
	// change is planned. If the MIDI clock does otherwise, the tempo lock drops this
	// hint within a few ticks.
	Beat Beat
	Next Tempo
}
