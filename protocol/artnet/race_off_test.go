//go:build !race

package artnet

const raceEnabled = false
