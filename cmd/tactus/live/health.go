package live

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/engine"
)

// watchHealth logs a line of health now and then, new trouble within a second, and
// outputs that fail within a quarter of a second.
func (s *Session) watchHealth(ctx context.Context) {
	tick := time.NewTicker(time.Second / outputLooks)
	defer tick.Stop()
	var snap engine.Snapshot
	var last troubles
	var outputs outputLog
	var heard clockLog
	var programs programLog
	var worst clock.Time
	for n := 1; ; n++ {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		s.loop.Snapshot(&snap)
		if n == 1 && s.kept.resumed() {
			last.missed = snap.Health.Missed // of the run before and the time between
		}
		outputs.update(&snap, s.outputs.LinkFaults(), s.log)
		if n%outputLooks != 0 {
			continue
		}
		worst = max(worst, snap.Health.WorstAt)
		last = s.logTrouble(&snap, last)
		heard.update(&snap, s.log)
		programs.update(&snap, s.log)
		s.reportMessages()
		if every := int((s.healthInterval + time.Second - 1) / time.Second); every > 0 && n/outputLooks%every == 0 {
			s.healthLine(&snap, worst)
			worst = 0
		}
	}
}

// troubles is what has been logged of trouble.
type troubles struct {
	missed, unknown, lost, dropped uint64
	softened                       clock.Time
	sync                           clock.Sync
}

// logTrouble logs what is new since the last report.
func (s *Session) logTrouble(snap *engine.Snapshot, last troubles) troubles {
	now := troubles{
		missed: snap.Health.Missed, unknown: snap.Status.Unknown, lost: snap.Status.Lost,
		softened: snap.Status.Limiter.Last(),
		dropped:  s.droppedMIDI(),
		sync:     snap.Pos.Sync,
	}
	if now.missed > last.missed {
		s.log.Warn().Uint64("frames", now.missed-last.missed).Msg("frames missed: this computer was too busy")
	}
	if now.unknown > last.unknown {
		s.log.Warn().Uint64("count", now.unknown-last.unknown).Msg("a section, song or look was asked for that the show does not have; the light stays")
	}
	if f := &snap.Status.Limiter; now.softened > last.softened {
		s.log.Warn().Stringer("kind", f.Kind).Msg(flashText(f))
	}
	if now.lost > last.lost {
		s.log.Warn().Uint64("count", now.lost-last.lost).Msg("what was playing, armed or held is no longer in the show's files; the light stays")
	}
	if now.dropped > last.dropped {
		s.journal.addRecord(&engine.Record{Kind: engine.RecordDropped, At: s.base.Now(), Count: now.dropped - last.dropped})
		s.log.Warn().Uint64("messages", now.dropped-last.dropped).Msg("MIDI came faster than it could be used")
	}
	if now.sync != last.sync {
		s.log.Info().Stringer("from", last.sync).Stringer("to", now.sync).Stringer("source", snap.Pos.Source).Msg("clock")
	}
	return now
}

// droppedMIDI returns how many messages came faster than they could be used.
func (s *Session) droppedMIDI() uint64 {
	n := s.inbox.Dropped() + s.translator.dropped.Load()
	if s.pads != s.inbox {
		n += s.pads.Dropped()
	}
	return n
}

func (s *Session) healthLine(snap *engine.Snapshot, worst clock.Time) {
	e := s.log.Info().
		Uint64("frames", snap.Health.Frames).
		Uint64("missed", snap.Health.Missed).
		Float64("worst_late_ms", math.Round(float64(worst)/float64(clock.Millisecond/10))/10).
		Uint64("send_errors", snap.Health.Errors).
		Stringer("clock", snap.Pos.Source).
		Stringer("sync", snap.Pos.Sync).
		Str("comes", string(inwords.Append(nil, &snap.Health.Arrivals, &snap.Pos))).
		Str("place", placeText(snap.Program, snap))
	if lines := s.levelInputs.lines(); len(lines) > 0 {
		e = e.Str("inputs", strings.Join(lines, "; "))
	}
	addNodes(e, s.outputs.Nodes(s.base.Now())).Msg("health")
}

// addNodes adds the Art-Net nodes to a line of the log, all under one key: of a key that
// repeats a reader of JSON and the console show one.
func addNodes(e *zerolog.Event, nodes []string) *zerolog.Event {
	if len(nodes) == 0 {
		return e
	}
	return e.Strs("nodes", nodes)
}

// flashText says which flashes the limiter holds back.
func flashText(f *engine.LimiterStatus) string {
	return fmt.Sprintf("flash limiter acts: %s, %.3g a second asked, %.3g let through", f.Area, f.Wanted, f.LetThrough)
}
