package live

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"sync"
	"time"
	"unicode"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/engine"
	"tactus/protocol/sacn"
	"tactus/shows"
)

// levelInputs receives sACN for a run: the universes that the show takes in, whose
// levels it leaves for the loop, and other sources of the show's own universes, of
// which it tells. Its goroutines wait for the network; the loop never waits for them.
type levelInputs struct {
	show  *shows.Show
	base  clock.Base
	log   zerolog.Logger
	own   [16]byte // CID of this run
	join  []uint16
	iface string
	boxes []*engine.LevelBox // by input

	mu     sync.Mutex
	inputs *sacn.Merger
	others *sacn.Merger // sources of the show's own universes; nil: not listened for
	put    []uint64     // Merged.Changes as last put, by input
	heard  []bool       // a source has come, by input
	fault  error        // why nothing is received; or nil
	told   map[string]string
	since  clock.Time // when run began
}

const (
	// mostWatched is how many of the show's own universes are listened to for other
	// sources: their packets come back to this computer too.
	mostWatched = 64
	// silentAfter is after how long an input that has sent nothing counts as gone: the time
	// of E1.31-2018, 6.7.1. A show that goes on after a restart may still have its levels.
	silentAfter = 2500 * clock.Millisecond
	// expireEvery is how often lost sources are looked for.
	expireEvery = 100 * time.Millisecond
	// reopenAfter is after how many of these a receiver that failed is opened again.
	reopenAfter = 10
)

// newLevelInputs returns nil if there is nothing to receive.
func newLevelInputs(show *shows.Show, f *Options, own [16]byte, base clock.Base, log zerolog.Logger) *levelInputs {
	if !f.Inputs || f.Protocol == senders.Virtual || len(show.Inputs) == 0 && !f.Others {
		if f.Inputs && len(show.Inputs) > 0 {
			log.Info().Msg("inputs are not received: --protocol virtual uses no network")
		}
		return nil
	}
	l := &levelInputs{
		show: show, base: base, log: log, own: own, iface: cmp.Or(f.Interface, show.Outputs.SACN.Interface),
		put: make([]uint64, len(show.Inputs)), heard: make([]bool, len(show.Inputs)), told: map[string]string{},
	}
	var in, ours []uint16
	for i := range show.Inputs {
		in = append(in, show.Inputs[i].Universe)
		l.boxes = append(l.boxes, &engine.LevelBox{})
	}
	for i := range show.Outputs.Universes {
		if u := &show.Outputs.Universes[i]; u.Protocol == shows.SACN && f.Protocol != senders.ArtNet {
			ours = append(ours, uint16(u.Number))
		}
	}
	l.inputs = sacn.NewMerger(sacn.MergerConfig{Universes: append([]uint16{}, in...)})
	l.join = append(l.join, in...)
	switch {
	case len(ours) > mostWatched:
		log.Info().Int("universes", len(ours)).Int("at most", mostWatched).Msg("other sources of these universes are not listened for: they are too many")
	case len(ours) > 0:
		l.others = sacn.NewMerger(sacn.MergerConfig{Universes: ours})
		l.join = append(l.join, ours...)
	}
	return l
}

// levels returns where the loop finds the levels, by input.
func (l *levelInputs) levels() []*engine.LevelBox {
	if l == nil {
		return nil
	}
	return l.boxes
}

// run receives until ctx ends. A receiver that cannot be opened, or ends, is opened
// again after a second.
func (l *levelInputs) run(ctx context.Context) {
	tick := time.NewTicker(expireEvery)
	defer tick.Stop()
	l.since = l.base.Now()
	var ended chan struct{} // nil: no receiver runs
	for wait := 0; ; {
		if ended == nil && wait == 0 {
			ended, wait = l.open(ctx), reopenAfter
		}
		select {
		case <-ctx.Done():
			if ended != nil {
				<-ended
			}
			return
		case <-ended:
			ended = nil
		case <-tick.C:
			wait = max(0, wait-1)
			l.expire()
		}
	}
}

// open starts a receiver, and returns a channel that is closed at its end; nil if it
// cannot be opened.
func (l *levelInputs) open(ctx context.Context) chan struct{} {
	r, err := sacn.NewReceiver(sacn.ReceiverConfig{Interface: l.iface, Universes: l.join, Clock: l.base})
	l.mu.Lock()
	l.fault = err
	l.mu.Unlock()
	if err != nil {
		return nil
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		err := r.Run(ctx, l.take)
		l.mu.Lock()
		l.fault = err
		l.mu.Unlock()
	}()
	return ended
}

