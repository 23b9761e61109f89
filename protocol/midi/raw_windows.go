package midi

import (
	"context"
	"os"
)

// rawSource is an open byte stream: a serial device or a named pipe.
type rawSource struct {
	fifo bool
	ctx  context.Context
	file *os.File
	stop func() bool
}

// openRaw opens path. When ctx ends the file is closed, which ends a waiting Read if
// the device allows that.
func openRaw(ctx context.Context, path string) (*rawSource, error) {
	s := &rawSource{ctx: ctx, file: os.Stdin}
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, err
		}
		s.file = f
	}
	s.stop = context.AfterFunc(ctx, func() { s.file.Close() })
	return s, nil
}

// Read waits for octets, the end of the stream (io.EOF), or the end of ctx.
func (s *rawSource) Read(b []byte) (int, error) {
	n, err := s.file.Read(b)
	if s.ctx.Err() != nil {
		return 0, s.ctx.Err()
	}
	return n, err
}

// Close closes what openRaw opened.
func (s *rawSource) Close() {
	if s.stop() && s.file != os.Stdin {
		s.file.Close()
	}
}
