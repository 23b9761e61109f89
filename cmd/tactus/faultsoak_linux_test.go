package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tactus/clock"
)

// soakFault is something that goes wrong for a while.
type soakFault struct {
	name   string
	lasts  time.Duration
	silent time.Duration // packets may be missing for so long after its end; 0: they never are
	said   string        // what the log says of it, which shows that it happened; "" where nothing is to be said
	begin  func(s *faultSoak)
	end    func(s *faultSoak)
}

// faultSoak is a show under a supervisor, on one side of a cable; on the other side a
// capture. A DAW plays the set into a FIFO, again and again.
type faultSoak struct {
	t            *testing.T
	hall, stage  string // namespaces: of the laptop, of the lamps
	dir, show    string
	mu           sync.Mutex
	run          *exec.Cmd // the present process
	starts       int
	log          *lockedBuffer
	stopDAW      context.CancelFunc
	dawPlays     sync.WaitGroup
	neighbour    *exec.Cmd
	descriptors  unix.Rlimit
	restartsDone context.CancelFunc
}

// TestFaultSoak plays for TACTUS_FAULTS (such as 30m) while everything goes wrong that
// the room may meet, in random order. Outside of the faults, packets come at least every
// 250 ms and none is dark. The program is killed in the first quarter alone: through the
// other three, one process goes on, and its memory, descriptors and threads do not grow.
func TestFaultSoak(t *testing.T) {
	length, err := time.ParseDuration(os.Getenv("TACTUS_FAULTS"))
	if err != nil {
		t.Skip("half an hour of faults: TACTUS_FAULTS=30m go test ./cmd/tactus -timeout 0 -run TestFaultSoak -v")
	}
	needTools(t, true, "ip", "tshark", "dumpcap", "node")
	s := newFaultSoak(t)
	pcap := filepath.Join(s.dir, "stage.pcapng")
	capture := start(t, "Capturing on", "ip", "netns", "exec", s.stage, "tshark", "-i", "rig0", "-w", pcap, "-f", "udp")
	s.supervise()
	s.playDAW()
	require.Eventually(t, func() bool { return strings.Contains(s.log.String(), `"to":"locked"`) }, time.Minute, 50*time.Millisecond, "%s", s.log)
	began := time.Now()
	windows := s.goWrong(length/4, soakFaults())
	kills := 0
	for _, w := range windows {
		if w.fault.name == killedFault {
			kills++
		}
	}
	pause(t, 5*time.Second)
	before := s.resources()
	faults := slices.DeleteFunc(soakFaults(), func(f soakFault) bool { return f.name == killedFault })
	windows = append(windows, s.goWrong(length-length/4, faults)...)
	pause(t, 5*time.Second)
	after, ended := s.resources(), time.Now()
	s.end()
	capture.stop(t, syscall.SIGINT)
	t.Logf("%d starts, %d faults; after the last kill %s, at the end %s", s.starts, len(windows), before, after)
	assert.Equal(t, 1+kills, s.starts, "starts; the program ended by itself:\n%s", s.log)
	judgeSoak(t, readCapture(t, pcap), began, ended, windows)
	assert.LessOrEqual(t, after.descriptors, before.descriptors+3, "descriptors")
	assert.LessOrEqual(t, after.threads, before.threads+8, "threads")
	assert.LessOrEqual(t, after.memoryKB, before.memoryKB*3/2, "resident memory, kB")
	assert.NotContains(t, s.log.String(), "panic")
	assert.NotContains(t, s.log.String(), "DATA RACE")
}

// pause waits for a time that belongs to the test itself: how long a fault lasts.
func pause(t testing.TB, d time.Duration) {
	select {
	case <-time.After(d):
	case <-t.Context().Done():
	}
}

