package sound

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/kazzmir/opus-go/player"
)

// opusRate is the rate at which Opus is decoded, whatever it was recorded at (RFC 7845, 4.2).
const opusRate = 48000

func readOpus(in *bufio.Reader, out *writer) (cut bool, err error) {
	d, err := player.NewPlayerF32FromReader(in)
	if err != nil {
		return false, fmt.Errorf("%w: %v", ErrDamaged, err)
	}
	n := d.Channels()
	if err := out.open(Format{"Ogg Opus", opusRate, n}); err != nil {
		return false, err
	}
	b, frame := make([]byte, 4*n*1024), make([]float32, n)
	for {
		got, err := io.ReadFull(d, b)
		for i := 0; i+4*n <= got; i += 4 * n {
			for c := range frame {
				frame[c] = math.Float32frombits(binary.LittleEndian.Uint32(b[i+4*c:]))
			}
			if err := out.add(frame); err != nil {
				return false, err
			}
		}
		switch {
		case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
			return false, nil
		case err != nil && out.frames > 0:
			return true, nil
		case err != nil:
			return false, fmt.Errorf("%w: %v", ErrDamaged, err)
		}
	}
}
