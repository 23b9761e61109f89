package sound

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wave writes a WAV file of samples, as Microsoft's "Multiple channel audio data and WAVE
// files" has it. size is what its data chunk says; -1: the truth.
func wave(code uint16, bits, rate, channels int, data []byte, size int64) []byte {
	if size < 0 {
		size = int64(len(data))
	}
	b := []byte("RIFF\xff\xff\xff\xffWAVE")
	b = append(b, "junk\x03\x00\x00\x00abc\x00"...) // an odd chunk has an octet of padding
	b = append(b, "fmt \x10\x00\x00\x00"...)
	b = binary.LittleEndian.AppendUint16(b, code)
	b = binary.LittleEndian.AppendUint16(b, uint16(channels))
	b = binary.LittleEndian.AppendUint32(b, uint32(rate))
	b = binary.LittleEndian.AppendUint32(b, uint32(rate*channels*bits/8))
	b = binary.LittleEndian.AppendUint16(b, uint16(channels*bits/8))
	b = binary.LittleEndian.AppendUint16(b, uint16(bits))
	b = append(b, "data"...)
	b = binary.LittleEndian.AppendUint32(b, uint32(size))
	return append(b, data...)
}

// plain leaves out the odd chunk, which not every program takes.
func plain(b []byte) []byte { return append(append([]byte{}, b[:12]...), b[24:]...) }

// all reads a whole recording.
func all(t *testing.T, r io.Reader) (f Format, channels [][]float32, cut bool) {
	t.Helper()
	f, cut, err := Read(r, func(f Format, block [][]float32) error {
		if channels == nil {
			channels = make([][]float32, f.Channels)
		}
		for c := range block {
			channels[c] = append(channels[c], block[c]...)
		}
		return nil
	})
	require.NoError(t, err)
	return f, channels, cut
}

func TestReadWAV(t *testing.T) {
	float := func(v ...float32) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
		}
		return b
	}
	for name, c := range map[string]struct {
		src  []byte
		want [][]float32
		cut  bool
	}{
		"8 bits":   {wave(1, 8, 8000, 1, []byte{128, 255, 0}, -1), [][]float32{{0, 127.0 / 128, -1}}, false},
		"16 bits":  {wave(1, 16, 44100, 2, []byte{0, 0x40, 0, 0x80, 0, 0, 0xFF, 0x7F}, -1), [][]float32{{0.5, 0}, {-1, 32767.0 / 32768}}, false},
		"24 bits":  {wave(1, 24, 96000, 1, []byte{0, 0, 0x40, 0, 0, 0x80}, -1), [][]float32{{0.5, -1}}, false},
		"32 bits":  {wave(1, 32, 48000, 1, []byte{0, 0, 0, 0x40}, -1), [][]float32{{0.5}}, false},
		"floats":   {wave(3, 32, 48000, 1, float(0.25, float32(math.NaN()), 100), -1), [][]float32{{0.25, 0, 8}}, false},
		"doubles":  {wave(3, 64, 48000, 1, binary.LittleEndian.AppendUint64(nil, math.Float64bits(-0.5)), -1), [][]float32{{-0.5}}, false},
		"cut off":  {wave(1, 16, 44100, 1, []byte{0, 0x40, 0, 0x80, 7}, 4000), [][]float32{{0.5, -1}}, true},
		"no size":  {wave(1, 16, 44100, 1, []byte{0, 0x40, 0, 0x80}, 0), [][]float32{{0.5, -1}}, false},
		"all ones": {wave(1, 16, 44100, 1, []byte{0, 0x40, 0, 0x80}, 0xFFFFFFFF), [][]float32{{0.5, -1}}, false},
	} {
		f, got, cut := all(t, bytes.NewReader(c.src))
		assert.Equal(t, c.want, got, name)
		assert.Equal(t, c.cut, cut, name)
		assert.Equal(t, "WAV", f.Kind, name)
	}
}

