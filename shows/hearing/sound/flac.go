package sound

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac"
)

func readFLAC(in *bufio.Reader, out *writer) (cut bool, err error) {
	stream, err := flac.New(in)
	if err != nil {
		return false, fmt.Errorf("%w: %v", ErrDamaged, err)
	}
	defer stream.Close()
	info := stream.Info
	if err := out.open(Format{"FLAC", int(info.SampleRate), int(info.NChannels)}); err != nil {
		return false, err
	}
	if info.BitsPerSample < 4 || info.BitsPerSample > 32 {
		return false, fmt.Errorf("%w: %d bits a sample, want 4 to 32", ErrDamaged, info.BitsPerSample)
	}
	scale := 1 / float32(int64(1)<<(info.BitsPerSample-1))
	frame := make([]float32, info.NChannels)
	for {
		f, err := stream.ParseNext()
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			return info.NSamples > 0 && out.frames < int64(info.NSamples), nil
		}
		if err != nil || len(f.Subframes) != len(frame) {
			if out.frames > 0 { // what came before the damage can be listened to
				return true, nil
			}
			return false, fmt.Errorf("%w: %v", ErrDamaged, err)
		}
		for i := range f.Subframes[0].Samples {
			for c, s := range f.Subframes {
				frame[c] = float32(s.Samples[i]) * scale
			}
			if err := out.add(frame); err != nil {
				return false, err
			}
		}
	}
}
