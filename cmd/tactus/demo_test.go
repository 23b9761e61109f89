package main

import (
	"bytes"
	"io/fs"
	"os"
	"testing"

	"tactus/shows"
	"tactus/shows/smf"
)

// The demo's MIDI file is the demo's plan, so that neither can be changed
// without the other.
func TestDemoMIDIIsThePlan(t *testing.T) {
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	want, err := smf.Write(show.Program)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile("../../shows/harbour-hall/"+shows.DemoMIDI, want, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, err := fs.ReadFile(shows.Demo(), shows.DemoMIDI)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what the show says; 'make golden' writes it anew", shows.DemoMIDI)
	}
}
