//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/replay"
	"tactus/cmd/tactus/resume"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/panel"
	"tactus/protocol/dmx"
	"tactus/protocol/sacn"
)

// cable is one end of a MIDI cable: what is written while nobody listens is lost.
type cable struct {
	path string
	file *os.File
}

func (c *cable) Write(b []byte) (int, error) {
	if c.file == nil {
		c.file, _ = os.OpenFile(c.path, os.O_WRONLY|syscall.O_NONBLOCK, 0) // ENXIO: nobody listens
	}
	if c.file != nil {
		if _, err := c.file.Write(b); err != nil {
			c.file.Close()
			c.file = nil
		}
	}
	return len(b), nil
}

// cables are those that a MIDI splitter has.
type cables []*cable

// splitter sends the same to all cables, until its DAW stops.
type splitter struct {
	mu   sync.Mutex
	play bool
	to   cables
}

func (s *splitter) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, c := range s.to {
		if s.play {
			_, _ = c.Write(b) // never fails
		}
	}
	return len(b), nil
}

// stop stops the DAW as its stop button does (MIDI 1.0: FC), or lets it continue (FB).
func (s *splitter) stop(stop bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, c := range s.to {
		if stop {
			_, _ = c.Write([]byte{0xFC})
		} else {
			_, _ = c.Write([]byte{0xFB})
		}
	}
	s.play = !stop
}

// sentFrame is a packet of levels that a receiver accepted, or one that it discarded.
type sentFrame struct {
	at       time.Time
	universe uint16
	verdict  sacn.Verdict
	levels   [dmx.Slots]byte
}

// receiver follows the rules of E1.31 for what comes from one sender.
type receiver struct {
	conn  *net.UDPConn
	mu    sync.Mutex
	list  []sentFrame
	first chan time.Time // gets the time of the next packet
}

func newReceiver(t *testing.T) *receiver {
	t.Helper()
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	require.NoError(t, err)
	require.NoError(t, conn.SetReadBuffer(4<<20))
	r := &receiver{conn: conn, first: make(chan time.Time, 1)}
	done := make(chan struct{})
	t.Cleanup(func() { conn.Close(); <-done })
	go func() { defer close(done); r.run() }()
	return r
}

func (r *receiver) run() {
	monitor, base := sacn.NewMonitor(), clock.NewBase()
	buf := make([]byte, 2048)
	for {
		n, from, err := r.conn.ReadFromUDPAddrPort(buf)
		if err != nil {
			return // closed
		}
		at, p := time.Now(), sacn.DataPacket{}
		if p.Parse(buf[:n]) != nil {
			continue
		}
		monitor.Expire(base.Now())
		f := sentFrame{at: at, universe: p.Universe, verdict: monitor.Add(sacn.Packet{At: base.Now(), From: from, Data: &p})}
		copy(f.levels[:], p.Slots)
		r.mu.Lock()
		r.list = append(r.list, f)
		r.mu.Unlock()
		select {
		case r.first <- at:
		default:
		}
	}
}

// take returns the packets until now, and forgets them.
func (r *receiver) take() []sentFrame {
	r.mu.Lock()
	defer r.mu.Unlock()
	list := r.list
	r.list = nil
	return list
}

// forget has next wait for a packet from now on.
func (r *receiver) forget() {
	select {
	case <-r.first:
	default:
	}
}

// next returns when the first packet came since forget.
func (r *receiver) next(t *testing.T, p *process) time.Time {
	t.Helper()
	select {
	case at := <-r.first:
		return at
	case err := <-p.done:
		require.Fail(t, "the program ended", "%v\n%s", err, p.out)
	case <-time.After(time.Minute):
		require.Fail(t, "nothing is sent", "%s", p.out)
	}
	return time.Time{}
}

// player is a run of a show that is fed and watched.
type player struct {
	t    *testing.T
	args []string
	fifo string
	recv *receiver
	run  *process
	daw  *splitter
	song clock.Beat // length of the song that is played
}

