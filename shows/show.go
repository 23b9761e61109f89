package shows

import (
	"fmt"
	"net/netip"

	"tactus/clock"
	"tactus/engine"
	"tactus/shows/language"
	"tactus/shows/limits"
)

// Show is a compiled show: what the engine plays and where it goes.
type Show struct {
	Program        *engine.Program
	Outputs        Outputs
	Venue          string
	Sets           []string      // names of the set lists, in file order
	Inputs         []Input       // universes that a run takes in, in file order
	Clock          Sources       // what may lead the tempo
	Power          Power         // what the rig draws
	Groups         []Group       // in file order
	Kept           []KeptGroup   // what songs leave alone, in file order
	Profiles       []Profile     // those of the show by name, then those built in
	Files          []string      // of the songs, by the engine's index
	Accepted       []Accepted    // findings that songs accept
	NotesWritten   []NoteWritten // that show.yaml names itself
	RigOnly        bool          // looks, songs and sets were not loaded
	Numberings     []Numbering   // of the sets, in file order; of all songs if there is no set
	Ladder         *Ladder       // of the looks file, or nil
	Limits         limits.Set    // by which check judges
	FacesAudience  []int32       // heads that face the audience
	Characters     []Character   // built-in ones, and those of the looks file
	SongCharacters [][]Character // those that a song's file names, by the engine's index; mostly none
}

// Sources are the clocks that may lead the tempo: MIDI clock before taps, taps before
// the internal clock.
type Sources struct{ MIDI, Tap, Internal bool }

// Protocol is how a universe leaves the laptop.
type Protocol uint8

// The protocols.
const (
	Virtual Protocol = iota // it does not
	SACN                    // ANSI E1.31
	ArtNet                  // Art-Net 4
)

// String names the protocol.
func (p Protocol) String() string {
	return [...]string{"virtual", "sACN", "Art-Net", "unknown"}[min(p, 3)]
}

// Outputs say where light goes, and what happens to it when the program ends.
type Outputs struct {
	Universes []Universe // by the engine's index
	SACN      SACNSettings
	ArtNet    ArtNetSettings
	Exit      Exit
	Free      bool // frames come at a plain rate, whatever the beat
	Messages  Messages
}

// Universe is one universe on the wire.
type Universe struct {
	Name      string
	Protocol  Protocol
	Number    int          // SACN: 1..63999, ArtNet: port address 0..32767
	Priority  uint8        // SACN: 0..200
	To        []netip.Addr // unicast receivers; ArtNet: none means the nodes that answer
	Multicast bool         // SACN
	Broadcast bool         // ArtNet
	Rate      int          // most frames a second, 1..44
	OnChange  bool         // else every frame is sent
	Lead      clock.Time   // how far ahead of the beat, 0..MostLead
}

// Wire prints the protocol and number: "sACN 1", "Art-Net 0.0.1" (Net, Sub-Net and
// Universe), "virtual".
func (u *Universe) Wire() string {
	switch u.Protocol {
	case SACN:
		return fmt.Sprintf("sACN %d", u.Number)
	case ArtNet:
		return "Art-Net " + language.PortAddress(u.Number)
	}
	return u.Protocol.String()
}

// Label prints the name with what it is on the wire: "stage (sACN 1)".
func (u *Universe) Label() string { return fmt.Sprintf("%s (%s)", u.Name, u.Wire()) }

// SACNSettings holds for all sACN universes.
type SACNSettings struct {
	SourceName string // at most 63 bytes
	Interface  string // name or address, or "" for the system's choice
	Sync       uint16 // synchronization universe 1..63999, or 0
}

// ArtNetSettings holds for all Art-Net universes.
type ArtNetSettings struct {
	Interface string
	Sync      bool
	Poll      bool
}

// ExitRule is what happens to the light when the program ends.
type ExitRule uint8

// The rules.
const (
	ExitHold      ExitRule = iota // stop sending; receivers hold
	ExitFade                      // fade the stage out, then stop
	ExitTerminate                 // tell receivers to stop
)

// String is the rule's name in show files.
func (r ExitRule) String() string {
	return [...]string{"hold", "fade", "terminate", "unknown"}[min(r, 3)]
}

// Exit is the rule with the time its fade takes.
type Exit struct {
	Rule ExitRule
	Over clock.Time
}