func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		src  string
		want string
	}{
		"nothing":           {"", "the file is empty"},
		"text":              {"song: Long Shore\n", `it begins with "song: Lo"`},
		"an archive":        {"PK\x03\x04" + string(make([]byte, 80)), "not a recording"},
		"MP4":               {"\x00\x00\x00\x20ftypM4A " + string(make([]byte, 80)), "ffmpeg -i FILE"},
		"AAC":               {"\xFF\xF1\x50\x80" + string(make([]byte, 80)), "AAC file"},
		"a RIFF of another": {"RIFF\x00\x00\x00\x00AVI LIST", "without WAVE"},
		"no data":           {string(wave(1, 16, 44100, 1, nil, -1)[:50]), `no chunk "data"`},
		"no samples":        {string(wave(1, 16, 44100, 1, nil, 100)), "no samples"},
		"codec":             {string(wave(0x55, 16, 44100, 1, []byte{1, 2}, -1)), "samples of format 85 with 16 bits"},
		"no channels":       {string(wave(1, 16, 44100, 0, []byte{1, 2}, -1)), "0 channels, want 1 to 8"},
		"no rate":           {string(wave(1, 16, 0, 1, []byte{1, 2}, -1)), "0 samples a second"},
		"too slow":          {string(wave(1, 16, 3999, 1, []byte{1, 2}, -1)), "3999 samples a second, want 4000 to"},
		"FLAC's head alone": {"fLaC" + string(make([]byte, 80)), "damaged"},
		"Vorbis' head":      {"OggS" + string(make([]byte, 24)) + "\x01vorbis" + string(make([]byte, 80)), "damaged"},
		"Opus' head":        {"OggS" + string(make([]byte, 24)) + "OpusHead" + string(make([]byte, 80)), "damaged"},
		"MP3's tag alone":   {"ID3\x03\x00\x00\x7f\x7f\x7f\x7f", "ends in its tags"},
	} {
		_, _, err := Read(bytes.NewReader([]byte(c.src)), func(Format, [][]float32) error { return nil })
		assert.ErrorContains(t, err, c.want, name)
	}
}

// Recordings that other programs wrote are read as those programs read them: FLAC and WAV
// sample by sample, what loses something within its rounding, all from the same first sample.
func TestReadAsOthersDo(t *testing.T) {
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(7, 11))
	const rate, length = 44100, 3*44100 + 123
	data := make([]byte, 0, 4*length)
	for i := range length {
		s := float64(i) / rate
		v := 0.4*math.Sin(2*math.Pi*440*s)*math.Abs(math.Sin(3*s)) + 0.02*random.NormFloat64()
		if i%11025 < 400 {
			v += 0.3 * random.NormFloat64() * math.Exp(-float64(i%11025)/100)
		}
		for _, w := range []float64{v, 0.7 * v} {
			data = binary.LittleEndian.AppendUint16(data, uint16(int16(32767*max(-1, min(1, w)))))
		}
	}
	source := filepath.Join(dir, "source.wav")
	require.NoError(t, os.WriteFile(source, plain(wave(1, 16, rate, 2, data, -1)), 0o644))
	for _, c := range []struct {
		name     string
		encode   []string
		decode   []string // another program's reading, as WAV
		within   float64  // of each sample
		overall  float64  // root of the mean square of the differences
		original float64  // correlation with the source, at least: nothing is shifted
	}{
		{"a.flac", []string{"flac", "-s", "-f", "-o", "a.flac", "source.wav"}, []string{"flac", "-s", "-d", "-f", "-o", "back.wav", "a.flac"}, 0, 0, 1},
		{"b.mp3", []string{"lame", "--quiet", "-b", "128", "source.wav", "b.mp3"}, []string{"lame", "--quiet", "--decode", "b.mp3", "back.wav"}, 0.002, 2e-4, 0.98},
		{"v.mp3", []string{"lame", "--quiet", "-V", "2", "source.wav", "v.mp3"}, []string{"lame", "--quiet", "--decode", "v.mp3", "back.wav"}, 0.002, 2e-4, 0.98},
		{"c.ogg", []string{"oggenc", "-Q", "-q", "6", "-o", "c.ogg", "source.wav"}, []string{"oggdec", "-Q", "-o", "back.wav", "c.ogg"}, 1e-4, 5e-5, 0.98},
		{"d.opus", []string{"opusenc", "--quiet", "--bitrate", "160", "source.wav", "d.opus"}, []string{"opusdec", "--quiet", "--rate", "48000", "--no-dither", "d.opus", "back.wav"}, 1e-3, 1e-4, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			needTool(t, c.encode[0])
			needTool(t, c.decode[0])
			for _, line := range [][]string{c.encode, c.decode} {
				cmd := exec.Command(line[0], line[1:]...)
				cmd.Dir = dir
				out, err := cmd.CombinedOutput()
				require.NoError(t, err, "%s", out)
			}
			_, theirs, _ := all(t, open(t, filepath.Join(dir, "back.wav")))
			_, ours, cut := all(t, open(t, filepath.Join(dir, c.name)))
			assert.False(t, cut)
			require.Len(t, ours[0], len(theirs[0]), "samples")
			worst, sum := 0.0, 0.0
			for k := range ours {
				for i, v := range ours[k] {
					d := math.Abs(float64(v - theirs[k][i]))
					if c.encode[0] == "lame" && i < granule {
						continue // decoders differ in what they overlap the first one with
					}
					worst, sum = max(worst, d), sum+d*d
				}
			}
			assert.LessOrEqual(t, worst, c.within, "the largest difference")
			assert.LessOrEqual(t, math.Sqrt(sum/float64(2*len(ours[0]))), c.overall, "the mean difference")
			if c.original > 0 {
				_, from, _ := all(t, open(t, source))
				require.Len(t, ours[0], len(from[0]), "samples of the source")
				assert.GreaterOrEqual(t, correlation(from[0], ours[0]), c.original-1e-9)
			}
		})
	}
}

