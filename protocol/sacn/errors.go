package sacn

import "errors"

// Reasons to discard a packet. Parse wraps one of them with the numbers that
// failed.
var (
	ErrShort      = errors.New("sacn: packet too short")
	ErrPreamble   = errors.New("sacn: wrong preamble or postamble size")   // 5.1, 5.2
	ErrIdentifier = errors.New("sacn: not an ACN packet")                  // 5.3
	ErrLength     = errors.New("sacn: length field does not fit")          // 5.4, 6.1, 7.1, 8.1
	ErrVector     = errors.New("sacn: unknown vector")                     // 5.5, 6.2.1, 7.2, 8.2
	ErrAddressing = errors.New("sacn: wrong address type, start or step")  // 7.3, 7.4, 7.5
	ErrCount      = errors.New("sacn: wrong property value count")         // 7.6
	ErrUniverse   = errors.New("sacn: universe number out of range")       // 6.2.7, 6.3.3
	ErrPage       = errors.New("sacn: page number out of range")           // 8.3, 8.4
	ErrBusy       = errors.New("sacn: the network does not take the data") // the rest of the frame is dropped
)
