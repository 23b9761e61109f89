//go:build !race

package sacn_test

const raceEnabled = false
