package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/realtime"
	"tactus/cmd/tactus/realtime/wakenoise"
	"tactus/protocol/midi"
)

const downbeatBars = 28 // of 2/4; at 163 BPM: 21 s

// downbeatCase is how the bars are played.
type downbeatCase struct {
	bpm    int
	grid   string
	settle int                                   // the first bars, which are not counted
	send   func([]midi.Entry) (writes []handout) // how the sender hands messages out
}

// handout is one write of a sender, at an offset from its beginning.
type handout struct {
	at    time.Duration
	bytes []byte
}

// barsShow writes a show with one song of one section, all, that has a cue on every bar:
// the group markers at 2 %, 4 % and so on. rig has the universes, the fixtures and that
// group; song has the tempo and the meter.
func barsShow(t testing.TB, rig, song string, bars int) (folder string) {
	t.Helper()
	folder = t.TempDir()
	var cues strings.Builder
	for bar := range bars {
		fmt.Fprintf(&cues, "  - {at: \"all, bar %d\", set: {markers: {intensity: %d %%}}}\n", bar+1, 2*bar+2)
	}
	for name, text := range map[string]string{
		"show.yaml":       "show: Harbour Hall\non exit: terminate\n",
		"rig.yaml":        "venue: Test bench\n" + rig,
		"looks.yaml":      "palette: {main: '#ffffff', second: '#ffffff', accent: '#ffffff', warm: '#ffffff'}\nlooks:\n  dark: {set: {markers: {intensity: 0 %}}}\n",
		"sets/bars.yaml":  "set: Bars\nsongs: [bars]\n",
		"songs/bars.yaml": fmt.Sprintf("song: Bars\nprogram: 1\n%ssections:\n  - all: {bars: %d, energy: 5}\ncues:\n%s", song, bars, &cues),
	} {
		path := filepath.Join(folder, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
	}
	return folder
}

// delayed is the 5 ms model of late MIDI: half-normal 5 ms, for one message in
// 200 up to 20 ms more, rounded up to the next millisecond, in a queue that
// keeps its order. Common practice, no source.
func delayed(entries []midi.Entry) (writes []handout) {
	r, last := rand.New(rand.NewPCG(5, 163)), time.Duration(0)
	for _, e := range entries {
		d := math.Abs(r.NormFloat64()) * float64(5*time.Millisecond)
		if r.Float64() < 0.005 {
			d += r.Float64() * float64(20*time.Millisecond)
		}
		at := (e.At + time.Duration(d) + time.Millisecond - 1).Truncate(time.Millisecond)
		last = max(last, at)
		writes = append(writes, handout{last, e.Bytes[:e.Len]})
	}
	return writes
}

// buffered hands out once in each audio buffer what falls into it, in one write.
func buffered(entries []midi.Entry) (writes []handout) {
	for _, e := range byBuffer(midi.Schedule{Entries: entries}).Entries {
		if n := len(writes); n > 0 && writes[n-1].at == e.At {
			writes[n-1].bytes = append(writes[n-1].bytes, e.Bytes[:e.Len]...)
			continue
		}
		writes = append(writes, handout{e.At, slices.Clone(e.Bytes[:e.Len])})
	}
	return writes
}

// trueBars returns when the first tick of each bar is due, without the delay.
func trueBars(s *midi.Schedule) (bars []time.Duration) {
	ticks := 0
	for _, e := range s.Entries[s.StartIndex:] {
		if e.Bytes[0] != 0xf8 {
			continue
		}
		if ticks%48 == 0 { // two quarters
			bars = append(bars, e.At)
		}
		ticks++
	}
	return bars
}

// handOut makes the writes into a FIFO, and returns when it began and how far the wall clock, by which a capture is stamped, ran away meanwhile.
func handOut(b *testing.B, fifo string, writes []handout) (began time.Time, away time.Duration) {
	b.Helper()
	f, err := os.OpenFile(fifo, os.O_WRONLY, 0)
	require.NoError(b, err)
	defer f.Close()
	done := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // never undone: the priority ends with the thread
		lower, _ := realtime.Raise(func() {})
		defer lower()
		base := clock.NewBase()
		wait := realtime.NewSleeper(base).Wait
		began = time.Now()
		zero := base.Now()
		for _, w := range writes {
			wait(zero + clock.Time(w.at))
			if _, err := f.Write(w.bytes); err != nil {
				done <- err
				return
			}
		}
		end := time.Now()
		away = end.Round(0).Sub(began.Round(0)) - end.Sub(began)
		done <- nil
	}()
	require.NoError(b, <-done)
	return began, away
}

