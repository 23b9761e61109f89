package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/clock/inwords"
	"tactus/cmd/tactus/realtime"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/panel"
	"tactus/protocol/dmx"
	"tactus/protocol/midi"
	"tactus/shows"
	"tactus/shows/smf"
)

// session is a show being played: ports in, the loop, outputs out.
type session struct {
	show   *shows.Show
	log    zerolog.Logger
	base   clock.Base
	inbox  *midi.Inbox
	ports  []midi.Port
	turns  translator
	input  chan engine.Input
	wire   senders.Set
	loop   *engine.Loop
	beside *messages     // what cues send goes there; or nil
	remote *remote       // OSC in; or nil
	page   *page         // for browsers; or nil
	player *player       // that plays the set in a rehearsal; or nil
	walker panel.Walker  // that walks the rig; or nil
	book   portBook      // how the MIDI inputs do
	ended  chan struct{} // closed when a MIDI file has been played
	lead   clock.Time
	health time.Duration
	watch  func(context.Context) // looks at the show's files; or nil
	timer  *realtime.Thread      // nil: the loop's own timer, on any thread
	record *journalFile          // nil: nothing is recorded
}

// Sizes of the queues on the way in: seconds of the densest music.
const (
	inboxSize = 1024
	inputSize = 512
)

// newSession opens everything that the show and the flags ask for. Nothing is
// sent before run.
func newSession(show *shows.Show, f *liveFlags, log zerolog.Logger) (*session, error) {
	s := &session{
		show: show, log: log, base: clock.NewBase(), health: f.health,
		input: make(chan engine.Input, inputSize), ended: make(chan struct{}),
		lead: clock.Time(f.lead),
	}
	leads, most := senders.LeadsOf(&show.Outputs)
	s.lead += most
	if s.lead > shows.MostLead {
		return nil, usage.Errorf("--lead %s and the %s of a universe are more than %s together", f.lead, time.Duration(most), time.Duration(shows.MostLead))
	}
	free, err := freeGrid(f.grid, show.Outputs.Free)
	if err != nil {
		return nil, err
	}
	s.inbox = midi.NewInbox(s.base, inboxSize, s.inputChanged)
	s.turns.heard = s.book.heard
	s.turns.notes, s.turns.revisions = &show.Program.Notes, make(chan *engine.Revision)
	leading, err := leadOf(f.clock, show.Clock)
	if err != nil {
		return nil, err
	}
	if err := s.openPorts(f); err != nil {
		return nil, err
	}
	if s.wire, err = senders.Open(&show.Outputs, &f.Options, log); err != nil {
		return nil, err
	}
	if err := s.openBeside(f); err != nil {
		s.wire.Close()
		return nil, err
	}
	goodbye := clock.Time(0)
	if len(s.wire.List) > 0 && show.Outputs.Exit.Rule == shows.ExitFade {
		goodbye = show.Outputs.Exit.Over
	}
	ticking := clock.Config{Internal: firstTempo(show.Program), Lead: leading, Ahead: s.lead + 50*clock.Millisecond}
	recorded, err := s.openRecord(f, ticking)
	if err != nil {
		s.wire.Close()
		return nil, err
	}
	s.loop = engine.NewLoop(engine.LoopConfig{
		Engine: engine.New(show.Program), Clock: clock.NewTransport(ticking), Journal: recorded,
		Base: s.base, Input: s.input, Outputs: s.wire.List,
		Lead: clock.Time(f.lead), Leads: leads, Free: free, Rise: clock.Time(f.rise), Goodbye: goodbye, Dark: longestGap(&show.Outputs),
		Wait: s.waiting(f), Messages: s.sends(),
	})
	s.startAlone(leading)
	return s, nil
}

// openRecord begins the journal that was asked for, if one was.
func (s *session) openRecord(f *liveFlags, ticking clock.Config) (*engine.Journal, error) {
	if f.journal == "" {
		return nil, nil
	}
	content, err := showfiles.Content(f.name)
	if err != nil {
		return nil, err
	}
	s.record, err = openJournal(f.journal, &journal.Header{
		Show: f.name, Content: content, Set: f.set, Program: programName(), Started: s.base.Wall(0), Clock: ticking, Lead: s.lead,
		To: f.To, Interface: f.Interface, Protocol: f.Protocol, CID: s.wire.CID,
	}, s.log)
	if err != nil {
		return nil, err
	}
	return s.record.Journal, nil
}

// startAlone plays without waiting for a DAW's start: the first song of the set
// with the internal clock; with taps what a note or program change chooses.
func (s *session) startAlone(leading clock.Lead) {
	if leading == clock.LeadInternal {
		s.input <- engine.Input{Command: engine.Command{Kind: engine.NextSong}}
	}
	if leading == clock.LeadInternal || leading == clock.LeadTap {
		s.input <- engine.Input{Event: clock.Event{At: s.base.Now(), Kind: clock.Start}}
	}
}

