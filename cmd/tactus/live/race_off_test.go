//go:build !race

package live

// raceEnabled: the race detector allocates, and slows real time several times.
const raceEnabled = false