func newFaultSoak(t *testing.T) *faultSoak {
	s := &faultSoak{t: t, hall: namespace(t), dir: t.TempDir(), log: newLockedBuffer("")}
	s.stage = s.hall + "s"
	command(t, "ip", "netns", "add", s.stage)
	t.Cleanup(func() { _ = exec.Command("ip", "netns", "del", s.stage).Run() })
	s.plug()
	s.show = filepath.Join(s.dir, "show")
	require.NoError(t, os.CopyFS(s.show, os.DirFS("../../testdata/shows/daw")))
	rig, err := os.ReadFile(filepath.Join(s.show, "rig.yaml"))
	require.NoError(t, err)
	multicast := strings.ReplaceAll(string(rig), ", to: 127.0.0.1", "")
	require.NoError(t, os.WriteFile(filepath.Join(s.show, "rig.yaml"), []byte(multicast), 0o644))
	require.NoError(t, syscall.Mkfifo(filepath.Join(s.dir, "daw"), 0o600))
	require.NoError(t, syscall.Mkfifo(filepath.Join(s.dir, "pad"), 0o600))
	return s
}

// plug makes the cable between the laptop and the lamps.
func (s *faultSoak) plug() {
	for _, line := range []string{
		"link add hall0 netns " + s.hall + " type veth peer name rig0 netns " + s.stage,
		"-n " + s.hall + " address add 10.77.0.1/24 dev hall0", "-n " + s.hall + " link set hall0 up",
		"-n " + s.stage + " address add 10.77.0.2/24 dev rig0", "-n " + s.stage + " link set rig0 up",
	} {
		command(s.t, append([]string{"ip"}, strings.Fields(line)...)...)
	}
}

func (s *faultSoak) ip(line string) {
	command(s.t, append([]string{"ip"}, strings.Fields(line)...)...)
}

// supervise starts the show, and again whenever it ends.
func (s *faultSoak) supervise() {
	ctx, cancel := context.WithCancel(context.Background())
	s.restartsDone = cancel
	began := make(chan struct{})
	program := binary(s.t)
	go func() {
		for first := true; ctx.Err() == nil; first = false {
			cmd := exec.Command("ip", "netns", "exec", s.hall, program, "run", s.show, "--resume",
				"--midi", filepath.Join(s.dir, "daw"), "--midi", filepath.Join(s.dir, "pad"), "--protocol", "sacn", "--interface", "hall0",
				"--rise", "0s", "--state", filepath.Join(s.dir, "state"), "--journal", filepath.Join(s.dir, "night"), "--log", "json", "--panel",
				"--osc-listen", "127.0.0.1:9001")
			cmd.Stdout, cmd.Stderr = s.log, s.log
			s.mu.Lock()
			err := cmd.Start()
			s.run = cmd
			s.starts++
			s.mu.Unlock()
			if first {
				close(began)
			}
			if !assert.NoError(s.t, err) {
				return
			}
			_ = cmd.Wait()
		}
	}()
	<-began
}

func (s *faultSoak) process() *os.Process {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.run.Process
}

// playDAW plays the set into the FIFO until stopDAW.
func (s *faultSoak) playDAW() {
	ctx, cancel := context.WithCancel(context.Background())
	s.stopDAW = cancel
	schedule := scheduled(s.t, load(s.t, s.show))
	s.dawPlays.Go(func() {
		for ctx.Err() == nil {
			f, err := os.OpenFile(filepath.Join(s.dir, "daw"), os.O_RDWR, 0) // never waits
			if !assert.NoError(s.t, err) {
				return
			}
			_ = schedule.Play(ctx, clock.NewBase(), f) // ends with ctx, or with the set
			_ = f.Close()
		}
	})
}

// goWrong lets one fault follow the other, and returns when each began and ended.
func (s *faultSoak) goWrong(length time.Duration, faults []soakFault) (windows []faultWindow) {
	deadline := time.Now().Add(length)
	for time.Now().Before(deadline) {
		rand.Shuffle(len(faults), func(i, k int) { faults[i], faults[k] = faults[k], faults[i] })
		for _, f := range faults {
			if time.Now().After(deadline) {
				break
			}
			w, written := faultWindow{fault: f, began: time.Now()}, len(s.log.String())
			f.begin(s)
			pause(s.t, f.lasts)
			if f.end != nil {
				f.end(s)
			}
			w.ended = time.Now()
			windows = append(windows, w)
			pause(s.t, 2*time.Second+time.Duration(rand.Int64N(int64(3*time.Second))))
			// Counts of what was dropped are told some seconds later.
			assert.Eventually(s.t, func() bool { return strings.Contains(s.log.String()[written:], f.said) }, 15*time.Second, 100*time.Millisecond,
				"the log does not say %q of: %s", f.said, f.name)
		}
	}
	return windows
}

