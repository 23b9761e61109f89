package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/cmd/tactus/pairing"
)

// pairHall is a hall with two computers and a receiver, each in a network namespace of its
// own. Two bridges connect them: the lights' network 10.77.0.0/24, and another one for
// what the computers tell each other, 10.78.0.0/24.
type pairHall struct {
	t                      *testing.T
	leader, standby, stage string // namespaces
	show                   string
	states                 map[string]string // folder of each computer
	capture, merging       *process
}

const (
	pairBar   = time.Second // 4/4 at 240 BPM
	pairBars  = 48
	pairPages = "127.0.0.1:4480"
)

func newPairHall(t *testing.T) *pairHall {
	t.Helper()
	needTools(t, true, "ip", "tshark")
	h := &pairHall{t: t, states: map[string]string{}}
	for _, n := range []struct {
		to   *string
		name string
	}{{&h.stage, "stage"}, {&h.leader, "leader"}, {&h.standby, "standby"}} {
		*n.to = fmt.Sprintf("tactus-%d-%s", os.Getpid(), n.name)
		command(t, "ip", "netns", "add", *n.to)
		t.Cleanup(func() { _ = exec.Command("ip", "netns", "del", *n.to).Run() })
		command(t, "ip", "-n", *n.to, "link", "set", "lo", "up")
	}
	for i, net := range []string{"light", "talk"} {
		command(t, "ip", "-n", h.stage, "link", "add", net, "type", "bridge", "mcast_snooping", "0")
		command(t, "ip", "-n", h.stage, "link", "set", net, "up")
		for host, ns := range map[int]string{1: h.leader, 2: h.standby} {
			port := fmt.Sprintf("%s%d", net, host)
			command(t, "ip", "-n", h.stage, "link", "add", port, "type", "veth", "peer", "name", net, "netns", ns)
			command(t, "ip", "-n", h.stage, "link", "set", port, "master", net, "up")
			command(t, "ip", "-n", ns, "address", "add", fmt.Sprintf("10.%d.0.%d/24", 77+i, host), "dev", net)
			command(t, "ip", "-n", ns, "link", "set", net, "up")
		}
		command(t, "ip", "-n", h.stage, "address", "add", fmt.Sprintf("10.%d.0.3/24", 77+i), "dev", net)
	}
	key := pairing.NewKey()
	for _, ns := range []string{h.leader, h.standby} {
		h.states[ns] = t.TempDir()
		_, err := pairing.Save(h.states[ns], key, false)
		require.NoError(t, err)
	}
	h.show = barsShow(t, "universes:\n  bench: {sacn: 1}\n  node: {art-net: 4, to: 10.77.0.3}\nfixtures:\n  marker: {profile: dimmer, universe: bench, address: 1}\n  spare marker: {profile: dimmer, universe: node, address: 1}\ngroups:\n  markers: [marker, spare marker]\n",
		"tempo: 240 bpm\nmeter: 4/4\n", pairBars)
	h.capture = start(t, "Capturing on", "ip", "netns", "exec", h.stage, "tshark", "-i", "light", "-l", "-n", "-f", "udp and (dst port 5568 or dst port 6454)",
		"-T", "fields", "-e", "frame.time_epoch", "-e", "ip.src", "-e", "udp.payload")
	return h
}

func (h *pairHall) run(ns, phrase string, args ...string) *process {
	h.t.Helper()
	return start(h.t, phrase, append([]string{
		"ip", "netns", "exec", ns, binary(h.t), "run", "--interface", "light", "--rise", "0s", "--log", "json", "--health", "0",
		"--panel", "--state", h.states[ns],
	}, args...)...)
}

func (h *pairHall) runLeader(more ...string) *process {
	h.t.Helper()
	return h.run(h.leader, "MIDI in", append([]string{h.show, "--midi", "plan", "--lead-standby", "10.78.0.1:4481"}, more...)...)
}

func (h *pairHall) runStandby(more ...string) *process {
	h.t.Helper()
	return h.run(h.standby, "this computer follows", append([]string{"--standby", "10.78.0.1"}, more...)...)
}

// runBoth starts a leader and a standby, which gets some more flags, and lets them play
// for some time once the standby follows.
func (h *pairHall) runBoth(playing time.Duration, standbyFlags ...string) (leader, standby *process) {
	h.t.Helper()
	leader, standby = h.runLeader(), h.runStandby(standbyFlags...)
	expect(h.t, leader, "the other computer follows")
	h.wait(playing, leader, standby)
	return leader, standby
}