// waiting returns what waits for a frame; nil is the loop's timer.
func (s *session) waiting(f *liveFlags) func(clock.Time) {
	if !f.exact {
		return nil
	}
	s.timer = realtime.NewThread(s.base, f.realTime, s.log)
	if f.probe == nil {
		return s.timer.Sleeper.Wait
	}
	return func(until clock.Time) {
		f.probe.Asleep(s.base.Now())
		s.timer.Sleeper.Wait(until)
		f.probe.Woke(until, s.base.Now())
	}
}

// runLoop runs the loop where it wakes best.
func (s *session) runLoop(ctx context.Context) error {
	run := func() error { return s.loop.Run(ctx) }
	if s.timer == nil {
		return run()
	}
	return s.timer.Run(run)
}

// longestGap returns how long a frame may wait to be sent by the universe with
// the fewest a second: its period and one of the loop's.
func longestGap(o *shows.Outputs) clock.Time {
	gap := clock.Time(0)
	for _, u := range o.Universes {
		if u.Protocol != shows.Virtual && u.Rate > 0 && u.Rate < dmx.MaxRate {
			gap = max(gap, clock.Second/clock.Time(u.Rate)+clock.Second/dmx.MaxRate)
		}
	}
	return gap
}

// leadOf returns who leads: what --clock says, else the show, which may leave
// sources out.
func leadOf(name string, s shows.Sources) (clock.Lead, error) {
	switch name {
	case "":
		switch {
		case s.MIDI && !s.Tap && !s.Internal:
			return clock.LeadMIDI, nil
		case !s.MIDI && s.Tap:
			return clock.LeadTap, nil
		case !s.MIDI && s.Internal:
			return clock.LeadInternal, nil
		}
		return clock.LeadAuto, nil
	case "auto":
		return clock.LeadAuto, nil
	case "midi":
		return clock.LeadMIDI, nil
	case "tap":
		return clock.LeadTap, nil
	case "internal":
		return clock.LeadInternal, nil
	}
	return 0, usage.Errorf("--clock %q: want auto, midi, tap or internal", name)
}

func firstTempo(p *engine.Program) clock.Tempo {
	if len(p.SetList) == 0 {
		return clock.BPM(120)
	}
	return p.Songs[p.SetList[0]].Tempo
}

// openPorts opens what --midi names. The first of them is the clock's.
func (s *session) openPorts(f *liveFlags) error {
	for i, spec := range f.midi {
		if slices.Contains(f.midi[:i], spec) {
			return usage.Errorf("--midi %q is given twice: each would get a part of what is sent", spec)
		}
		port, err := s.openPort(spec, uint8(i), f.repeat)
		if err != nil {
			return err
		}
		s.ports = append(s.ports, port)
	}
	return nil
}

func (s *session) openPort(spec string, number uint8, repeat bool) (midi.Port, error) {
	o := midi.Options{Number: number, Loop: repeat, Preroll: 4}
	switch spec {
	case "demo":
		o.FS = shows.Demo()
		return midi.Open("file:"+shows.DemoMIDI, o)
	case "plan":
		src, err := smf.Write(s.show.Program)
		if err != nil {
			return nil, err
		}
		return midi.NewFilePort("plan", src, o)
	}
	return midi.Open(spec, o)
}

// inputChanged notes that an input came or went, and logs it.
func (s *session) inputChanged(st midi.Status) {
	s.book.changed(st)
	s.portChanged(st)
}

// portChanged logs a port that came or went.
func (s *session) portChanged(st midi.Status) {
	if st.Up {
		s.log.Info().Str("port", st.Port).Msg("MIDI port open")
		return
	}
	s.log.Warn().Str("port", st.Port).Err(st.Err).Msg("MIDI port lost; the tempo carries on, and the port is tried again")
}

// run plays until ctx ends; then the outputs have said goodbye.
func (s *session) run(ctx context.Context) error {
	defer s.wire.Close()
	side, cancel := context.WithCancel(context.Background())
	var group sync.WaitGroup
	group.Go(func() { s.turns.pump(side, s.inbox.Messages(), s.input) })
	group.Go(func() { s.watchHealth(side) })
	if s.watch != nil {
		group.Go(func() { s.watch(side) })
	}
	s.runBeside(side, &group)
	s.runRehearsal(side, &group)
	var files sync.WaitGroup
	for _, p := range s.ports {
		files.Add(1)
		group.Go(func() {
			defer files.Done()
			if err := p.Run(side, s.inbox); err != nil && !errors.Is(err, context.Canceled) {
				s.log.Error().Str("port", p.Name()).Err(err).Msg("MIDI port given up")
			}
		})
	}
	if len(s.ports) > 0 {
		group.Go(func() { files.Wait(); close(s.ended) })
	}
	err := s.runLoop(ctx)
	cancel()
	group.Wait()
	s.record.close()
	return err
}

