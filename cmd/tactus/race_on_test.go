//go:build race

package main

// raceEnabled: the race detector allocates, and slows real time several times.
const raceEnabled = true
