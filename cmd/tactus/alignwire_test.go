package main

import (
	"bytes"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"tactus/protocol/sacn"
)

// The real thing on loopback: packets with a flash, clicks in a file, the line
// for the rig. Only sanity: real time is not the test's to promise.
func TestAlignOnLoopback(t *testing.T) {
	in, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	clicks := filepath.Join(t.TempDir(), "clicks")
	lit := make(chan int, 1)
	go func() {
		buf, rises, was := make([]byte, 2048), 0, false
		for {
			n, err := in.Read(buf)
			if err != nil {
				lit <- rises
				return
			}
			var p sacn.DataPacket
			if p.Parse(buf[:n]) != nil {
				continue
			}
			bright := p.Slots[demoDimmer-1] > 0
			if bright && !was {
				rises++
			}
			was = bright
		}
	}()
	var out bytes.Buffer
	var errOut shared
	code := run([]string{
		"align", "demo", "--fixture", demoFixture, "--to", in.LocalAddr().String(), "--state", t.TempDir(),
		"--tempo", "120", "--lead", "40ms", "--for", "2200ms", "--click", "file:" + clicks, "--note", "76", "--real-time=false",
	}, strings.NewReader(""), &out, &errOut)
	in.Close()
	b, err := os.ReadFile(clicks)
	if err != nil || code != exitOK {
		t.Fatalf("exit code %d, %v: %s", code, err, &errOut)
	}
	on, off := bytes.Count(b, []byte{0x99, 76, 100}), bytes.Count(b, []byte{0x89, 76, 64})
	if n := <-lit; on < 3 || on > 6 || on != off || n < 3 || n > 6 {
		t.Errorf("%d note-ons, %d note-offs, %d flashes in 2.2 s at 120 BPM", on, off, n)
	}
	if !strings.Contains(out.String(), "lead: 40 ms") || !strings.Contains(errOut.String(), "CAUTION") {
		t.Errorf("said %q and %q", &out, &errOut)
	}
}

func TestAlignRefuses(t *testing.T) {
	for _, args := range [][]string{
		{"--tempo", "121"}, {"--tempo", "NaN"}, {"--tempo", "5"}, {"--note", "128"}, {"--channel", "0"}, {"--lead", "1s"},
	} {
		if code := run(append([]string{"align", "demo", "--fixture", demoFixture}, args...), strings.NewReader(""), io.Discard, io.Discard); code != exitUsage {
			t.Errorf("%v: exit code %d", args, code)
		}
	}
}

// shared is a buffer that ports and the session log to, as they do to a terminal.
type shared struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *shared) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(b)
}

func (s *shared) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}
