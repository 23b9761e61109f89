//go:build !linux

package udp

import (
	"errors"
	"io"
)

// carrierIsReliable is false: how drivers set the flags of an interface without a
// cable was not tried on this system.
const carrierIsReliable = false

// openLinkEvents: changes are found by reading the interfaces again and again.
func openLinkEvents() (io.ReadCloser, error) { return nil, errors.ErrUnsupported }

func readLinkEvents(io.Reader, func()) {}

// readCarriers returns nothing: the interface's flags say whether it runs.
func readCarriers() map[int]bool { return nil }
