package main

import (
	order "encoding/binary"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/cmd/tactus/realtime"
	"tactus/protocol/midi"
	"tactus/shows"
)

// moment is a beat of the evening, counted in bars of 2/4 of the MIDI file:
// what is sent on it, and the light from there to the next moment.
type moment struct {
	bar, beat int
	what      string
	send      []byte // channel messages of the file
	early     int    // ticks of the file by which they come before it
	transport string // a marker of the file, at which the sequencer stops or continues
	section   string
	percent   int
}

// mooring is the song as it is played. The plan is verse, chorus, bridge (with
// a second cue in its bar 2), outro; testdata/shows/unplanned has it.
func mooring() []moment {
	verse, chorus, bridge, outro := []byte{0x90, 36, 100}, []byte{0x90, 37, 100}, []byte{0x90, 38, 100}, []byte{0x90, 39, 100}
	hold, release := []byte{0x9f, 96, 100}, []byte{0x9f, 97, 100}
	blackout, restore := []byte{0x9f, 98, 100}, []byte{0x9f, 99, 100}
	return []moment{
		{1, 1, "as planned", append([]byte{0xcf, 0}, verse...), 0, "", "verse", 20},
		{3, 1, "as planned", chorus, 0, "", "chorus", 80},
		{5, 1, "as planned", bridge, 0, "", "bridge", 40},
		{6, 1, "as planned, by position alone", nil, 0, "", "bridge, bar 2", 60},
		{7, 1, "unplanned: the bridge again, from its first cue", bridge, 0, "", "bridge", 40},
		{8, 1, "unplanned: the chorus instead of the bridge's bar 2, by a hand that is early", chorus, 20, "", "chorus", 80},
		{9, 1, "hold: stay on the present light", hold, 0, "", "chorus", 80},
		{9, 2, "the DAW stops, and its clock is silent for two bars", nil, 0, "stop", "chorus", 80},
		{11, 2, "it continues where it stopped", nil, 0, "continue", "chorus", 80},
		{12, 1, "the bridge comes, under the hold", bridge, 0, "", "bridge", 80},
		{13, 1, "its second cue comes, under the hold", nil, 0, "", "bridge, bar 2", 80},
		{13, 2, "release: the light goes where the song is", release, 0, "", "bridge, bar 2", 60},
		{15, 1, "as planned", outro, 0, "", "outro", 10},
		{16, 1, "the band cuts the song: dark on the downbeat", blackout, 0, "", "outro", 0},
		{16, 2, "the DAW stops too; dark stays dark", nil, 0, "stop", "outro", 0},
		{18, 1, "restore, without a clock: the last light, which stays", restore, 0, "", "outro", 10},
		{19, 1, "the end of the file", nil, 0, "", "outro", 10},
	}
}

// A quarter note of the file has so many ticks, each of 2.34 ms at 160 beats a
// minute. Twenty are 47 ms: well within the show's note window of 120 ms. A note
// that is on the dot of a beat on which the plan changes the light may come after
// the frame for that beat, which shows the plan.
const mooringTick = 160

// tick returns where the moment is in the file.
func (m moment) tick() int { return ((m.bar-1)*2 + m.beat - 1) * mooringTick }