// granule is the samples that an MP3 file codes at a time (ISO/IEC 11172-3, 2.4.2.2).
const granule = 576

func needTool(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("CI") == "true" {
			require.NoError(t, err, "make setup installs it")
		}
		t.Skipf("no %s: make setup installs it", name)
	}
}

func open(t *testing.T, name string) *os.File {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f
}

func correlation(a, b []float32) float64 {
	var ab, aa, bb float64
	for i := range a {
		ab += float64(a[i]) * float64(b[i])
		aa += float64(a[i]) * float64(a[i])
		bb += float64(b[i]) * float64(b[i])
	}
	return ab / math.Sqrt(aa*bb)
}

// The resampler is held against the closed form of what it is given: sines come out where
// they go in, as loud as they are; what lies above half the rate does not come back.
func TestResampler(t *testing.T) {
	for _, rate := range []int{8000, 11027, 22050, 44100, 48000, 96000} {
		for _, hz := range []float64{100, 1000, 3500, 8500, 12500, 15000} {
			if hz > 0.45*float64(rate) {
				continue
			}
			r := NewResampler(rate)
			block := make([]float32, 1000)
			for n := 0; n < 2*rate; n += len(block) {
				for i := range block {
					block[i] = float32(math.Sin(2 * math.Pi * hz * float64(n+i) / float64(rate)))
				}
				r.Write([][]float32{block, block})
			}
			out := r.Samples()
			assert.InDelta(t, 2*AnalysisRate, len(out), 2*1000*AnalysisRate/float64(rate), "samples at %d", rate)
			worst := 0.0
			for i := AnalysisRate / 2; i < AnalysisRate; i++ {
				want := math.Sin(2 * math.Pi * hz * float64(i) / AnalysisRate)
				if hz > 11025 {
					want = 0
				}
				worst = max(worst, math.Abs(float64(out[i])-want))
			}
			assert.Less(t, worst, 0.004, "%g Hz at %d", hz, rate)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(wave(1, 16, 44100, 2, []byte{0, 0x40, 0, 0x80, 0, 0, 0xFF, 0x7F}, -1))
	f.Add([]byte("fLaC\x00\x00\x00\x22"))
	f.Add([]byte("ID3\x03\x00\x00\x00\x00\x00\x00\xff\xfb\x90\x00Info"))
	f.Add([]byte("OggS\x00\x02"))
	f.Fuzz(func(t *testing.T, src []byte) {
		n := 0
		_, _, _ = Read(bytes.NewReader(src), func(_ Format, block [][]float32) error {
			if n += len(block[0]); n > 1<<20 {
				return io.ErrShortBuffer
			}
			for _, c := range block {
				for _, v := range c {
					if !(v >= -8 && v <= 8) {
						require.Fail(t, "a sample outside of -8..8", "%v", v)
					}
				}
			}
			return nil
		})
	})
}
