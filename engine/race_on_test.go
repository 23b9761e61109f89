//go:build race

package engine

// raceDetector: its pools forget at random, and everything is slower.
const raceDetector = true
