package shows

import (
	"embed"
	"io/fs"
)

//go:embed harbour-hall
var harbourHall embed.FS

// DemoMIDI is the file in the demo that plays its set as a DAW would: clock,
// programs and notes. It is written from the show itself.
const DemoMIDI = "harbour-hall.mid"

// Demo returns the built-in show folder: Harbour Hall, a singalong night.
func Demo() fs.FS {
	sub, err := fs.Sub(harbourHall, "harbour-hall")
	if err != nil {
		panic(err) // the name is ours
	}
	return sub
}
