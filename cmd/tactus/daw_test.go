//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/smf"
)

// needTools skips a test that cannot run here, or fails it where everything
// has to be there.
func needTools(t testing.TB, root bool, tools ...string) {
	t.Helper()
	missing := ""
	for _, tool := range tools {
		if _, err := exec.LookPath(tool); err != nil {
			missing += " " + tool
		}
	}
	if root && os.Geteuid() != 0 {
		missing += " root (for a network namespace)"
	}
	if missing == "" {
		return
	}
	require.NotEqual(t, "true", os.Getenv("CI"), "missing:%s", missing)
	t.Skipf("missing:%s; 'make test' as root installs what it may", missing)
}

// namespace makes a network of its own with nothing but loopback, so that
// nothing a test sends can leave it.
func namespace(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("tactus-%d-%x", os.Getpid(), crc32.ChecksumIEEE([]byte(t.Name())))
	command(t, "ip", "netns", "add", name)
	t.Cleanup(func() { _ = exec.Command("ip", "netns", "del", name).Run() })
	command(t, "ip", "-n", name, "link", "set", "lo", "up")
	return name
}

func command(t testing.TB, args ...string) string {
	t.Helper()
	cmd := exec.Command(args[0], args[1:]...)
	var errOut bytes.Buffer
	cmd.Stderr = &errOut
	out, err := cmd.Output()
	require.NoError(t, err, "%s\n%s%s", strings.Join(args, " "), out, &errOut)
	return string(out)
}

// binary returns a path under which the test binary is the program.
func binary(t testing.TB) string {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	link := filepath.Join(t.TempDir(), "tactus")
	require.NoError(t, os.Symlink(self, link))
	return link
}

// stampedWriter notes when each write to the FIFO was made.
type stampedWriter struct {
	w           io.Writer
	writes      []write
	noteWritten func() // called after each note-on of channel 1
}

type write struct {
	at    time.Time
	bytes []byte
}

func (s *stampedWriter) Write(b []byte) (int, error) {
	s.writes = append(s.writes, write{time.Now(), slices.Clone(b)})
	n, err := s.w.Write(b)
	for range noteTimes(s.writes[len(s.writes)-1:]) {
		s.noteWritten()
	}
	return n, err
}

// packet is what the capture holds of one datagram, read at the offsets of
// E1.31-2018 Table 4-1 and of Art-Net's ArtDmx.
type packet struct {
	at        time.Time
	artnet    bool
	universe  int
	sequence  byte
	options   byte
	slots     []byte
	malformed bool // or not known to the dissector at all
}

// readCapture reads the sACN and Art-Net packets of a capture.
func readCapture(t testing.TB, pcap string) []packet {
	t.Helper()
	tsv := command(t, "tshark", "-r", pcap, "-o", "acn.dmx_enable:TRUE", "--enable-heuristic", "acn",
		"-T", "fields", "-e", "frame.time_epoch", "-e", "udp.payload", "-e", "_ws.col.Protocol", "-e", "_ws.expert.message")
	var list []packet
	lines := bufio.NewScanner(strings.NewReader(tsv))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		f := strings.Split(lines.Text(), "\t")
		seconds, err1 := strconv.ParseFloat(f[0], 64)
		b, err2 := hex.DecodeString(f[1])
		require.NoError(t, err1, "capture line %q", lines.Text())
		require.NoError(t, err2, "capture line %q", lines.Text())
		p := packet{at: time.Unix(0, int64(seconds*1e9)), malformed: f[2] == "UDP" || strings.Contains(strings.ToLower(lines.Text()), "malformed")}
		switch {
		case bytes.HasPrefix(b, []byte("Art-Net\x00\x00\x50")):
			p.artnet, p.universe, p.sequence, p.slots = true, int(b[14])|int(b[15])<<8, b[12], b[18:]
		case len(b) > 126 && bytes.Equal(b[4:13], []byte("ASC-E1.17")) && b[21] == 4:
			p.universe, p.sequence, p.options, p.slots = int(b[113])<<8|int(b[114]), b[111], b[112], b[126:]
		default:
			continue
		}
		list = append(list, p)
	}
	return list
}

// A sequencer plays the set through a FIFO, in real time and byte for byte;
// the program drives the rig; an independent capture tells what left it.
func TestSequencerThroughFIFO(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector is too slow for real time; make quiet runs this without it")
	}
	needTools(t, true, "ip", "tshark", "dumpcap")
	t.Parallel() // it has its own network, and mostly waits
	const folder = "../../testdata/shows/daw"
	program := load(t, folder)
	stop := watchWakes(t)
	writes, packets := playSet(t, folder, t.TempDir(), scheduled(t, program))
	checkCues(t, program, writes, packets, stop())
	checkPulse(t, program, writes, packets)
	checkRates(t, packets)
	checkEnd(t, packets)
}

