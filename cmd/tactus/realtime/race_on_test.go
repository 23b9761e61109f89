//go:build race

package realtime

// raceEnabled: the race detector allocates, and slows real time several times.
const raceEnabled = true