// leaderFollows waits until the leader follows the standby, which is on the lamps, and
// lets them play for some time.
func (h *pairHall) leaderFollows(playing time.Duration, leader, standby *process) {
	h.t.Helper()
	expect(h.t, leader, "follows until it is told", "this computer follows")
	h.untilWell(h.standby, "the leader follows")
	h.wait(playing, leader, standby)
}

// checkTakenOver judges a capture in which the standby took over from the leader and
// nothing else changed, and stops both.
func (h *pairHall) checkTakenOver(leader, standby *process) {
	h.t.Helper()
	list := h.captured()
	a := judgePackets(list)
	gap, changes := artNetGaps(list)
	h.t.Logf("sACN: longest gap %v, changes %v, %d steps; Art-Net: longest gap %v, %d changes of sender", a.longest, a.changes, len(a.levels), gap, changes)
	assert.LessOrEqual(h.t, a.longest, 300*time.Millisecond)
	assert.Len(h.t, a.changes, 2, "%v", a.changes)
	assert.Empty(h.t, wrongSteps(a.levels, pairBar, 60*time.Millisecond))
	assert.GreaterOrEqual(h.t, len(a.levels), 5, "cues seen")
	standby.stop(h.t, syscall.SIGTERM)
	leader.stop(h.t, syscall.SIGTERM)
}

// merge starts the independent library as a second receiver; only where CI is not set may
// it be missing.
func (h *pairHall) merge() {
	h.t.Helper()
	_, noNode := exec.LookPath("node")
	_, noPeers := os.Stat(filepath.Join(peerFolder, "node_modules"))
	if err := errors.Join(noNode, noPeers); err != nil {
		require.NotEqual(h.t, "true", os.Getenv("CI"), "the npm peers are not installed: %v", err)
		return
	}
	script, err := filepath.Abs(filepath.Join(peerFolder, "sacn-merge-receive.mjs"))
	require.NoError(h.t, err)
	command(h.t, "ip", "-n", h.stage, "route", "add", "239.0.0.0/8", "dev", "light")
	h.merging = start(h.t, "ready", "ip", "netns", "exec", h.stage, "sh", "-c", "tail --pid=$$ -f /dev/null | node "+script+" 10.77.0.3 1 1") // node ends with the shell
}

// ask makes a request of the page of a computer, and returns its status and answer.
func (h *pairHall) ask(ns, method, path string) (status int, body string) {
	h.t.Helper()
	inNamespace(h.t, ns, func() {
		conn, err := net.DialTimeout("tcp", pairPages, 2*time.Second)
		if !assert.NoError(h.t, err) {
			return
		}
		defer conn.Close()
		r, err := http.NewRequest(method, "http://"+pairPages+path, nil)
		if !assert.NoError(h.t, err) || !assert.NoError(h.t, r.Write(conn)) {
			return
		}
		answer, err := http.ReadResponse(bufio.NewReader(conn), r)
		if !assert.NoError(h.t, err) {
			return
		}
		defer answer.Body.Close()
		b, err := io.ReadAll(answer.Body)
		assert.NoError(h.t, err)
		status, body = answer.StatusCode, string(b)
	})
	return status, body
}

// untilWell waits until the health of a computer holds a phrase.
func (h *pairHall) untilWell(ns, phrase string) {
	h.t.Helper()
	deadline := time.After(20 * time.Second)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		_, body := h.ask(ns, "GET", "/healthz")
		if strings.Contains(body, phrase) {
			return
		}
		select {
		case <-tick.C:
		case <-deadline:
			require.Fail(h.t, "health does not say it", "%q is not in %s", phrase, body)
		}
	}
}

func (h *pairHall) wait(d time.Duration, running ...*process) {
	h.t.Helper()
	timer := time.After(d)
	for _, p := range running[:len(running)-1] {
		select {
		case err := <-p.done:
			require.Fail(h.t, "it ended", "%v\n%s", err, p.out)
		default:
		}
	}
	running[len(running)-1].wait(h.t, timer)
}

// captured ends the capture and returns its packets.
func (h *pairHall) captured() []pairPacket {
	h.t.Helper()
	h.capture.wait(h.t, time.After(300*time.Millisecond)) // what is on its way
	h.capture.stop(h.t, syscall.SIGINT)
	list := readPackets(h.t, h.capture.out.String())
	require.NotEmpty(h.t, list)
	return list
}

// kill ends a program with SIGKILL, so that it can tell nobody; the system closes its
// connections.
func kill(t *testing.T, p *process) {
	t.Helper()
	require.NoError(t, p.cmd.Process.Kill())
	<-p.done
}