func load(t testing.TB, folder string) *engine.Program {
	t.Helper()
	show, problems := shows.Load(os.DirFS(folder), shows.Options{})
	require.Empty(t, problems)
	return show.Program
}

// scheduled returns what a DAW sends for the set.
func scheduled(t testing.TB, p *engine.Program) midi.Schedule {
	t.Helper()
	src, err := smf.Write(p)
	require.NoError(t, err)
	file, err := midi.ParseFile(src)
	require.NoError(t, err)
	return file.Schedule(4)
}

// playing is a show that a test plays in a network of its own.
type playing struct {
	folder   string        // of the show
	dir      string        // gets the test's files: FIFO, capture, state
	schedule midi.Schedule // what the DAW sends
	flags    []string      // more of them for run
	inside   []string      // a command that run is started by, such as unshare; may be empty
	// atNote is called when a note has been written, with its number from 0; may be nil.
	atNote func(n int, run *process)
}

// played is what came of it.
type played struct {
	writes  []write  // to the FIFO
	packets []packet // in the capture
	log     string   // of the run
}

// playSet plays a schedule, and returns what was written when, and what a capture holds.
func playSet(t *testing.T, folder, dir string, s midi.Schedule, flags ...string) ([]write, []packet) {
	t.Helper()
	p := playing{folder: folder, dir: dir, schedule: s, flags: flags}
	got := p.play(t)
	return got.writes, got.packets
}

func (p *playing) play(t *testing.T) played {
	t.Helper()
	ns := namespace(t)
	fifo, pcap := filepath.Join(p.dir, "daw"), filepath.Join(p.dir, "run.pcapng")
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	capture := start(t, "Capturing on", "ip", "netns", "exec", ns, "tshark", "-i", "lo", "-w", pcap, "-f", "udp")
	run := start(t, "MIDI in", slices.Concat(p.inside, []string{
		"ip", "netns", "exec", ns, binary(t), "run", p.folder, "--midi", fifo, "--rise", "0s", "--state", p.dir,
	}, p.flags)...)
	writes := p.playInto(t, fifo, run)
	// One keep-alive of the universe that is sent on change must pass.
	run.wait(t, time.After(1100*time.Millisecond))
	run.stop(t, syscall.SIGTERM)
	capture.wait(t, time.After(500*time.Millisecond)) // the capture's own buffer
	capture.stop(t, syscall.SIGINT)

	packets := readCapture(t, pcap)
	for _, p := range packets {
		require.False(t, p.malformed, "the dissector finds a malformed packet of universe %d", p.universe)
	}
	return played{writes, packets, run.out.String()}
}

