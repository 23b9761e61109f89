package main

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
)

// pairPacket is a packet of a capture: sACN, or Art-Net's data.
type pairPacket struct {
	at       time.Duration // since 1970
	from     string
	artNet   bool
	cid      [16]byte
	priority uint8
	ended    bool
	level    uint8 // of the first slot
	pulse    uint8 // of the second
}

// readPackets reads what tshark prints: time, source, payload.
func readPackets(t *testing.T, text string) (list []pairPacket) {
	t.Helper()
	for line := range strings.Lines(text) {
		words := strings.Split(strings.TrimRight(line, "\n"), "\t")
		if len(words) != 3 {
			continue // what tshark says besides
		}
		seconds, fraction, _ := strings.Cut(words[0], ".")
		s, err := strconv.ParseInt(seconds, 10, 64)
		if err != nil {
			continue
		}
		ns, err := strconv.ParseInt((fraction + "000000000")[:9], 10, 64)
		require.NoError(t, err)
		b, err := hex.DecodeString(words[2])
		require.NoError(t, err)
		p := pairPacket{at: time.Duration(s)*time.Second + time.Duration(ns), from: words[1]}
		var data sacn.DataPacket
		var dmx artnet.Dmx
		switch {
		case data.Parse(b) == nil:
			p.cid, p.priority, p.ended = data.CID, data.Priority, data.Options&sacn.StreamTerminated != 0
			p.level, p.pulse = data.Slots[0], data.Slots[1]
		case dmx.Parse(b) == nil:
			p.artNet, p.level = true, dmx.Data[0]
		default:
			continue
		}
		list = append(list, p)
	}
	slices.SortStableFunc(list, func(a, b pairPacket) int { return int(a.at - b.at) })
	return list
}

// arbiter follows the sources of one universe as ANSI E1.31-2018 has it: of those that
// sent within the last 2.5 s (6.7.1) and have not ended (6.2.6), the ones with the
// highest priority count (6.2.3).
type arbiter struct {
	sources map[[16]byte]pairPacket
	now     string // who is followed

	changes []string
	longest time.Duration // between two packets of whom it followed
	at      time.Duration // the longest gap ended
	last    time.Duration
	levels  []levelStep
}

type levelStep struct {
	at    time.Duration
	level uint8
}

const dataLoss = 2500 * time.Millisecond

func (a *arbiter) take(p pairPacket) {
	if a.sources == nil {
		a.sources = map[[16]byte]pairPacket{}
	}
	for cid, s := range a.sources {
		if p.at-s.at > dataLoss {
			delete(a.sources, cid)
		}
	}
	if p.ended {
		delete(a.sources, p.cid)
	} else {
		a.sources[p.cid] = p
	}
	high, count := -1, 0
	for _, s := range a.sources {
		switch {
		case int(s.priority) > high:
			high, count = int(s.priority), 1
		case int(s.priority) == high:
			count++
		}
	}
	if int(p.priority) != high || p.ended {
		return
	}
	who := p.from
	if count > 1 {
		who = "both at once"
	}
	if who != a.now {
		a.changes = append(a.changes, fmt.Sprintf("%s at %v", who, p.at))
		a.now = who
	}
	if gap := p.at - a.last; a.last != 0 && gap > a.longest {
		a.longest, a.at = gap, p.at
	}
	a.last = p.at
	if n := len(a.levels); n == 0 || a.levels[n-1].level != p.level {
		a.levels = append(a.levels, levelStep{p.at, p.level})
	}
}

// judgePackets has an arbiter take the sACN packets of a capture.
func judgePackets(list []pairPacket) *arbiter {
	a := &arbiter{}
	for _, p := range list {
		if !p.artNet {
			a.take(p)
		}
	}
	return a
}

// artNetGaps returns the longest gap between packets of Art-Net, and how many came from
// another sender than the one before: one change of senders is one.
func artNetGaps(list []pairPacket) (longest time.Duration, changes int) {
	var last pairPacket
	for _, p := range list {
		if !p.artNet {
			continue
		}
		if last.at != 0 {
			longest = max(longest, p.at-last.at)
			if p.from != last.from {
				changes++
			}
		}
		last = p
	}
	return longest, changes
}

// wrongSteps returns the levels that did not come as the show has them: a cue a bar, each
// two per cent above the one before, at equal distances.
func wrongSteps(steps []levelStep, bar, slack time.Duration) (wrong []string) {
	for i := 2; i < len(steps); i++ { // the first is the look before the song
		s, before := steps[i], steps[i-1]
		rise := int(s.level) - int(before.level)
		if rise < 5 || rise > 6 { // 2 % of 255
			wrong = append(wrong, fmt.Sprintf("level %d after %d at %v", s.level, before.level, s.at))
		}
		if off := s.at - before.at - bar; i > 2 && off.Abs() > slack {
			wrong = append(wrong, fmt.Sprintf("level %d came %v after %d, want %v", s.level, s.at-before.at, before.level, bar))
		}
	}
	return wrong
}

// The arbiter itself: priority, the time for lost data, and an ended stream.
func TestArbiter(t *testing.T) {
	one, two := [16]byte{1}, [16]byte{2}
	packet := func(ms int, cid [16]byte, priority uint8, ended bool) pairPacket {
		return pairPacket{at: time.Second + time.Duration(ms)*time.Millisecond, from: fmt.Sprint(cid[0]), cid: cid, priority: priority, ended: ended}
	}
	var a arbiter
	for _, p := range []pairPacket{
		packet(0, one, 100, false), packet(5, two, 99, false), packet(20, one, 100, false),
		packet(2520, two, 99, false),                                // 2.5 s after the last: not yet
		packet(2540, two, 99, false),                                // now
		packet(2560, one, 100, false),                               // back
		packet(2580, two, 101, false),                               // raised
		packet(2600, one, 100, false), packet(2620, two, 101, true), // ended
		packet(2640, one, 100, false), packet(2660, two, 100, false),
	} {
		a.take(p)
	}
	var who []string
	for _, c := range a.changes {
		name := c[:strings.LastIndex(c, " at ")]
		who = append(who, name)
	}
	require.Equal(t, []string{"1", "2", "1", "2", "1", "both at once"}, who)
	require.Equal(t, 2520*time.Millisecond, a.longest)
}
