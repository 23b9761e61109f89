package main

import (
	"testing"

	"tactus/shows"
)

func demoShow(t *testing.T) *shows.Show {
	t.Helper()
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return show
}

// demoFixture names a fixture of the demo, and demoDimmer its slot of intensity.
const (
	demoFixture = "wash 1"
	demoDimmer  = 1
)