// watchHealth prints a line now and then, and every new trouble within a
// second.
func (s *session) watchHealth(ctx context.Context) {
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	var snap engine.Snapshot
	var last report
	var heard hearing
	var worst clock.Time
	for n := 1; ; n++ {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		s.loop.Snapshot(&snap)
		worst = max(worst, snap.Health.WorstAt)
		last = s.trouble(&snap, last)
		heard.look(&snap, s.log)
		s.tellBeside()
		if every := int((s.health + time.Second - 1) / time.Second); every > 0 && n%every == 0 {
			s.healthLine(&snap, worst)
			worst = 0
		}
	}
}

// report is what has been told of trouble.
type report struct {
	missed, errors, unknown, lost, dropped uint64
	softened                               clock.Time
	sync                                   clock.Sync
	failing                                bool
}

// trouble logs what is new since the last report.
func (s *session) trouble(snap *engine.Snapshot, last report) report {
	now := report{
		missed: snap.Health.Missed, errors: snap.Health.Errors, unknown: snap.Status.Unknown, lost: snap.Status.Lost,
		softened: snap.Status.Flash.Last(),
		dropped:  s.inbox.Dropped() + s.turns.dropped.Load(),
		sync:     snap.Pos.Sync, failing: snap.Health.LastErr != nil,
	}
	if now.missed > last.missed {
		s.log.Warn().Uint64("frames", now.missed-last.missed).Msg("frames missed: this computer was too busy")
	}
	if now.failing {
		s.log.Error().Err(snap.Health.LastErr).Uint64("errors", now.errors).Msg("output failing; it is tried again with every frame")
	} else if last.failing {
		s.log.Info().Msg("output works again")
	}
	if now.unknown > last.unknown {
		s.log.Warn().Uint64("count", now.unknown-last.unknown).Msg("MIDI asked for a section, song or look that the show lacks; the light stays")
	}
	if f := &snap.Status.Flash; now.softened > last.softened {
		s.log.Warn().Stringer("kind", f.Kind).Msg(flashWords(f))
	}
	if now.lost > last.lost {
		s.log.Warn().Uint64("count", now.lost-last.lost).Msg("what was playing, armed or held is no longer in the show's files; the light stays")
	}
	if now.dropped > last.dropped {
		s.record.note(&engine.Record{Kind: engine.Dropped, At: s.base.Now(), Count: now.dropped - last.dropped})
		s.log.Warn().Uint64("messages", now.dropped-last.dropped).Msg("MIDI came faster than it could be used")
	}
	if now.sync != last.sync {
		s.log.Info().Stringer("from", last.sync).Stringer("to", now.sync).Stringer("source", snap.Pos.Source).Msg("clock")
	}
	return now
}

func (s *session) healthLine(snap *engine.Snapshot, worst clock.Time) {
	e := s.log.Info().
		Uint64("frames", snap.Health.Frames).
		Uint64("missed", snap.Health.Missed).
		Float64("worst_late_ms", math.Round(float64(worst)/float64(clock.Millisecond/10))/10).
		Uint64("send_errors", snap.Health.Errors).
		Stringer("clock", snap.Pos.Source).
		Stringer("sync", snap.Pos.Sync).
		Str("comes", string(inwords.Append(nil, &snap.Health.Arrivals, &snap.Pos))).
		Str("place", place(snap.Program, snap))
	for _, line := range s.wire.Nodes(s.base.Now()) {
		e = e.Str("node", line)
	}
	e.Msg("health")
}

// flashWords says what the flash limiter holds back.
func flashWords(f *engine.Softening) string {
	return fmt.Sprintf("flash limiter acts: %s, %.3g a second asked, %.3g let through", f.Area, f.Asked, f.Let)
}

// announce logs what is played and where it goes.
func (s *session) announce() {
	p := s.show.Program
	s.log.Info().Str("show", p.Name).Str("set", p.SetName).Int("songs", len(p.SetList)).Int("heads", len(p.Heads)).Msg("playing")
	for _, line := range s.wire.Describe {
		s.log.Info().Msg(line)
	}
	if len(s.wire.List) == 0 {
		s.log.Info().Msg("virtual: nothing leaves this computer")
	}
	for i, port := range s.ports {
		s.log.Info().Str("port", port.Name()).Str("clock", strconv.FormatBool(i == 0)).Msg("MIDI in")
	}
	if len(s.ports) == 0 {
		s.log.Warn().Msg("no --midi: the walk-in look stays; --clock internal plays the first song of the set")
	}
}

// freeGrid returns how frames are laid: what --grid says, else the show.
func freeGrid(name string, show bool) (bool, error) {
	switch name {
	case "":
		return show, nil
	case "beat":
		return false, nil
	case "free":
		return true, nil
	}
	return false, usage.Errorf("--grid %q: want beat or free", name)
}
