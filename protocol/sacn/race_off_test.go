//go:build !race

package sacn

const raceEnabled = false
