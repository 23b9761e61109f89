//go:build race

package osc

// raceDetector counts allocations of its own.
const raceDetector = true