// mooringFile writes the evening as a Standard MIDI File of format 0
// (Standard MIDI Files 1.0, 2.1 to 3.1).
func mooringFile(moments []moment) []byte {
	var track []byte
	last := 0
	event := func(tick int, b ...byte) {
		delta := tick - last
		last = tick
		track = append(track, byte(delta>>7)|0x80, byte(delta&0x7f)) // up to 16,383 ticks
		track = append(track, b...)
	}
	us := 60_000_000 / 160 // beats a minute
	event(0, 0xff, 0x51, 3, byte(us>>16), byte(us>>8), byte(us))
	event(0, 0xff, 0x58, 4, 2, 2, 24, 8) // 2/4
	for _, m := range moments {
		if m.transport != "" {
			event(m.tick(), append([]byte{0xff, 0x06, byte(len(m.transport))}, m.transport...)...)
		}
		for b := m.send; len(b) > 0; {
			n := 3
			if b[0]>>4 == 0xc {
				n = 2
			}
			event(m.tick()-m.early, b[:n]...)
			b = b[n:]
		}
	}
	event(moments[len(moments)-1].tick(), 0xff, 0x2f, 0)
	file := order.BigEndian.AppendUint16([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01"), mooringTick)
	file = order.BigEndian.AppendUint32(append(file, "MTrk"...), uint32(len(track)))
	return append(file, track...)
}

// sequence lists what a DAW sends for the file. Its markers are the hand on
// the transport: between stop and continue there is no clock. Continue takes
// the place of the tick before the one that the music goes on with.
func sequence(f *midi.File, s midi.Schedule) (list []midi.Entry) {
	markers, running := f.Markers, true
	tick := 60 * time.Second / 160 / 24
	for _, e := range s.Entries {
		if e.Bytes[0] == 0xf8 {
			for len(markers) > 0 {
				due := s.FirstTick + f.TimeAt(markers[0].Tick)
				if markers[0].Text == "continue" {
					due -= tick
				}
				if e.At < due-tick/2 {
					break
				}
				running = markers[0].Text == "continue"
				e.Bytes[0] = 0xfc
				if running {
					e.Bytes[0] = 0xfb
				}
				list = append(list, e)
				e.Bytes[0] = 0 // its place is taken
				markers = markers[1:]
			}
			if !running || e.Bytes[0] == 0 {
				continue
			}
		}
		list = append(list, e)
	}
	return list
}

// playByHand writes the messages into the FIFO, and returns when its schedule
// began, and when it was woken late for a message.
func playByHand(t *testing.T, fifo string, list []midi.Entry) (began time.Time, late []lateWake) {
	t.Helper()
	f, err := os.OpenFile(fifo, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	base := clock.NewBase()
	wait := realtime.NewSleeper(base).Wait
	zero := base.Now()
	began = time.Now()
	for _, e := range list {
		for due := zero + clock.Time(e.At); base.Now() < due; { // a wait is 50 ms at most
			wait(due)
		}
		if by := time.Duration(base.Now() - zero - clock.Time(e.At)); by > time.Millisecond {
			late = append(late, lateWake{time.Now(), by})
		}
		_, err := f.Write(e.Bytes[:e.Len])
		require.NoError(t, err)
	}
	return began, late
}

// A MIDI file plays a song as a band does: it enters sections again that the
// plan does not, holds the light while the clock stands still, and cuts the
// song. It goes through a FIFO in real time; what an independent capture holds
// is the light of the script, no level more and none less.
func TestUnplannedSongThroughFIFO(t *testing.T) {
	if raceEnabled {
		t.Skip("the race detector is too slow for real time; make quiet runs this without it")
	}
	needTools(t, true, "ip", "tshark", "dumpcap")
	t.Parallel() // it has its own network, and mostly waits
	const folder = "../../testdata/shows/unplanned"
	_, problems := shows.Load(os.DirFS(folder), shows.Options{})
	require.Empty(t, problems)
	moments := mooring()
	file, err := midi.ParseFile(mooringFile(moments))
	require.NoError(t, err)
	schedule := file.Schedule(4)
	list := sequence(file, schedule)

	ns, dir := namespace(t), t.TempDir()
	fifo, pcap := filepath.Join(dir, "daw"), filepath.Join(dir, "run.pcapng")
	require.NoError(t, syscall.Mkfifo(fifo, 0o600))
	capture := start(t, "Capturing on", "ip", "netns", "exec", ns, "tshark", "-i", "lo", "-w", pcap, "-f", "udp")
	run := start(t, "MIDI in", "ip", "netns", "exec", ns, binary(t), "run", folder,
		"--midi", fifo, "--rise", "0s", "--state", dir, "--for", "60s")
	stop := watchWakes(t)
	began, written := playByHand(t, fifo, list)
	late := stop()
	late.list = append(late.list, written...)
	run.stop(t, syscall.SIGTERM)
	capture.wait(t, time.After(500*time.Millisecond)) // the capture's own buffer
	capture.stop(t, syscall.SIGINT)
	packets := readCapture(t, pcap)

	checkMoments(t, moments, packets, late, func(m moment) time.Time {
		return began.Add(schedule.FirstTick + file.TimeAt(int64(m.tick())))
	})
}

// change is a level that slot 1 took.
type change struct {
	at    time.Time
	level byte
}

// changes lists what slot 1 of universe 1 showed, one after the other.
func changes(t *testing.T, packets []packet) (list []change) {
	t.Helper()
	last := time.Time{}
	for _, p := range packets {
		require.False(t, p.malformed, "the dissector finds a malformed packet")
		if p.artnet || p.universe != 1 {
			continue
		}
		// E1.31-2018, 6.6.2
		if !last.IsZero() {
			assert.LessOrEqual(t, p.at.Sub(last), time.Second, "silent for")
		}
		last = p.at
		if n := len(list); n == 0 || list[n-1].level != p.slots[0] {
			list = append(list, change{p.at, p.slots[0]})
		}
	}
	return list
}

// checkMoments holds the capture against the script: the levels in their order,
// each from its moment on, and in the middle of every stretch.
func checkMoments(t *testing.T, moments []moment, packets []packet, wakes *lateWakes, when func(moment) time.Time) {
	seen := changes(t, packets)
	want := []byte{0} // before the first downbeat
	// A planned cue has a frame at its moment, a command the one after it. A tick is
	// 15.6 ms. It may be later by as much as the machine woke other threads late at that
	// time; the median of all may not.
	const early, most = 6 * time.Millisecond, frame + 8*time.Millisecond
	var all []time.Duration
	for i, m := range moments {
		level, at := byte(float64(m.percent)/100*255+0.5), when(m)
		moves := level != want[len(want)-1]
		if moves {
			want = append(want, level)
		}
		n := len(want) - 1
		require.Less(t, n, len(seen), "bar %d beat %d, %s, %s", m.bar, m.beat, m.section, m.what)
		require.Equal(t, level, seen[n].level, "bar %d beat %d, %s, %s", m.bar, m.beat, m.section, m.what)
		if moves {
			late := seen[n].at.Sub(at)
			allowed := wakes.allowance(at)
			all = append(all, late)
			t.Logf("bar %2d beat %d  %-13s  %3d %%  %8v  %s; allowed for late wakes: %v", m.bar, m.beat, m.section, m.percent, late.Round(10*time.Microsecond), m.what, allowed)
			assert.GreaterOrEqual(t, late, -early, "bar %d beat %d, %s: level %d came %v after its moment", m.bar, m.beat, m.section, level, late)
			assert.LessOrEqual(t, late, most+allowed, "bar %d beat %d, %s: level %d came %v after its moment; %v allowed for late wakes", m.bar, m.beat, m.section, level, late, allowed)
		} else {
			t.Logf("bar %2d beat %d  %-13s  %3d %%     stays  %s", m.bar, m.beat, m.section, m.percent, m.what)
		}
		if i+1 == len(moments) {
			break
		}
		middle := at.Add(when(moments[i+1]).Sub(at) / 2)
		got, ok := litAt(packets, middle)
		assert.True(t, ok, "middle of bar %d beat %d, %s", m.bar, m.beat, m.section)
		assert.Equal(t, level, got, "middle of bar %d beat %d, %s", m.bar, m.beat, m.section)
	}
	assert.LessOrEqual(t, median(all), most, "the median of the times from a moment to its light, nothing allowed for")
	assert.Len(t, seen, len(want), "levels were seen")
}

// litAt returns what slot 1 of universe 1 shows at a time, by the last packet
// before it, no older than a second.
func litAt(packets []packet, at time.Time) (level byte, ok bool) {
	for _, p := range packets {
		if p.at.After(at) {
			break
		}
		if !p.artnet && p.universe == 1 {
			level, ok = p.slots[0], at.Sub(p.at) < time.Second
		}
	}
	return level, ok
}