func newPlayer(t *testing.T, dir, show string, flags ...string) *player {
	t.Helper()
	p := &player{t: t, recv: newReceiver(t), fifo: filepath.Join(dir, "daw")}
	require.NoError(t, os.MkdirAll(dir, 0o755))
	if err := syscall.Mkfifo(p.fifo, 0o600); err != nil {
		t.Skipf("no FIFOs here: %v", err)
	}
	p.args = append([]string{
		binary(t), "run", show, "--midi", p.fifo, "--to", p.recv.conn.LocalAddr().String(), "--state", filepath.Join(dir, "state"),
		"--panel-at", "127.0.0.1:0", "--log", "json", "--resume",
	}, flags...)
	return p
}

// start starts the program and returns how long it takes until its first packet is here.
func (p *player) start() time.Duration {
	p.t.Helper()
	p.recv.forget()
	began := time.Now()
	p.run = start(p.t, `"level"`, p.args...)
	return p.recv.next(p.t, p.run).Sub(began)
}

// kill ends the program as a fault in it would: without a word.
func (p *player) kill() {
	p.t.Helper()
	require.NoError(p.t, p.run.cmd.Process.Kill())
	<-p.run.done
}

// page returns the address of the program's page, with a slash at its end.
func (p *player) page() string {
	p.t.Helper()
	expect(p.t, p.run, `"page":"`)
	_, page, _ := strings.Cut(p.run.out.String(), `"page":"`)
	page, _, _ = strings.Cut(page, `"`)
	return page
}

// moment asks the program's page where the show is.
func (p *player) moment() panel.Moment {
	p.t.Helper()
	ctx, cancel := context.WithTimeout(p.t.Context(), time.Minute)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, p.page()+"api/v1/events", nil)
	require.NoError(p.t, err)
	answer, err := http.DefaultClient.Do(req)
	require.NoError(p.t, err)
	defer answer.Body.Close()
	lines := bufio.NewScanner(answer.Body)
	lines.Buffer(nil, 1<<20)
	for is := ""; lines.Scan(); {
		if event, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			is = event
		}
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok && is == "moment" {
			var m panel.Moment
			require.NoError(p.t, json.Unmarshal([]byte(data), &m))
			return m
		}
	}
	require.Fail(p.t, "no moment", "%v", lines.Err())
	return panel.Moment{}
}

// whileMusicPlays waits until the song has begun and does not end within some seconds. A
// Start of the DAW that falls between a crash and the restart is lost, as docs/faults.md
// says; a crash at any other moment is not.
func (p *player) whileMusicPlays() {
	p.t.Helper()
	require.NoError(p.t, awaitMusic(p.song, p.moment, func(d time.Duration) { p.run.wait(p.t, time.After(d)) }))
}

// awaitMusic asks for moments until one is in a song of so many beats, and not near its end.
// The error is for one that does not come within a minute, which the songs of a night do
// not leave between two of them.
func awaitMusic(song clock.Beat, moment func() panel.Moment, wait func(time.Duration)) error {
	const before = 16 // quarter notes: 7 s at 126 bpm
	for end := time.Now().Add(time.Minute); ; {
		m := moment()
		if m.Section >= 0 && m.Playing && m.Beat < float64(song/clock.Quarter)-before {
			return nil
		}
		if time.Now().After(end) {
			return fmt.Errorf("the music does not play: section %d, playing %v, beat %.1f", m.Section, m.Playing, m.Beat)
		}
		wait(200 * time.Millisecond)
	}
}

