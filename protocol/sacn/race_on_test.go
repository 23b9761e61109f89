//go:build race

package sacn

const raceEnabled = true