// downbeatRun plays the bars once, and returns how far from its true downbeat
// the first packet of each bar's cue was.
func downbeatRun(b *testing.B, c downbeatCase) (off []time.Duration) {
	folder := barsShow(b, "universes:\n  bench: {sacn: 1, to: 127.0.0.1}\nfixtures:\n  marker: {profile: dimmer, universe: bench, address: 1}\ngroups:\n  markers: [marker]\n",
		fmt.Sprintf("tempo: %d bpm\nmeter: 2/4\n", c.bpm), downbeatBars)
	dir, ns := b.TempDir(), namespace(b)
	schedule := scheduled(b, load(b, folder))
	fifo, pcap := filepath.Join(dir, "late"), filepath.Join(dir, "run.pcapng")
	require.NoError(b, syscall.Mkfifo(fifo, 0o600))
	capture := start(b, "Capturing on", "ip", "netns", "exec", ns, "tshark", "-i", "lo", "-w", pcap, "-f", "udp")
	run := start(b, "MIDI in", "ip", "netns", "exec", ns, binary(b), "run", folder,
		"--midi", fifo, "--grid", c.grid, "--rise", "0s", "--state", dir, "--for", "60s")
	began, away := handOut(b, fifo, c.send(schedule.Entries))
	require.LessOrEqual(b, away.Abs(), 200*time.Microsecond, "the wall clock, by which packets are stamped, ran away")
	run.stop(b, syscall.SIGTERM)
	capture.wait(b, time.After(500*time.Millisecond)) // the capture's own buffer
	capture.stop(b, syscall.SIGINT)
	packets := readCapture(b, pcap)
	for bar, at := range trueBars(&schedule) {
		if bar < c.settle || bar >= downbeatBars {
			continue
		}
		sent := first(packets, 1, byte(float64(2*bar+2)/100*255+0.5))
		require.False(b, sent.IsZero(), "bar %d: its cue never left", bar+1)
		off = append(off, sent.Sub(began.Round(0).Add(at)))
	}
	require.Len(b, off, downbeatBars-c.settle)
	return off
}

// BenchmarkDownbeat prints how far from the true downbeat the first packet of a
// downbeat's cue leaves, by an independent capture: ticks come through a FIFO,
// late by the 5 ms model, the same for both. Ours lays frames on the beat; the
// reference is a free grid of 44 a second. Nothing is subtracted for the FIFO,
// the loop's wake and the send. A real-time row: it reports and gates nothing.
func BenchmarkDownbeat(b *testing.B) {
	needTools(b, true, "ip", "tshark", "dumpcap")
	for _, c := range []struct{ name, grid string }{{"ours", "beat"}, {"free-grid", "free"}} {
		b.Run(c.name, func(b *testing.B) {
			noise := wakenoise.Measure(b)
			off := downbeatRun(b, downbeatCase{bpm: 163, grid: c.grid, settle: 4, send: delayed})
			noise()
			slices.Sort(off)
			b.Logf("%s: %d downbeats, %v to %v", c.grid, len(off), off[0], off[len(off)-1])
			reportApart(b, off, 0)
		})
	}
}

// BenchmarkDownbeatByBuffer is the same for ticks and notes that come once in each
// audio buffer of 1,024 samples at 48 kHz, early by up to 21 ms. What is printed is
// how far the packet leaves from a constant: the median of the run, half a buffer
// early, for nothing tells that from a clock that is early. At 120 BPM a free grid
// happens to have a frame on each beat, so it is no reference there.
func BenchmarkDownbeatByBuffer(b *testing.B) {
	needTools(b, true, "ip", "tshark", "dumpcap")
	for _, c := range []struct {
		name, grid string
		bpm        int
	}{{"120-BPM/ours", "beat", 120}, {"126-BPM/ours", "beat", 126}, {"126-BPM/free-grid", "free", 126}} {
		b.Run(c.name, func(b *testing.B) {
			noise := wakenoise.Measure(b)
			off := downbeatRun(b, downbeatCase{bpm: c.bpm, grid: c.grid, settle: 8, send: buffered})
			noise()
			slices.Sort(off)
			constant := off[len(off)/2]
			b.Logf("%s, %d BPM: %d downbeats, %v to %v, constant %v", c.grid, c.bpm, len(off), off[0], off[len(off)-1], constant)
			reportApart(b, off, constant)
		})
	}
}

// reportApart reports how far the offsets lie from a constant.
func reportApart(b *testing.B, off []time.Duration, constant time.Duration) {
	for i := range off {
		off[i] = (off[i] - constant).Abs()
	}
	slices.Sort(off)
	for name, i := range map[string]int{"p50-ms": len(off) / 2, "p99-ms": len(off) * 99 / 100, "worst-ms": len(off) - 1} {
		b.ReportMetric(float64(off[i])/float64(time.Millisecond), name)
	}
	b.ReportMetric(0, "ns/op") // it takes as long as the music
}