// Who waits for music that does not come is told so, and where the show stands.
func TestAwaitMusicEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		asked := 0
		plays := func(m panel.Moment) func() panel.Moment { return func() panel.Moment { asked++; return m } }
		for _, c := range []struct {
			moment panel.Moment
			why    string // "": it plays
		}{
			{panel.Moment{Section: 2, Playing: true, Beat: 83}, ""},
			{panel.Moment{Section: 2, Playing: true, Beat: 84}, "section 2, playing true, beat 84.0"},
			{panel.Moment{Section: 2, Beat: 3}, "section 2, playing false, beat 3.0"},
			{panel.Moment{Section: -1, Playing: true}, "section -1, playing true, beat 0.0"},
		} {
			began := time.Now()
			asked = 0
			err := awaitMusic(100*clock.Quarter, plays(c.moment), time.Sleep)
			if c.why == "" {
				require.NoError(t, err)
				require.Equal(t, 1, asked)
				continue
			}
			require.ErrorContains(t, err, c.why)
			assert.InDelta(t, 60, time.Since(began).Seconds(), 0.5)
			assert.InDelta(t, 300, asked, 2)
		}
	})
}

// ask sends a command by the page.
func (p *player) ask(request, body string) {
	p.t.Helper()
	answer, err := http.Post(p.page()+"api/v1/ask/"+request, "application/json", strings.NewReader(body))
	require.NoError(p.t, err)
	answer.Body.Close()
	require.Equal(p.t, http.StatusNoContent, answer.StatusCode, "%s %s", request, body)
}

// figures are what restarts cost.
type figures struct{ first, gap []time.Duration }

func (f *figures) String() string {
	text := func(list []time.Duration) string {
		list = slices.Clone(list)
		slices.Sort(list)
		return fmt.Sprintf("median %v, worst %v", list[len(list)/2].Round(time.Millisecond), list[len(list)-1].Round(time.Millisecond))
	}
	return fmt.Sprintf("%d restarts: from the start of the program to its first packet %s; between packets over the crash %s",
		len(f.first), text(f.first), text(f.gap))
}

// setOf is the demo with one song, as a folder.
func setOf(t *testing.T, song string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "hall")
	command(t, "tactus", "new", dir)
	sets, err := filepath.Glob(filepath.Join(dir, "sets", "*.yaml"))
	require.NoError(t, err)
	for _, s := range sets[1:] {
		require.NoError(t, os.Remove(s))
	}
	src, err := os.ReadFile(sets[0])
	require.NoError(t, err)
	require.Contains(t, string(src), "songs: [lanterns, saturday, breakwater]")
	require.NoError(t, os.WriteFile(sets[0], []byte(strings.Replace(string(src), "songs: [lanterns, saturday, breakwater]", "songs: ["+song+"]", 1)), 0o644))
	return dir
}

// playBoth starts two programs that hear the same DAW, until the test ends. The flags are
// for the first.
func playBoth(t *testing.T, dir, show string, flags ...string) (a, b *player) {
	t.Helper()
	a, b = newPlayer(t, filepath.Join(dir, "a"), show, flags...), newPlayer(t, filepath.Join(dir, "b"), show)
	loaded, err := loadShow(show, "", os.Stderr)
	require.NoError(t, err)
	a.start()
	b.start()
	daw := &splitter{play: true, to: cables{{path: a.fifo}, {path: b.fifo}}}
	a.daw, b.daw = daw, daw
	a.song = loaded.Program.Songs[loaded.Program.SetList[0]].Length()
	b.song = a.song
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	t.Cleanup(func() { cancel(); <-done })
	go func() {
		defer close(done)
		for ctx.Err() == nil {
			_ = scheduled(t, loaded.Program).Play(ctx, clock.NewBase(), daw) // ends with ctx
		}
	}()
	expect(t, a.run, `"to":"locked"`)
	expect(t, b.run, `"to":"locked"`)
	a.run.wait(t, time.After(2500*time.Millisecond)) // the rise is over
	return a, b
}

