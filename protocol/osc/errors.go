package osc

import "errors"

// Errors of Parse, wrapped with the numbers.
var (
	ErrShort   = errors.New("osc: too short")
	ErrLong    = errors.New("osc: too long, or too many arguments")
	ErrAlign   = errors.New("osc: not a multiple of 4 octets")
	ErrString  = errors.New("osc: string without its NULs")
	ErrBlob    = errors.New("osc: blob not padded with NULs")
	ErrAddress = errors.New("osc: not an address")
	ErrTag     = errors.New("osc: unknown type tag")
	ErrDepth   = errors.New("osc: bundles too deep")
	ErrTime    = errors.New("osc: bundle due before the one around it")
)

// Limits of what Parse takes. 65,507 octets is the most that UDP on IPv4
// carries; the others are ours.
const (
	MaxPacket = 65507
	MaxDepth  = 8   // bundles within bundles
	MaxArgs   = 256 // of one message
)