// One program is killed: the other is on the lamps within a quarter of a second, at the
// receiver, without a wrong level, and stays there until it is told. Then the light goes
// back without a flicker.
func TestPairTakesOverAndHandsBack(t *testing.T) {
	h := newPairHall(t)
	h.merge()
	leader, standby := h.runBoth(5 * time.Second)
	status, body := h.ask(h.standby, "POST", "/api/v1/ask/hold")
	assert.Equal(t, http.StatusConflict, status, body)

	kill(t, leader)
	expect(t, standby, "this one is on the lamps")
	h.wait(3*time.Second, standby)

	leader = h.runLeader()
	h.leaderFollows(2*time.Second, leader, standby)

	status, body = h.ask(h.standby, "POST", "/api/v1/change-over")
	require.Equal(t, http.StatusNoContent, status, body)
	h.untilWell(h.leader, "this computer, the leader, is on the lamps; the standby follows")
	status, _ = h.ask(h.leader, "POST", "/api/v1/change-over")
	assert.Equal(t, http.StatusConflict, status, "a nervous second press")
	h.wait(2*time.Second, leader, standby)

	list := h.captured()
	a := judgePackets(list)
	t.Logf("longest gap %v, changes %v, %d steps", a.longest, a.changes, len(a.levels))
	assert.LessOrEqual(t, a.longest, 250*time.Millisecond, "the longest gap that a receiver saw")
	assert.Len(t, a.changes, 3, "the leader, the standby, and back: %v", a.changes)
	assert.Empty(t, wrongSteps(a.levels, pairBar, 60*time.Millisecond))
	assert.GreaterOrEqual(t, len(a.levels), 10, "cues seen")
	gap, changes := artNetGaps(list)
	t.Logf("Art-Net: longest gap %v, %d changes of sender", gap, changes)
	assert.LessOrEqual(t, gap, 250*time.Millisecond, "Art-Net")
	assert.LessOrEqual(t, changes, 4, "Art-Net: senders do not alternate")
	h.checkMerging(a)
	standby.stop(t, syscall.SIGTERM)
	leader.stop(t, syscall.SIGTERM)
	assert.NotContains(t, standby.out.String(), "frames differ")
	assert.NotContains(t, leader.out.String(), "frames differ")
}

// checkMerging compares what the independent receiver put out with the arbiter's levels.
func (h *pairHall) checkMerging(a *arbiter) {
	h.t.Helper()
	if h.merging == nil {
		return
	}
	var got, want []uint8
	for line := range strings.Lines(h.merging.out.String()) {
		var said struct {
			Levels []uint8
			Fault  string
		}
		require.NoError(h.t, json.Unmarshal([]byte(line), &said), line)
		assert.Empty(h.t, said.Fault)
		if len(said.Levels) == 1 {
			got = append(got, said.Levels[0])
		}
	}
	for _, s := range a.levels {
		want = append(want, s.level)
	}
	assert.Equal(h.t, want, got[:min(len(got), len(want))], "the levels of the independent receiver")
	_ = h.merging.cmd.Process.Kill()
}

// pairLong asks for the longer scenarios, some minutes of real time.
func pairLong(t *testing.T) {
	t.Helper()
	if os.Getenv("TACTUS_PAIR") == "" {
		t.Skip("some minutes: TACTUS_PAIR=1 go test ./cmd/tactus -run TestPair -v")
	}
}

// link sets the two ends of a computer's cable up or down.
func (h *pairHall) link(network string, host int, state string) {
	h.t.Helper()
	command(h.t, "ip", "-n", h.stage, "link", "set", fmt.Sprintf("%s%d", network, host), state)
}

// A network that is cut between the computers, while both reach the lights: one change
// for receivers of sACN, and none when it heals; Art-Net nodes hear both until then.
func TestPairSplitNetwork(t *testing.T) {
	pairLong(t)
	h := newPairHall(t)
	leader, standby := h.runBoth(3 * time.Second)
	h.link("talk", 1, "down")
	expect(t, standby, "this one is on the lamps")
	h.wait(5*time.Second, leader, standby)
	h.link("talk", 1, "up")
	h.leaderFollows(3*time.Second, leader, standby)
	h.checkTakenOver(leader, standby)
}

// A leader whose cables are all pulled: the standby takes over; the leader, back, follows.
func TestPairLeaderUnplugged(t *testing.T) {
	pairLong(t)
	h := newPairHall(t)
	leader, standby := h.runBoth(3 * time.Second)
	h.link("talk", 1, "down")
	h.link("light", 1, "down")
	expect(t, standby, "this one is on the lamps")
	h.wait(4*time.Second, leader, standby)
	h.link("light", 1, "up")
	h.wait(time.Second, leader, standby)
	h.link("talk", 1, "up")
	h.leaderFollows(2*time.Second, leader, standby)
	h.checkTakenOver(leader, standby)
}

