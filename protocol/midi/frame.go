package midi

import (
	"errors"
	"fmt"
)

// The child process sends frames to its parent on standard output:
//
//	0  1  kind: 'H' hello, 'M' message, 'B' heartbeat, 'E' error
//	1  1  length n of the body, 0..255
//	2  n  H: "tactus-midi 1"  M: one MIDI message  B: none  E: text
//
// H comes first, once the port is open. After E the child ends.
const (
	frameHello     byte = 'H'
	frameMessage   byte = 'M'
	frameHeartbeat byte = 'B'
	frameError     byte = 'E'

	hello = "tactus-midi 1"
)

// errFrame means that the child does not speak this protocol.
var errFrame = errors.New("midi: the driver process does not follow its protocol")

// appendFrame appends one frame. It cuts the body at 255 octets.
func appendFrame(b []byte, kind byte, body string) []byte {
	body = body[:min(len(body), 255)]
	return append(append(b, kind, byte(len(body))), body...)
}

// frameReader splits a child's output into frames. The output may come in pieces of
// any size.
type frameReader struct {
	buf   [2 + 255]byte
	have  int
	began bool // hello was seen
}

// add reads b and calls use for each complete frame. The body is valid only during
// the call.
func (f *frameReader) add(b []byte, use func(kind byte, body []byte) error) error {
	for _, c := range b {
		f.buf[f.have] = c
		f.have++
		if f.have < 2 || f.have < 2+int(f.buf[1]) {
			if f.have == 1 && !f.known(c) {
				return fmt.Errorf("%w: frame kind %02X", errFrame, c)
			}
			continue
		}
		body := f.buf[2:f.have]
		f.have = 0
		if f.buf[0] == frameHello {
			if string(body) != hello {
				return fmt.Errorf("%w: hello %q, want %q", errFrame, body, hello)
			}
			f.began = true
		}
		if err := use(f.buf[0], body); err != nil {
			return err
		}
	}
	return nil
}

// known reports whether a frame of this kind is allowed now.
func (f *frameReader) known(kind byte) bool {
	switch kind {
	case frameHello:
		return !f.began
	case frameMessage, frameHeartbeat:
		return f.began
	}
	return kind == frameError
}