type faultWindow struct {
	fault        soakFault
	began, ended time.Time
}

const killedFault = "killed"

func soakFaults() []soakFault {
	const second = time.Second
	return []soakFault{
		{name: killedFault, silent: second, said: "the show goes on where the run before stopped", begin: func(s *faultSoak) { _ = s.process().Kill() }},
		{
			name: "stands still", lasts: second, silent: second / 4,
			begin: func(s *faultSoak) { _ = s.process().Signal(syscall.SIGSTOP) },
			end:   func(s *faultSoak) { _ = s.process().Signal(syscall.SIGCONT) },
		},
		{
			name: "interface down", said: `output failing`, lasts: 2 * second, silent: second,
			begin: func(s *faultSoak) { s.ip("-n " + s.hall + " link set hall0 down") },
			end:   func(s *faultSoak) { s.ip("-n " + s.hall + " link set hall0 up") },
		},
		{
			name: "cable pulled", said: `no carrier`, lasts: 2 * second, silent: second,
			begin: func(s *faultSoak) { s.ip("-n " + s.stage + " link set rig0 down") },
			end:   func(s *faultSoak) { s.ip("-n " + s.stage + " link set rig0 up") },
		},
		{
			name: "another address", lasts: 2 * second, silent: second,
			begin: func(s *faultSoak) {
				s.ip("-n " + s.hall + " address del 10.77.0.1/24 dev hall0")
				s.ip("-n " + s.hall + " address add 10.77.0.9/24 dev hall0")
			},
			end: func(s *faultSoak) {
				// With the first address of a network the system removes the others, so that goes first.
				s.ip("-n " + s.hall + " address del 10.77.0.9/24 dev hall0")
				s.ip("-n " + s.hall + " address add 10.77.0.1/24 dev hall0")
			},
		},
		{
			name: "MIDI unplugged", said: `MIDI port lost`, lasts: 3 * second,
			begin: func(s *faultSoak) { s.stopDAW(); s.dawPlays.Wait() },
			end:   func(s *faultSoak) { s.playDAW() },
		},
		{name: "flood on a second MIDI port", said: `MIDI came faster than it could be used`, lasts: 3 * second, begin: floodPad},
		{name: "flood of OSC", said: `OSC that could not be used`, lasts: 3 * second, begin: floodOSC, end: stopNeighbour},
		{
			name: "no descriptors", lasts: 2 * second,
			begin: func(s *faultSoak) {
				pid := s.process().Pid
				assert.NoError(s.t, unix.Prlimit(pid, unix.RLIMIT_NOFILE, nil, &s.descriptors))
				assert.NoError(s.t, unix.Prlimit(pid, unix.RLIMIT_NOFILE, &unix.Rlimit{Cur: 4, Max: s.descriptors.Max}, nil))
			},
			end: func(s *faultSoak) {
				assert.NoError(s.t, unix.Prlimit(s.process().Pid, unix.RLIMIT_NOFILE, &s.descriptors, nil))
			},
		},
		{
			name: "busy processors", lasts: 3 * second, silent: second,
			begin: func(s *faultSoak) { s.startNeighbour("sh", "-c", "while :; do :; done & while :; do :; done") },
			end:   stopNeighbour,
		},
		{
			name: "a broken song", lasts: 2 * second,
			begin: func(s *faultSoak) { s.edit("song: First", "song: First\n  broken") },
			end:   func(s *faultSoak) { s.edit("song: First\n  broken", "song: First") },
		},
	}
}

func (s *faultSoak) edit(from, to string) {
	name := filepath.Join(s.show, "songs", "first.yaml")
	src, err := os.ReadFile(name)
	assert.NoError(s.t, err)
	assert.NoError(s.t, os.WriteFile(name, []byte(strings.Replace(string(src), from, to, 1)), 0o644))
}

