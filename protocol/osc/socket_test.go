package osc_test

import (
	"bufio"
	"context"
	"encoding/json"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"tactus/protocol/osc"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// hear runs a receiver on loopback until the test ends.
func hear(t *testing.T) (*osc.Receiver, <-chan osc.Element) {
	t.Helper()
	r, err := osc.NewReceiver(netip.AddrPort{})
	require.NoError(t, err)
	heard := make(chan osc.Element, 100)
	until(t, func(ctx context.Context) error {
		return r.Run(ctx, func(e osc.Element) { heard <- e })
	})
	return r, heard
}

// say runs a sender to an address until the test ends, or stop is called.
func say(t *testing.T, to netip.AddrPort) (s *osc.Sender, stop func()) {
	t.Helper()
	s, err := osc.NewSender(to)
	require.NoError(t, err)
	return s, until(t, s.Run)
}

func until(t *testing.T, run func(context.Context) error) (stop func()) {
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- run(ctx) }()
	stop = func() {
		cancel()
		err := <-done
		assert.ErrorIs(t, err, context.Canceled, "Run returned")
		done <- err
	}
	t.Cleanup(stop)
	return stop
}

func next[T any](t *testing.T, from <-chan T) (v T) {
	t.Helper()
	select {
	case v, ok := <-from:
		require.True(t, ok, "ended")
		return v
	case <-time.After(10 * time.Second):
		require.Fail(t, "nothing came")
	}
	return v
}

func TestLoopback(t *testing.T) {
	r, heard := hear(t)
	require.True(t, r.Addr().Addr().IsLoopback(), "listens on %v", r.Addr())
	s, stop := say(t, r.Addr())
	want := worked()
	for name, e := range want {
		require.True(t, s.Send(packet{e}), name)
		assert.Empty(t, cmp.Diff(e, next(t, heard)), name)
	}
	raw, err := net.DialUDP("udp", nil, net.UDPAddrFromAddrPort(r.Addr()))
	require.NoError(t, err)
	defer raw.Close()
	_, err = raw.Write([]byte("not OSC"))
	require.NoError(t, err)
	for range 10 { // what waits at the end still goes out
		s.Send(message("/last").Message)
	}
	stop()
	for range 10 {
		next(t, heard)
	}
	assert.EqualValues(t, 1, r.Refused())
	assert.Equal(t, osc.Stats{Sent: 14}, s.Stats())
}

// Without anybody to write, or to a port that refuses, Send goes on and counts.
func TestSendNeverWaits(t *testing.T) {
	s, err := osc.NewSender(netip.MustParseAddrPort("127.0.0.1:9"))
	require.NoError(t, err)
	m := message("/tactus/section/fire", osc.Text("chorus")).Message
	for i := range 10 * osc.Queue {
		require.Equal(t, i < osc.Queue, s.Send(m), "send %d", i)
	}
	assert.EqualValues(t, 9*osc.Queue, s.Stats().Lost)
	stop := until(t, s.Run)
	stop()
	n := s.Stats()
	assert.EqualValues(t, 10*osc.Queue, n.Sent+n.Lost, n)
	assert.False(t, s.Send(packet{osc.Element{}}), "an empty packet is sent")
}

// peer is an independent library in a process of its own.
func peer(t *testing.T, port uint16) (lines <-chan string, write func(string)) {
	t.Helper()
	dir, err := filepath.Abs("../../testdata/wire")
	require.NoError(t, err)
	_, noNode := exec.LookPath("node")
	_, noLibrary := os.Stat(filepath.Join(dir, "node_modules", "osc-min"))
	if noNode != nil || noLibrary != nil {
		const how = "needs node and the npm library: install Node.js 20, then run npm ci in testdata/wire"
		require.NotEqual(t, "true", os.Getenv("CI"), how)
		t.Skip(how)
	}
	cmd := exec.Command("node", filepath.Join(dir, "osc-peer.mjs"), strconv.Itoa(int(port)))
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	cmd.Stderr = os.Stderr
	require.NoError(t, cmd.Start())
	heard := make(chan string, 100)
	go func() {
		defer close(heard)
		for s := bufio.NewScanner(out); s.Scan(); {
			heard <- s.Text()
		}
	}()
	t.Cleanup(func() {
		in.Close()
		for range heard {
		}
		_ = cmd.Wait()
	})
	return heard, func(s string) {
		_, err := in.Write([]byte(s))
		require.NoError(t, err)
	}
}

// We read what an independent library sends, and it reads what we send.
func TestPeer(t *testing.T) {
	r, heard := hear(t)
	lines, write := peer(t, r.Addr().Port())
	port, err := strconv.Atoi(next(t, lines))
	require.NoError(t, err)
	every := message("/every/kind", osc.Int(-7), osc.Float(0.5), osc.Text("abc"), osc.Text("abcd"), Blob([]byte{1, 2, 3}),
		Bool(true), Bool(false), Nil(), Impulse(), osc.Double(1.1), Time(newYear))
	packets := []osc.Element{
		message("/tactus/section/fire", osc.Text("chorus")), every,
		bundle(newYear, message("/a", osc.Int(1)), bundle(0xED003781_00000000, message("/b"))),
	}
	for i, want := range packets {
		write(strconv.Itoa(i) + "\n")
		got := next(t, heard)
		assert.Empty(t, cmp.Diff(octets(want), octets(got)), "packet %d from the peer", i)
	}
	s, _ := say(t, netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), uint16(port)))
	const args = `[{"type":"integer","value":-7},{"type":"float","value":0.5},{"type":"string","value":"abc"},
		{"type":"string","value":"abcd"},{"type":"blob","value":"010203"},{"type":"true","value":true},
		{"type":"false","value":false},{"type":"null","value":null},{"type":"bang","value":"bang"},
		{"type":"double","value":1.1},{"type":"timetag","value":[3976214400,2147483648]}]`
	for i, want := range []string{
		`{"oscType":"message","address":"/tactus/section/fire","args":[{"type":"string","value":"chorus"}]}`,
		`{"oscType":"message","address":"/every/kind","args":` + args + `}`,
		`{"oscType":"bundle","timetag":[3976214400,2147483648],"elements":[
			{"oscType":"message","address":"/a","args":[{"type":"integer","value":1}]},
			{"oscType":"bundle","timetag":[3976214401,0],"elements":[{"oscType":"message","address":"/b","args":[]}]}]}`,
	} {
		s.Send(packet{packets[i]})
		var have, expect any
		line := next(t, lines)
		require.NoError(t, json.Unmarshal([]byte(line), &have))
		require.NoError(t, json.Unmarshal([]byte(want), &expect))
		assert.Empty(t, cmp.Diff(expect, have), "packet %d to the peer: %s", i, line)
	}
}
