package main

import (
	"bytes"
	"io/fs"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
	"tactus/shows/showtest"
	"tactus/shows/smf"
)

// The demo's MIDI file is the demo's plan, so that neither can be changed
// without the other.
func TestDemoMIDIIsThePlan(t *testing.T) {
	show := showtest.Demo(t)
	want, err := smf.Write(show.Program)
	require.NoError(t, err)
	if *update {
		require.NoError(t, os.WriteFile("../../shows/harbour-hall/"+shows.DemoMIDI, want, 0o644))
		return
	}
	got, err := fs.ReadFile(shows.Demo(), shows.DemoMIDI)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(want, got), "%s is not what the show says; 'make golden' writes it anew", shows.DemoMIDI)
}