func floodPad(s *faultSoak) {
	f, err := os.OpenFile(filepath.Join(s.dir, "pad"), os.O_RDWR|syscall.O_NONBLOCK, 0)
	if assert.NoError(s.t, err) {
		defer f.Close()
		assert.NoError(s.t, f.SetWriteDeadline(time.Now().Add(3*time.Second)))
		for range 10 {
			_, _ = f.Write(stuckNotes()) // as much as it takes
		}
	}
}

// floodOSC sends a thousand bundled messages twenty times a second.
func floodOSC(s *faultSoak) {
	s.startNeighbour("ip", "netns", "exec", s.hall, "node", "-e", `
		const pad = s => Buffer.concat([Buffer.from(s), Buffer.alloc(4 - s.length % 4)]);
		const message = Buffer.concat([pad('/tactus/nothing'), pad(',')]);
		const size = Buffer.alloc(4); size.writeInt32BE(message.length);
		const bundle = Buffer.concat([pad('#bundle'), Buffer.alloc(7), Buffer.from([1]), ...Array(1000).fill([size, message]).flat()]);
		const socket = require('dgram').createSocket('udp4');
		setInterval(() => socket.send(bundle, 9001, '127.0.0.1'), 50);`)
}

func (s *faultSoak) startNeighbour(args ...string) {
	s.neighbour = exec.Command(args[0], args[1:]...)
	s.neighbour.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	assert.NoError(s.t, s.neighbour.Start())
}

func stopNeighbour(s *faultSoak) {
	_ = syscall.Kill(-s.neighbour.Process.Pid, syscall.SIGKILL)
	_ = s.neighbour.Wait()
}

// end ends the show and the DAW.
func (s *faultSoak) end() {
	s.restartsDone()
	assert.NoError(s.t, s.process().Signal(syscall.SIGTERM))
	s.stopDAW()
	s.dawPlays.Wait()
	pause(s.t, 2*time.Second)
}

// soakResources is what the present process holds.
type soakResources struct{ descriptors, threads, memoryKB int }

func (r soakResources) String() string {
	return fmt.Sprintf("%d descriptors, %d threads, %d kB", r.descriptors, r.threads, r.memoryKB)
}

func (s *faultSoak) resources() (r soakResources) {
	root := fmt.Sprintf("/proc/%d/", s.process().Pid)
	list, err := os.ReadDir(root + "fd")
	require.NoError(s.t, err)
	r.descriptors = len(list)
	src, err := os.ReadFile(root + "status")
	require.NoError(s.t, err)
	for line := range strings.Lines(string(src)) {
		_, _ = fmt.Sscanf(line, "Threads: %d", &r.threads)
		_, _ = fmt.Sscanf(line, "VmRSS: %d", &r.memoryKB)
	}
	return r
}

// judgeSoak lists the gaps between packets of universe 1 by the fault that explains
// them, and fails where none does.
func judgeSoak(t *testing.T, packets []packet, began, ended time.Time, windows []faultWindow) {
	longest := map[string]time.Duration{}
	last := began
	for _, p := range packets {
		if p.artnet || p.universe != 1 || p.at.Before(began) || p.at.After(ended) {
			continue
		}
		gap := p.at.Sub(last)
		i := slices.IndexFunc(windows, func(w faultWindow) bool {
			return w.began.Before(p.at) && p.at.Before(w.ended.Add(w.fault.silent+frame))
		})
		if i < 0 {
			assert.Less(t, gap, 250*time.Millisecond, "a gap that no fault explains, %v after the start", p.at.Sub(began))
		} else {
			longest[windows[i].fault.name] = max(longest[windows[i].fault.name], gap)
			if windows[i].fault.silent == 0 {
				assert.Less(t, gap, 250*time.Millisecond, "%s", windows[i].fault.name)
			}
		}
		assert.NotZero(t, p.slots[0], "a dark frame, %v after the start", p.at.Sub(began))
		last = p.at
	}
	assert.Less(t, ended.Sub(last), 250*time.Millisecond, "packets stopped before the end")
	for name, gap := range longest {
		t.Logf("%s: longest gap %v", name, gap.Round(time.Millisecond))
	}
}
