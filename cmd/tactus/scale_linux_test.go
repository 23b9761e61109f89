package main

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/ipv4"

	"tactus/clock"
	"tactus/cmd/tactus/realtime"
	"tactus/engine"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
)

// BenchmarkScale prints what a whole frame costs from position to wire as the show grows,
// 16 heads with three effects a universe, beside the floor of sending as many ready-made
// packets by sendmmsg and what an independent sender takes for ready-made levels.
// us/universe says whether the cost is linear.
func BenchmarkScale(b *testing.B) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for universes := 1; universes <= 4096; universes *= 4 {
		b.Run(fmt.Sprintf("universes=%d", universes), func(b *testing.B) {
			to := sink(b)
			each := func(b *testing.B, ns float64) {
				b.ReportMetric(ns/1000/float64(universes), "us/universe")
				b.ReportMetric(100*ns/float64(time.Second/44), "%budget")
			}
			measure := func(name string, f func()) {
				b.Run(name, func(b *testing.B) {
					for range 30 {
						f()
					}
					b.ReportAllocs()
					for b.Loop() {
						f()
					}
					each(b, float64(b.Elapsed())/float64(b.N))
				})
			}
			s := scaleSender(b, universes, to, 0, nil)
			measure("ours", scaleFrame(b, universes, func(now clock.Time, u []dmx.Universe) {
				if err := s.Send(now, u, nil); err != nil {
					require.NoError(b, err)
				}
			}))
			measure("light", scaleFrame(b, universes, func(clock.Time, []dmx.Universe) {}))
			measure("sendmmsg", floor(b, to, universes))
			b.Run("npm", func(b *testing.B) {
				out, err := exec.Command("node", peerFolder+"/sacn-cost.mjs", strconv.Itoa(universes), strconv.Itoa(max(5, 400/universes))).Output()
				if err != nil {
					b.Skipf("the npm peer does not run: %v; make test installs it", err)
				}
				ns, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
				require.NoError(b, err)
				for b.Loop() { // the peer measured itself
				}
				b.ReportMetric(ns*float64(universes), "ns/op")
				each(b, ns*float64(universes))
			})
		})
	}
}

const scaleReceiver = "TACTUS_SCALE_RECEIVER"

// TestScaleReceiver is the receiver of TestScaleSoak, in a process of its own: it prints
// its address, and when its input ends what it has got.
func TestScaleReceiver(t *testing.T) {
	if os.Getenv(scaleReceiver) == "" {
		t.Skip("started by TestScaleSoak")
	}
	c, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	require.NoError(t, c.SetReadBuffer(32<<20))
	fmt.Println("address", c.LocalAddr())
	go func() {
		_, _ = bufio.NewReader(os.Stdin).ReadString('\n') // until it is closed
		_ = c.SetReadDeadline(time.Now().Add(time.Second))
	}()
	in := ipv4.NewPacketConn(c)
	messages := make([]ipv4.Message, 256)
	for i := range messages {
		messages[i].Buffers = [][]byte{make([]byte, 700)}
	}
	var p sacn.DataPacket
	r := newPictures()
	for {
		n, err := in.ReadBatch(messages, 0)
		if err != nil {
			break
		}
		for i := range messages[:n] {
			b := messages[i].Buffers[0][:messages[i].N]
			if kind, _ := sacn.KindOf(b); kind == sacn.Sync {
				r.sync()
			} else if p.Parse(b) == nil {
				r.take(&p)
			}
		}
	}
	fmt.Printf("got %d %d %d %d\n", r.packets, r.lost, r.syncs, r.torn)
}

// pictures follows what a receiver shows that waits for sync packets. Every universe is
// sent in every frame, so that sequence numbers tell frames apart.
type pictures struct {
	packets, lost, syncs, torn int
	sequence                   map[uint16]uint8
}

func newPictures() *pictures { return &pictures{sequence: map[uint16]uint8{}} }

func (r *pictures) take(p *sacn.DataPacket) {
	r.packets++
	if last, ok := r.sequence[p.Universe]; ok {
		r.lost += int(p.Sequence - last - 1)
	}
	r.sequence[p.Universe] = p.Sequence
}

func (r *pictures) sync() {
	r.syncs++
	for _, n := range r.sequence {
		if n != r.sequence[1] {
			r.torn++
			return
		}
	}
}