// playInto writes the schedule into the FIFO as a DAW would, and returns what was
// written when.
func (p *playing) playInto(t *testing.T, fifo string, run *process) []write {
	t.Helper()
	f, err := os.OpenFile(fifo, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	notes := 0
	w := &stampedWriter{w: f, noteWritten: func() {
		if p.atNote != nil {
			p.atNote(notes, run)
		}
		notes++
	}}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	require.NoError(t, p.schedule.Play(ctx, clock.NewBase(), w))
	return w.writes
}

const frame = time.Second / 44

// checkCues: the first frame of every section's cue leaves within one frame of the note
// that enters the section. A single cue may be later by what the machine added just then,
// the median of all may not.
func checkCues(t *testing.T, p *engine.Program, writes []write, packets []packet, wakes *lateWakes) {
	notes := noteTimes(writes)
	i := 0
	const most = frame + frame/4 // a quarter of a frame for two processes to wake
	var all []time.Duration
	worst := time.Duration(0)
	for _, s := range p.SetList {
		song := &p.Songs[s]
		for _, section := range song.Sections {
			want := levelAt(song, section.Start)
			require.Less(t, i, len(notes), "notes were written, %s of %s needs one more", section.Name, song.Name)
			at := first(packets, 1, want)
			require.False(t, at.IsZero(), "%s, %s: level %d never left", song.Name, section.Name, want)
			late := at.Sub(notes[i])
			allowed := wakes.allowance(notes[i])
			t.Logf("%s, %s: first frame %v after its note; allowed for late wakes: %v", song.Name, section.Name, late, allowed)
			all = append(all, late.Abs())
			worst = max(worst, late.Abs()-allowed)
			i++
		}
	}
	assert.Equal(t, len(notes), i, "section notes written")
	assert.LessOrEqual(t, worst, most, "the longest time from a note to its cue, less what is allowed for late wakes; a frame lasts %v", frame)
	assert.LessOrEqual(t, median(all), most, "the median of the times from a note to its cue, nothing allowed for; a frame lasts %v", frame)
}

// noteTimes returns when each note-on of channel 1 was written.
func noteTimes(writes []write) (times []time.Time) {
	for _, w := range writes {
		for i, b := range w.bytes {
			if b == 0x90 && i+2 < len(w.bytes) && w.bytes[i+2] > 0 {
				times = append(times, w.at)
			}
		}
	}
	return times
}

// first returns when slot 1 of a universe first had a level.
func first(packets []packet, universe int, level byte) time.Time {
	for _, p := range packets {
		if !p.artnet && p.universe == universe && p.slots[0] == level {
			return p.at
		}
	}
	return time.Time{}
}

// levelAt returns what slot 1 shows at a place in a song.
func levelAt(song *engine.Song, at clock.Beat) (level byte) {
	for _, c := range song.Cues {
		if c.At <= at {
			level = byte(float64(c.Parts[0].Values[fixtures.Intensity]*255) + 0.5)
		}
	}
	return level
}

// checkPulse: a wave of one beat keeps the song's tempo to half a percent.
func checkPulse(t *testing.T, p *engine.Program, writes []write, packets []packet) {
	notes := noteTimes(writes)
	i := 0
	for _, s := range p.SetList {
		song := &p.Songs[s]
		begin := notes[i]
		i += len(song.Sections)
		length := time.Duration(song.Tempo.Span(song.Length()))
		beat := time.Duration(song.Tempo.Span(song.Meter.Beat()))
		var rises []time.Time
		last := byte(0)
		for _, p := range packets {
			if p.artnet || p.universe != 1 || p.at.Before(begin.Add(beat/2)) || p.at.After(begin.Add(length-beat/4)) {
				continue
			}
			if last == 0 && p.slots[1] > 0 {
				rises = append(rises, p.at)
			}
			last = p.slots[1]
		}
		want := int(length/beat) - 1
		require.GreaterOrEqual(t, len(rises), want-1, "%s, about %d beats played", song.Name, want)
		require.LessOrEqual(t, len(rises), want+1, "%s, about %d beats played", song.Name, want)
		mean := rises[len(rises)-1].Sub(rises[0]) / time.Duration(len(rises)-1)
		off := float64(mean-beat) / float64(beat)
		t.Logf("%s: period %v, beat %v, %.2f %% off", song.Name, mean, beat, 100*off)
		assert.InDelta(t, 0, off, 0.005, "%s: the period is %v, want %v within 0.5 %%", song.Name, mean, beat)
	}
}

// checkRates: no second holds more than 44 packets of a universe (E1.31-2018
// 6.6.1 with E1.11's timing; Art-Net 4, ArtDmx), sequence numbers have no gap,
// and unchanged data is repeated within a second (6.6.2).
func checkRates(t *testing.T, packets []packet) {
	type stream struct {
		artnet   bool
		universe int
	}
	streams := map[stream][]packet{}
	for _, p := range packets {
		k := stream{p.artnet, p.universe}
		streams[k] = append(streams[k], p)
	}
	require.Len(t, streams, 4)
	for k, list := range streams {
		for i := range list {
			if i >= 44 && list[i].at.Sub(list[i-44].at) < time.Second {
				assert.NotZero(t, list[i].options&0x40, "%+v: 45 packets within %v", k, list[i].at.Sub(list[i-44].at))
			}
			if i == 0 {
				continue
			}
			want := list[i-1].sequence + 1
			if k.artnet && want == 0 {
				want = 1 // 0 would switch sequencing off
			}
			assert.Equal(t, want, list[i].sequence, "%+v: sequence %d after %d", k, list[i].sequence, list[i-1].sequence)
			assert.LessOrEqual(t, list[i].at.Sub(list[i-1].at), time.Second, "%+v: silent for", k)
		}
		if !k.artnet {
			list = list[:len(list)-3] // the goodbye comes at once
		}
		rate := float64(len(list)-1) / list[len(list)-1].at.Sub(list[0].at).Seconds()
		t.Logf("%+v: %d packets, %.2f a second", k, len(list), rate)
		low, high := 41.5, 44.0 // at 120 BPM a clock that is not exact gets 21 frames a beat
		switch k {
		case stream{false, 2}:
			low, high = 39, 40.2
		case stream{false, 3}:
			low, high = 1, 10 // on change
		}
		assert.GreaterOrEqual(t, rate, low, k)
		assert.LessOrEqual(t, rate, high, k)
	}
}

// checkEnd: the show says terminate, so each sACN stream ends with three
// packets that say so (6.2.6).
func checkEnd(t *testing.T, packets []packet) {
	for universe := 1; universe <= 3; universe++ {
		var list []packet
		for _, p := range packets {
			if !p.artnet && p.universe == universe {
				list = append(list, p)
			}
		}
		for i, p := range list {
			assert.Equal(t, i >= len(list)-3, p.options&0x40 != 0, "universe %d, packet %d of %d", universe, i+1, len(list))
		}
	}
}
