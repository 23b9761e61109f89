package hearing

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// truth is what testdata/listening/make_corpus.py says of a song that it has made.
type truth struct {
	ID       string
	Duration float64
	Meter    string
	Tempo    float64
	Music    struct{ Start, End float64 }
	Beats    []struct{ T float64 }
	Downs    []float64 `json:"downbeats"`
	Sections []struct {
		Name, Group string
		Start, End  float64
		Energy      float64
		EnergyTo    *float64 `json:"energy_to"`
	}
}

// made makes a song of the corpus by name, and plays its notes.
func made(t *testing.T, name string) (truth, []float64) {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		require.NotEqual(t, "true", os.Getenv("CI"), "make setup installs python3")
		t.Skip("no python3: make setup installs it")
	}
	dir := t.TempDir()
	out, err := exec.Command(python, "../../testdata/listening/make_corpus.py", dir, "--only", name, "--no-audio").CombinedOutput()
	require.NoError(t, err, "%s", out)
	var tr truth
	src, err := os.ReadFile(filepath.Join(dir, name+".truth.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(src, &tr))
	var score struct{ Notes [][]any }
	src, err = os.ReadFile(filepath.Join(dir, name+".notes.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(src, &score))
	return tr, play(score.Notes, tr.Duration)
}

// play is a small synthesiser: harmonics that fade for notes, noise and falling tones for
// drums. Each note is who, pitch, velocity, on and off.
func play(notes [][]any, seconds float64) []float64 {
	out := make([]float64, int(seconds*rate))
	random := rand.New(rand.NewPCG(3, 5))
	for _, n := range notes {
		who, pitch, loud := n[0].(string), n[1].(float64), n[2].(float64)/127
		on, off := n[3].(float64), n[4].(float64)
		if drum(out, random, who, on, loud*loud) {
			continue
		}
		hz, swell, fade := 440*math.Exp2((pitch-69)/12), 0.005, 1.5
		switch who {
		case "pad", "strings", "voice":
			swell, fade = 0.12, 0.1
		case "bass":
			fade = 0.8
		}
		last := min(len(out), int((off+0.1)*rate))
		for i := max(0, int(on*rate)); i < last; i++ {
			s := float64(i)/rate - on
			level := 0.12 * loud * loud * min(1, s/swell) * math.Exp(-fade*s)
			if s > off-on {
				level *= max(0, 1-(s-off+on)/0.1)
			}
			v := 0.0
			for h := 1.0; h <= 6 && h*hz < 9000; h++ {
				v += math.Sin(2*math.Pi*h*hz*s) / (h * math.Sqrt(h))
			}
			out[i] += level * v
		}
	}
	return out
}

// drum plays a stroke, and reports whether who is a drum.
func drum(out []float64, random *rand.Rand, who string, on, loud float64) bool {
	var fade, noise, hz float64
	switch who {
	case "kick":
		fade, noise, hz = 18, 0.05, 60
	case "snare", "clap":
		fade, noise, hz = 22, 0.5, 190
	case "hat", "pedal", "shaker", "tamb", "stick":
		fade, noise, hz = 70, 0.25, 0
	case "open", "crash", "ride":
		fade, noise, hz = 8, 0.25, 0
	case "tom1", "tom2", "tom3":
		fade, noise, hz = 12, 0.05, 110
	default:
		return false
	}
	last := 0.0
	for i := max(0, int(on*rate)); i < min(len(out), int((on+0.6)*rate)); i++ {
		s := float64(i)/rate - on
		n := random.NormFloat64()
		v := noise * (n - 0.8*last)
		last = n
		if hz > 0 {
			v += 0.8 * math.Sin(2*math.Pi*(hz*s+3*(1-math.Exp(-30*s))))
		}
		out[i] += 0.35 * loud * v * math.Exp(-fade*s)
	}
	return true
}

// recording is a WAV file of one channel with samples, after silence in seconds.
func recording(samples []float64, silence, gain float64) *bytes.Buffer {
	var b bytes.Buffer
	zero := make([]byte, 2*int(silence*rate))
	b.WriteString("RIFF\xff\xff\xff\xffWAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00")
	_ = binary.Write(&b, binary.LittleEndian, uint32(rate)) // to memory
	_ = binary.Write(&b, binary.LittleEndian, uint32(2*rate))
	b.WriteString("\x02\x00\x10\x00data")
	_ = binary.Write(&b, binary.LittleEndian, uint32(len(zero)+2*len(samples)))
	b.Write(zero)
	out := make([]byte, 0, 2*len(samples))
	for _, v := range samples {
		out = binary.LittleEndian.AppendUint16(out, uint16(int16(32767*max(-1, min(1, gain*v)))))
	}
	b.Write(out)
	return &b
}