// startReceiver starts TestScaleReceiver, on the first processor if there are two. stop
// ends it and returns what it has got: packets, lost ones, sync packets, and of these
// how many came while universes of different frames had arrived.
func startReceiver(t *testing.T) (to netip.AddrPort, stop func() [4]int) {
	self, err := os.Executable()
	require.NoError(t, err)
	args := []string{self, "-test.run=^TestScaleReceiver$", "-test.timeout=0"}
	if _, err := exec.LookPath("taskset"); err == nil {
		args = append([]string{"taskset", "-c", "0"}, args...)
	}
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Env = append(os.Environ(), scaleReceiver+"=1", "GOMAXPROCS=2")
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := bufio.NewScanner(out)
	next := func(word string) []string {
		for lines.Scan() {
			if f := strings.Fields(lines.Text()); len(f) > 1 && f[0] == word {
				return f[1:]
			}
		}
		require.Fail(t, "the receiver ended without "+word)
		return nil
	}
	to, err = netip.ParseAddrPort(next("address")[0])
	require.NoError(t, err)
	return to, func() (got [4]int) {
		in.Close()
		for i, word := range next("got") {
			got[i], err = strconv.Atoi(word)
			require.NoError(t, err)
		}
		_ = cmd.Wait()
		return got
	}
}

// TestScaleSoak plays 1,024 universes with 16,384 heads in real time, with a journal, a
// reader as the page is one, and a receiver in another process. TACTUS_SCALE says how long,
// such as 10m, after a second in which memory is locked; TACTUS_SCALE_UNIVERSES changes the
// number of universes. All of a frame is made and sent on one thread, and so on one core:
//
//	TACTUS_SCALE=10m go test -timeout 0 -run TestScaleSoak -v ./cmd/tactus
func TestScaleSoak(t *testing.T) {
	span, err := time.ParseDuration(os.Getenv("TACTUS_SCALE"))
	if err != nil {
		t.Skip("TACTUS_SCALE=10m runs it for ten minutes")
	}
	universes := 1024
	if n, err := strconv.Atoi(os.Getenv("TACTUS_SCALE_UNIVERSES")); err == nil {
		universes = n
	}
	to, stop := startReceiver(t)
	s := scaleSender(t, universes, to, udp.DefaultSpread, nil)
	base := clock.NewBase()
	thread := realtime.NewThread(base, true, zerolog.Nop())
	input := make(chan engine.Input, 16)
	input <- engine.Input{Command: engine.Command{Kind: engine.SelectSong}}
	input <- engine.Input{Event: clock.Event{At: base.Now(), Kind: clock.Start}}
	journal := engine.NewJournal(1 << 12)
	loop := engine.NewLoop(engine.LoopConfig{
		Engine: engine.New(scaleProgram(t, universes)), Clock: clock.NewTransport(clock.Config{}), Base: base, Input: input,
		Outputs: []engine.Output{s}, Wait: thread.Sleeper.Wait, Journal: journal, Free: true,
	})
	const settle = time.Second // memory is locked, buffers grow
	ctx, cancel := context.WithTimeout(t.Context(), settle+span)
	defer cancel()
	var settled engine.Snapshot
	settling := time.After(settle)
	var worst []clock.Time // of each fifth of a second
	page := make(chan engine.Snapshot)
	go func() {
		var snapshot engine.Snapshot
		ticker := time.NewTicker(time.Second / 5)
		defer ticker.Stop()
		for {
			select {
			case <-ctx.Done():
				page <- snapshot
				return
			case <-ticker.C:
				loop.Snapshot(&snapshot)
				worst = append(worst, snapshot.Health.WorstAt)
			case <-settling:
				loop.Snapshot(&settled)
				worst = nil
			case <-journal.Records():
			}
		}
	}()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	require.NoError(t, thread.Run(func() error { return loop.Run(ctx) }))
	last := <-page
	runtime.ReadMemStats(&after)
	loop.Snapshot(&last)
	got, sent := stop(), s.Stats()
	all := int(last.Health.Frames)
	frames, missed := all-int(settled.Health.Frames), last.Health.Missed-settled.Health.Missed
	slices.Sort(worst)
	t.Logf("%d universes, %d heads, %v, GOMAXPROCS %d, %s: %d frames (%.2f a second), %d missed; wakes late by %v at worst, %v in 99 %% of fifths of a second; %d packets sent, %d failed; received %d, lost %d, %d sync packets, %d torn; heap %d kB at the start, %d kB at the end, %d collections",
		universes, universes*headsPerUniverse, span, runtime.GOMAXPROCS(0), thread.Got, frames, float64(frames)/span.Seconds(), missed,
		time.Duration(worst[len(worst)-1]), time.Duration(worst[len(worst)*99/100]), sent.Packets, sent.Failed, got[0], got[1], got[2], got[3],
		before.HeapAlloc>>10, after.HeapAlloc>>10, after.NumGC-before.NumGC)
	assert.Zero(t, missed, "missed frames")
	assert.InDelta(t, 44*span.Seconds(), float64(frames), 3, "frames")
	assert.Zero(t, sent.Failed, "packets that failed")
	assert.Zero(t, got[1], "packets lost")
	assert.Zero(t, got[3], "sync packets between universes of different frames")
	assert.Equal(t, all*universes, got[0], "packets received")
	assert.Equal(t, all, got[2], "sync packets received")
}
