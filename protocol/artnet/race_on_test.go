//go:build race

package artnet

// raceEnabled: the race detector makes sync.Pool, which x/net sends through,
// forget at random.
const raceEnabled = true
