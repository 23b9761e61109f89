package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// faultShow is the show that machine faults are tried with.
const faultShow = "../../testdata/shows/daw"

// needRealTime skips a test in real time where it cannot run.
func needRealTime(t *testing.T, tools ...string) {
	t.Helper()
	if raceEnabled {
		t.Skip("the race detector is too slow for real time; make quiet runs this without it")
	}
	needTools(t, true, append(tools, "ip", "tshark", "dumpcap")...)
	t.Parallel() // it has its own network, and mostly waits
}

// A journal on a full disk ends, which is told; light and timing go on as before. The
// same where the folder of the installation's identity cannot be written.
func TestFullDiskAndReadOnlyHome(t *testing.T) {
	needRealTime(t, "unshare", "mount")
	program, dir := load(t, faultShow), t.TempDir()
	small, home := filepath.Join(dir, "small"), filepath.Join(dir, "home")
	require.NoError(t, os.Mkdir(small, 0o755))
	require.NoError(t, os.Mkdir(home, 0o755))
	stop := watchWakes(t)
	p := playing{
		folder: faultShow, dir: dir, schedule: scheduled(t, program),
		// The mounts end with the namespace, which ends with the run.
		inside: []string{
			"unshare", "-m", "sh", "-c",
			fmt.Sprintf(`mount -t tmpfs -o size=16k tmpfs %q && mount -t tmpfs -o ro tmpfs %q && exec "$@"`, small, home), "sh",
		},
		flags: []string{"--journal", filepath.Join(small, "night"), "--state", home, "--log", "json"},
	}
	got := p.play(t)
	checkCues(t, program, got.writes, got.packets, stop())
	checkPulse(t, program, got.writes, got.packets)
	checkRates(t, got.packets)
	checkEnd(t, got.packets)
	assert.Equal(t, 1, strings.Count(got.log, "the journal ends here; the show goes on"), got.log)
	assert.Contains(t, got.log, "no space left on device")
	assert.Contains(t, got.log, "read-only file system")
}

// A process that stands still for a second, as when the lid is closed and opened, goes on
// where the music is: the next section comes on its note.
func TestSuspendedProcessGoesOnWhereTheMusicIs(t *testing.T) {
	needRealTime(t)
	program, dir := load(t, faultShow), t.TempDir()
	times := make(chan time.Time, 2) // when it was stopped, and when it went on
	stop := watchWakes(t)
	p := playing{
		folder: faultShow, dir: dir, schedule: scheduled(t, program), flags: []string{"--log", "json"},
		atNote: func(n int, run *process) {
			if n != 1 { // the verse of the first song, which lasts four seconds
				return
			}
			time.AfterFunc(500*time.Millisecond, func() {
				times <- time.Now()
				assert.NoError(t, run.cmd.Process.Signal(syscall.SIGSTOP))
				time.AfterFunc(time.Second, func() {
					assert.NoError(t, run.cmd.Process.Signal(syscall.SIGCONT))
					times <- time.Now()
				})
			})
		},
	}
	got := p.play(t)
	checkCues(t, program, got.writes, got.packets, stop())
	checkEnd(t, got.packets)
	stopped, goesOn, first := <-times, <-times, time.Time{}
	for _, p := range got.packets {
		if p.universe == 1 && p.at.After(stopped.Add(100*time.Millisecond)) {
			first = p.at
			break
		}
	}
	t.Logf("stopped for %v; the first packet came %v after it went on", goesOn.Sub(stopped), first.Sub(goesOn))
	assert.InDelta(t, 0, first.Sub(goesOn).Seconds(), 0.25, "seconds from when it went on to its first packet")
	assert.Contains(t, got.log, "frames missed: this computer was too busy")
}

