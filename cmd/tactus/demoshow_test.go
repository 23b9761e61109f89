package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tactus/shows"
)

func demoShow(t *testing.T) *shows.Show {
	t.Helper()
	show, problems := shows.Load(shows.Demo(), shows.Options{})
	require.Empty(t, problems)
	return show
}

// demoFixture names a fixture of the demo, and demoDimmer its slot of intensity.
const (
	demoFixture = "wash 1"
	demoDimmer  = 1
)