// A program that is killed at any moment and started again with --resume goes on: its
// levels are those of a second one that was never killed and hears the same DAW, its
// packets are accepted at once, and the state is whole each time. TACTUS_KILLS=200 asks
// for more kills.
func TestKilledAtAnyMoment(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector is too slow for real time; make quiet runs this without it")
	}
	kills := 6
	if n, err := strconv.Atoi(os.Getenv("TACTUS_KILLS")); err == nil {
		kills = n
	}
	dir, show := t.TempDir(), setOf(t, "saturday")
	a, b := playBoth(t, dir, show, "--journal", filepath.Join(dir, "a.journal"))
	rng := rand.New(rand.NewPCG(uint64(kills), 1))
	var f figures
	j := judge{t: t}
	for n := range kills {
		a.recv.take()
		b.recv.take()
		a.run.wait(t, time.After(time.Second/2+time.Duration(rng.Int64N(int64(1500*time.Millisecond)))))
		b.whileMusicPlays()
		a.kill()
		readState(t, filepath.Join(dir, "a", "state"))
		f.first = append(f.first, a.start())
		a.run.wait(t, time.After(time.Second))
		sa, sb := a.moment(), b.moment()
		assert.Equal(t, sb.Section, sa.Section, "after kill %d", n)
		assert.InDelta(t, sb.Beat, sa.Beat, 0.5, "beats after kill %d", n)
		assert.NotContains(t, a.run.out.String(), "begins anew", "kill %d", n)
		f.gap = append(f.gap, j.compare(fmt.Sprint("kill ", n), a.recv.take(), b.recv.take()))
	}
	t.Log(f.String())
	assert.Less(t, median(f.gap), 2500*time.Millisecond, "the median of the times without packets; then receivers take the data for lost (E1.31-2018, 6.7.1)")
	t.Logf("levels: %d compared, %d (%.3f %%) beside those of the run that was not killed", j.compared, j.differ, 100*float64(j.differ)/float64(j.compared))
	assert.Less(t, float64(j.differ), 0.01*float64(j.compared), "levels that differ")
	a.run.stop(t, syscall.SIGTERM)
	journals := readJournals(t, filepath.Join(dir, "a.journal"), show)
	assert.Equal(t, min(kills+1, 6), journals, "journals")
}

// Whatever the light is doing when the program is killed, it does after the start: a long
// fade goes on, what is held or dark stays so, and what is armed is entered.
func TestKilledInEachState(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector is too slow for real time; make quiet runs this without it")
	}
	dir := t.TempDir()
	a, b := playBoth(t, dir, setOf(t, "saturday"))
	both := func(request, body string) { a.ask(request, body); b.ask(request, body) }
	for _, c := range []struct {
		what       string
		begin, end func()
	}{
		{"a fade of the grand master", func() { both("master", `{"with": [0.3, 4]}`) }, func() { both("master", `{"with": [1, 0]}`) }},
		{"a hold", func() { both("hold", "") }, func() { both("release", "") }},
		{"an armed section", func() { both("section/arm", `{"with": ["breakdown", "section end"]}`) }, func() { both("section/disarm", "") }},
		{"a blackout", func() { both("blackout", "") }, func() { both("restore", "") }},
		{"a DAW that stands still", func() { a.daw.stop(true) }, func() { a.daw.stop(false) }},
		// Last, as its release takes its time.
		{"an override of the house lights", func() { both("house/up", "") }, func() { both("house/cued", "") }},
	} {
		c.begin()
		a.run.wait(t, time.After(300*time.Millisecond))
		a.recv.take()
		b.recv.take()
		before := a.moment()
		a.run.wait(t, time.After(100*time.Millisecond))
		a.kill()
		first := a.start()
		assert.NotContains(t, a.run.out.String(), "begins anew", c.what)
		a.run.wait(t, time.After(time.Second))
		after, other := a.moment(), b.moment()
		j := judge{t: t}
		sent := a.recv.take()
		reference := b.recv.take()
		if after.Held { // each held its own moment
			reference = sent[:min(8, len(sent))]
			for i := range reference {
				reference[i].at = sent[len(sent)-1].at
			}
			sent = sent[len(reference):]
		}
		gap := j.compare(c.what, sent, reference)
		t.Logf("%s: first packet after %v, gap %v, %d levels compared, %d differ", c.what, first.Round(time.Millisecond), gap.Round(time.Millisecond), j.compared, j.differ)
		assert.LessOrEqual(t, float64(j.differ), 0.01*float64(j.compared), "%s: levels that differ", c.what)
		assert.True(t, j.compared > 0 || after.Blackout, "%s: no levels were compared", c.what)
		assert.Equal(t, before.Held, after.Held, c.what)
		assert.Equal(t, before.Blackout, after.Blackout, c.what)
		assert.Equal(t, before.Playing, after.Playing, c.what)
		assert.Equal(t, before.House, after.House, c.what)
		assert.Equal(t, other.Armed, after.Armed, c.what)
		assert.Equal(t, other.Section, after.Section, c.what)
		assert.InDelta(t, other.Master, after.Master, 0.1, c.what)
		assert.InDelta(t, other.Beat, after.Beat, 0.5, c.what)
		c.end()
		a.run.wait(t, time.After(200*time.Millisecond))
	}
	a.run.stop(t, syscall.SIGTERM)
	a.run = start(t, "begins anew", a.args...)
	expect(t, a.run, "ended as it was asked to")
	a.run.stop(t, syscall.SIGTERM)
}

