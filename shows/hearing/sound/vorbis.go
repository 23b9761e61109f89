package sound

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"github.com/jfreymuth/oggvorbis"
)

func readVorbis(in *bufio.Reader, out *writer) (cut bool, err error) {
	r, err := oggvorbis.NewReader(in)
	if err != nil {
		return false, fmt.Errorf("%w: %v", ErrDamaged, err)
	}
	if err := out.open(Format{"Ogg Vorbis", r.SampleRate(), r.Channels()}); err != nil {
		return false, err
	}
	n := r.Channels()
	b := make([]float32, 1024*n)
	for {
		got, err := r.Read(b)
		for i := 0; i+n <= got; i += n {
			if err := out.add(b[i : i+n]); err != nil {
				return false, err
			}
		}
		if errors.Is(err, io.EOF) {
			return false, nil
		}
		if err != nil {
			if out.frames > 0 {
				return true, nil
			}
			return false, fmt.Errorf("%w: %v", ErrDamaged, err)
		}
	}
}
