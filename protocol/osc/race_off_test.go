//go:build !race

package osc

const raceDetector = false
