package midi

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A note ends at its note off, at a note on of velocity 0, or where its key sounds
// again; one that never ends has no length. The same key on another channel or in
// another track is another note.
func TestNotes(t *testing.T) {
	f := mustParse(t, file(1, 96,
		track("\x00\x90\x3C\x40"+"\x00\x91\x3C\x41"+"\x60\x80\x3C\x00"+"\x00\x91\x3C\x00"+"\x10\x90\x3C\x42"+"\x10\x90\x3C\x43"+"\x10\xC0\x05"+endOfTrack),
		track("\x30\x90\x3C\x44"+"\x7F\xB0\x07\x64"+endOfTrack)))
	assert.Equal(t, []Note{
		{0, 96, 0, 1, 60, 64},
		{0, 96, 0, 2, 60, 65},
		{48, 48, 1, 1, 60, 68},
		{112, 128, 0, 1, 60, 66},
		{128, 128, 0, 1, 60, 67},
	}, f.Notes())
	assert.Empty(t, mustParse(t, file(1, 96, track(endOfTrack))).Notes())
}

// What follows a NUL in a text is left out. Tabs and ends of lines become spaces, other
// control characters a dot.
func TestTextEndsAtNUL(t *testing.T) {
	f := mustParse(t, file(1, 96, track("\x00\xFF\x06\x06Verse\x00"+"\x00\xFF\x06\x05V1\x00\xFF\x07"+"\x00\xFF\x06\x01\x00"+"\x00\xFF\x06\x03V\x07\xE9"+"\x00\xFF\x06\x00"+"\x00\xFF\x06\x04V\t2\n"+endOfTrack)))
	var texts []string
	for _, m := range f.Markers {
		texts = append(texts, m.Text)
	}
	assert.Equal(t, []string{"Verse", "V1", "", "V·é", "", "V 2 "}, texts)
}