// judge compares what two programs sent.
type judge struct {
	t                *testing.T
	compared, differ int
}

// sideways is how far apart in time two programs may show the same: a frame of each, and
// what a busy machine adds.
const sideways = 120 * time.Millisecond

// compare compares the levels of a with those of b around the same time, and returns the
// longest gap between two packets of a.
func (j *judge) compare(what string, a, b []sentFrame) (gap time.Duration) {
	last := map[uint16]time.Time{}
	for _, f := range a {
		if before := last[f.universe]; !before.IsZero() {
			gap = max(gap, f.at.Sub(before))
		}
		last[f.universe] = f.at
		if !assert.Equal(j.t, sacn.Accepted, f.verdict, "%s: a packet of universe %d", what, f.universe) {
			return gap
		}
		var low, high [dmx.Slots]byte
		seen := 0
		for i := range b {
			g := &b[i]
			if d := g.at.Sub(f.at); g.universe != f.universe || d < -sideways || d > sideways {
				continue
			}
			for s, v := range g.levels {
				if seen == 0 || v < low[s] {
					low[s] = v
				}
				if seen == 0 || v > high[s] {
					high[s] = v
				}
			}
			seen++
		}
		if seen < 4 { // at the edges of what was received
			continue
		}
		sum, least := 0, 0
		for s, v := range f.levels {
			sum, least = sum+int(v), least+int(low[s])
			if high[s] == 0 && v == 0 {
				continue
			}
			j.compared++
			if int(v) < int(low[s])-2 || int(v) > int(high[s])+2 {
				j.differ++
			}
		}
		assert.GreaterOrEqual(j.t, sum, least/2, "%s: universe %d is darker than it can be without a crash", what, f.universe)
	}
	return gap
}

// readState reads the state that a killed program has left.
func readState(t *testing.T, dir string) resume.Saved {
	t.Helper()
	f, err := resume.Open(filepath.Join(dir, "resume"))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	s, err := f.Read()
	require.NoError(t, err, "the state of a killed program")
	_, err = engine.ReadCheckpoint(s.Checkpoint)
	require.NoError(t, err)
	_, err = f.ReadArchive(s.Content)
	require.NoError(t, err)
	return s
}

// readJournals replays each journal that killed runs have left, and returns how many.
func readJournals(t *testing.T, name, show string) int {
	t.Helper()
	names, err := filepath.Glob(name + "*")
	require.NoError(t, err)
	for _, name := range names {
		file, err := os.Open(name)
		require.NoError(t, err)
		read, err := journal.NewReader(file)
		require.NoError(t, err, name)
		loaded, err := loadShow(show, "", os.Stderr)
		require.NoError(t, err)
		r, err := replay.New(read, loaded, nil)
		require.NoError(t, err, name)
		require.NoError(t, r.Run(), name)
		var out, errOut strings.Builder
		assert.True(t, r.Verdict(&out, &errOut), "%s\n%s%s", name, &out, &errOut)
		file.Close()
	}
	return len(names)
}