// take takes a packet.
func (l *levelInputs) take(p sacn.Packet) {
	if p.Data != nil && p.Data.CID == l.own {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if p.Data == nil || l.inputs.Universe(p.Data.Universe) != nil || l.isInput(p.Data.Universe) {
		l.inputs.Add(p)
		l.putChanges()
	}
	if l.others != nil && (p.Data == nil || !l.isInput(p.Data.Universe)) {
		l.others.Add(p)
	}
}

func (l *levelInputs) isInput(universe uint16) bool {
	for i := range l.show.Inputs {
		if l.show.Inputs[i].Universe == universe {
			return true
		}
	}
	return false
}

// expire drops sources that are lost.
func (l *levelInputs) expire() {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.base.Now()
	l.inputs.Expire(now)
	if l.others != nil {
		l.others.Expire(now)
	}
	l.putChanges()
	if now-l.since < silentAfter {
		return
	}
	for i := range l.boxes {
		if l.put[i] == 0 && !l.heard[i] {
			l.put[i] = noChange // once
			l.boxes[i].Put(false, nil)
		}
	}
}

// noChange is no value of Merged.Changes.
const noChange = ^uint64(0)

// putChanges leaves for the loop what has changed.
func (l *levelInputs) putChanges() {
	for i := range l.boxes {
		u := l.inputs.Universe(l.show.Inputs[i].Universe)
		if u == nil || u.Changes == l.put[i] {
			continue
		}
		l.put[i] = u.Changes
		l.heard[i] = l.heard[i] || u.Sources > 0
		l.boxes[i].Put(u.Sources > 0, &u.Levels)
	}
}

// sourceState is what there is to say of an input or of a universe.
type sourceState struct {
	key   string
	words string
	bad   bool
}

// states describes each input, and each of the show's own universes that has another
// source.
func (l *levelInputs) states() (list []sourceState) {
	if l == nil {
		return nil
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.fault != nil {
		list = append(list, sourceState{"receiver", "inputs are not received, tried again every second: " + l.fault.Error(), true})
	}
	for i := range l.show.Inputs {
		in := &l.show.Inputs[i]
		s := sourceState{key: "input " + in.Name}
		switch u := l.inputs.Universe(in.Universe); {
		case u != nil && u.Sources > 0:
			s.words = fmt.Sprintf("input %s: %s", in.Label(), sourcesText(l.inputs, u))
		case !l.heard[i]:
			s.words = fmt.Sprintf("input %s: nothing has come yet", in.Label())
		default:
			s.bad = true
			s.words = fmt.Sprintf("input %s: its source is gone; its last levels are released", in.Label())
			if i < len(l.show.Program.LevelInputs) && l.show.Program.LevelInputs[i].Hold {
				s.words = fmt.Sprintf("input %s: its source is gone; its last levels are held", in.Label())
			}
		}
		list = append(list, s)
	}
	if l.others == nil {
		return list
	}
	for i := range l.show.Outputs.Universes {
		o := &l.show.Outputs.Universes[i]
		if o.Protocol != shows.SACN {
			continue
		}
		u := l.others.Universe(uint16(o.Number))
		if u == nil || u.Sources == 0 || u.Priority < o.Priority {
			continue // receivers follow this run
		}
		s := sourceState{key: "universe " + o.Name, bad: true}
		if s.words = fmt.Sprintf("universe %s: %s, ours %d: the lamps follow it", o.Label(), sourcesText(l.others, u), o.Priority); u.Priority == o.Priority {
			s.words = fmt.Sprintf("universe %s: %s, the same as ours: receivers take the highest level of each slot, or either source", o.Label(), sourcesText(l.others, u))
		}
		list = append(list, s)
	}
	return list
}

// sourcesText names the source in control of a universe.
func sourcesText(m *sacn.Merger, u *sacn.Merged) string {
	for _, c := range m.Controls() {
		if c.Universe != u.Universe || c.Role != sacn.InControl && c.Role != sacn.Shares {
			continue
		}
		text := fmt.Sprintf("%q at %s has priority %d", plain(c.Name.String()), c.From.Addr(), c.Priority)
		if u.Sources > 1 {
			text = fmt.Sprintf("%q at %s and %d more have priority %d", plain(c.Name.String()), c.From.Addr(), u.Sources-1, c.Priority)
		}
		return text
	}
	return "no source"
}

// plain replaces what does not print: names come from the network.
func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsGraphic(r) {
			return r
		}
		return unicode.ReplacementChar
	}, name)
}

// report logs what has changed since the last time.
func (l *levelInputs) report() {
	if l == nil {
		return
	}
	now := map[string]string{}
	for _, s := range l.states() {
		now[s.key] = s.words
		if l.told[s.key] == s.words {
			continue
		}
		if s.bad {
			l.log.Warn().Msg(s.words)
		} else {
			l.log.Info().Msg(s.words)
		}
	}
	for key := range l.told {
		if _, still := now[key]; still {
			continue
		}
		if key == "receiver" {
			l.log.Info().Msg("inputs are received again")
		} else {
			l.log.Info().Msgf("%s: no other source at our priority or above any more; the lamps follow us", key)
		}
	}
	l.told = now
}

// lines returns the states for the page and the health line.
func (l *levelInputs) lines() (list []string) {
	for _, s := range l.states() {
		list = append(list, s.words)
	}
	return list
}