// A leader that stands still, as when its computer is suspended, is lost; and it follows
// when it goes on.
func TestPairLeaderStandsStill(t *testing.T) {
	pairLong(t)
	h := newPairHall(t)
	leader, standby := h.runBoth(3 * time.Second)
	require.NoError(t, leader.cmd.Process.Signal(syscall.SIGSTOP))
	expect(t, standby, "this one is on the lamps")
	h.wait(4*time.Second, leader, standby)
	require.NoError(t, leader.cmd.Process.Signal(syscall.SIGCONT))
	h.leaderFollows(2*time.Second, leader, standby)
	h.checkTakenOver(leader, standby)
}

// badNetworks lists how bad a network may be for the tests of two computers.
func badNetworks() []lineFaults {
	const ms = time.Millisecond
	return []lineFaults{
		{name: "delay 20 ± 10 ms", delay: 20 * ms, jitter: 10 * ms},
		{name: "loss 2 %", loss: 0.02},
		{name: "loss 10 %", loss: 0.1},
		{name: "twice 10 %", twice: 0.1},
		{name: "delay 10 ms but for 25 %", delay: 10 * ms, early: 0.25},
		{name: "delay 20 ± 10 ms, loss 2 %, twice 2 %, 5 % overtake", delay: 20 * ms, jitter: 10 * ms, loss: 0.02, twice: 0.02, early: 0.05},
	}
}

// A bad network between the computers: delay, loss, packets twice and out of order. The
// lamps change hands at most once and the light is never wrong.
func TestPairBadNetwork(t *testing.T) {
	pairLong(t)
	for i, faults := range badNetworks() {
		t.Run(faults.name, func(t *testing.T) {
			h := newPairHall(t)
			for _, port := range []string{"talk1", "talk2"} {
				command(t, "ip", "-n", h.stage, "link", "set", port, "nomaster")
			}
			line := newBadLine(t, h.stage, [2]string{"talk1", "talk2"}, faults, uint64(i))
			leader, standby := h.runBoth(12 * time.Second)
			_, metrics := h.ask(h.standby, "GET", "/metrics")
			_, health := h.ask(h.standby, "GET", "/healthz")
			a := judgePackets(h.captured())
			t.Logf("longest gap %v, changes %v, %d steps, %s", a.longest, a.changes, len(a.levels), health)
			line.check(t)
			assert.LessOrEqual(t, a.longest, 300*time.Millisecond)
			assert.LessOrEqual(t, len(a.changes), 2, "%v", a.changes)
			assert.Empty(t, wrongSteps(a.levels, pairBar, 60*time.Millisecond))
			assert.GreaterOrEqual(t, len(a.levels), 8, "cues seen")
			assert.Contains(t, metrics, "tactus_pair_frames_differing_total 0\n")
			standby.stop(t, syscall.SIGTERM)
			leader.stop(t, syscall.SIGTERM)
		})
	}
}

// With --standby-raise-after receivers change over by their own time for lost data, and
// a leader that comes back does not take the light.
func TestPairRaisesLater(t *testing.T) {
	pairLong(t)
	h := newPairHall(t)
	leader, standby := h.runBoth(2*time.Second, "--standby-raise-after", "3s")
	kill(t, leader)
	expect(t, standby, "this one is on the lamps")
	h.wait(5*time.Second, standby)
	leader = h.runLeader()
	expect(t, leader, "follows until it is told")
	h.wait(3*time.Second, leader, standby)
	a := judgePackets(h.captured())
	t.Logf("longest gap %v, changes %v", a.longest, a.changes)
	assert.InDelta(t, 2.5, a.longest.Seconds(), 0.1)
	assert.Len(t, a.changes, 2, "%v", a.changes)
	standby.stop(t, syscall.SIGTERM)
	leader.stop(t, syscall.SIGTERM)
}

// The leader ends the show: the standby ends its streams too, and waits for the next.
func TestPairLeaderEndsTheShow(t *testing.T) {
	pairLong(t)
	h := newPairHall(t)
	leader, standby := h.runBoth(2 * time.Second)
	leader.stop(t, syscall.SIGTERM)
	expect(t, standby, "the leader has ended the show")
	h.wait(time.Second, standby)
	list := h.captured()
	assert.Len(t, judgePackets(list).changes, 1)
	ended := map[string]int{}
	for _, p := range list {
		if p.ended {
			ended[p.from]++
		}
	}
	assert.Equal(t, map[string]int{"10.77.0.1": 3, "10.77.0.2": 3}, ended, "both streams are terminated")
	leader = h.runLeader()
	h.untilWell(h.leader, "the standby follows")
	standby.stop(t, syscall.SIGTERM)
	leader.stop(t, syscall.SIGTERM)
}
