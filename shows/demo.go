package shows

import (
	"embed"
	"io/fs"
)

//go:embed harbour-hall
var harbourHall embed.FS

// Demo returns the built-in show folder: Harbour Hall, a singalong night.
func Demo() fs.FS {
	sub, err := fs.Sub(harbourHall, "harbour-hall")
	if err != nil {
		panic(err) // the name is ours
	}
	return sub
}