// When all descriptors are used up, a port that was lost does not come back, which is
// told; the light goes on. The port is back once there are descriptors again.
func TestDescriptorsUsedUp(t *testing.T) {
	needRealTime(t)
	dir := t.TempDir()
	ns := namespace(t)
	pcap := filepath.Join(dir, "run.pcapng")
	capture := start(t, "Capturing on", "ip", "netns", "exec", ns, "tshark", "-i", "lo", "-w", pcap, "-f", "udp")
	pad := filepath.Join(dir, "pad")
	require.NoError(t, syscall.Mkfifo(pad, 0o600))
	run := start(t, "open it in a browser", "ip", "netns", "exec", ns, binary(t), "run", faultShow, "--midi", "plan", "--midi", pad,
		"--rise", "0s", "--state", dir, "--log", "json", "--health", "1s", "--panel")
	f, err := os.OpenFile(pad, os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = f.Write([]byte{0xFE}) // active sensing: a FIFO counts as open when bytes come
	require.NoError(t, err)
	expect(t, run, "MIDI port open")
	var before unix.Rlimit
	pid := run.cmd.Process.Pid // ip becomes the run
	require.NoError(t, unix.Prlimit(pid, unix.RLIMIT_NOFILE, nil, &before))
	began := time.Now()
	require.NoError(t, unix.Prlimit(pid, unix.RLIMIT_NOFILE, &unix.Rlimit{Cur: 4, Max: before.Max}, nil))
	require.NoError(t, f.Close()) // the port is lost, and cannot be opened again
	expect(t, run, "MIDI port lost", "too many open files")
	ports := strings.Count(run.out.String(), "MIDI port open")
	run.wait(t, time.After(2*time.Second))
	require.NoError(t, unix.Prlimit(pid, unix.RLIMIT_NOFILE, &before, nil))
	f, err = os.OpenFile(pad, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	_, err = f.Write([]byte{0xFE})
	require.NoError(t, err)
	assert.Eventually(t, func() bool { return strings.Count(run.out.String(), "MIDI port open") == ports+1 }, 20*time.Second, 20*time.Millisecond)
	ended := time.Now()
	run.stop(t, syscall.SIGTERM)
	capture.wait(t, time.After(500*time.Millisecond))
	capture.stop(t, syscall.SIGINT)
	packets := readCapture(t, pcap)
	frames, sequence := 0, -1
	for _, p := range packets {
		if p.universe != 1 || p.artnet || p.at.Before(began) || p.at.After(ended) {
			continue
		}
		if sequence >= 0 {
			assert.Equal(t, byte(sequence+1), p.sequence)
		}
		sequence = int(p.sequence)
		frames++
	}
	t.Logf("%d frames in %v without a descriptor to spare", frames, ended.Sub(began))
	assert.Greater(t, frames, int(20*ended.Sub(began).Seconds()), "fewer than half of the frames went out")
}

// A program beside it that takes all memory that there is: the system ends that one, and
// the light goes on at its rate.
func TestMemoryUsedUp(t *testing.T) {
	needRealTime(t)
	group := memoryGroup(t, 400<<20)
	program, dir := load(t, faultShow), t.TempDir()
	stop := watchWakes(t)
	const hogs = 3
	ended := make(chan error, hogs)
	p := playing{
		folder: faultShow, dir: dir, schedule: scheduled(t, program), flags: []string{"--log", "json"},
		inside: []string{"sh", "-c", `echo $$ > "$0" && exec "$@"`, group},
		atNote: func(n int, _ *process) {
			if n < 1 || n > hogs {
				return
			}
			hog := exec.CommandContext(t.Context(), "sh", "-c", `echo $$ > "$0" && exec tail /dev/zero`, group) // tail keeps all of a line
			go func() { ended <- hog.Run() }()
		},
	}
	got := p.play(t)
	for range hogs {
		select {
		case err := <-ended:
			assert.EqualError(t, err, "signal: killed", "the system has to end what takes all memory")
		case <-time.After(10 * time.Second):
			require.Fail(t, "what should take all memory goes on: nothing was tested")
		}
	}
	checkCues(t, program, got.writes, got.packets, stop())
	checkRates(t, got.packets)
	checkEnd(t, got.packets)
}

// memoryGroup makes a control group whose processes may have so many bytes together, and
// returns the file that takes their numbers.
func memoryGroup(t *testing.T, most int) string {
	t.Helper()
	for root, limit := range map[string]string{"/sys/fs/cgroup/memory": "memory.limit_in_bytes", "/sys/fs/cgroup": "memory.max"} {
		group := filepath.Join(root, fmt.Sprintf("tactus-test-%d", os.Getpid()))
		if os.Mkdir(group, 0o755) != nil {
			continue
		}
		t.Cleanup(func() { _ = os.Remove(group) })
		if os.WriteFile(filepath.Join(group, limit), []byte(strconv.Itoa(most)), 0o644) == nil {
			return filepath.Join(group, "cgroup.procs")
		}
	}
	t.Skip("no control group for memory can be made here")
	return ""
}
