package main

import (
	"context"
	"errors"
	"strconv"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"tactus/clock"
	"tactus/cmd/tactus/realtime"
	"tactus/cmd/tactus/senders"
	"tactus/cmd/tactus/showfiles"
	"tactus/cmd/tactus/usage"
	"tactus/engine"
	"tactus/engine/journal"
	"tactus/panel"
	"tactus/protocol/midi"
	"tactus/shows"
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
	player setPlayer     // that plays the set in a rehearsal; or nil
	walker panel.Walker  // that walks the rig; or nil
	book   portBook      // how the MIDI inputs do
	ended  chan struct{} // closed when a MIDI file has been played
	lead   clock.Time
	health time.Duration
	watch  func(context.Context)                               // looks at the show's files; or nil
	taking func(ctx context.Context, from <-chan midi.Message) // what MIDI asks for; until ctx ends
	timer  *realtime.Thread                                    // nil: the loop's own timer, on any thread
	record *journalFile                                        // nil: nothing is recorded
}

// Sizes of the queues on the way in: seconds of the densest music.
const (
	inboxSize = 1024
	inputSize = 512
)

// newSession opens everything that the show and the flags ask for. Nothing is
// sent before run.
func newSession(show *shows.Show, f *sessionOptions, log zerolog.Logger) (*session, error) {
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
	s.turns.heard, s.turns.ticks = s.book.heard, f.ticks
	s.taking = func(ctx context.Context, from <-chan midi.Message) { s.turns.pump(ctx, from, s.input) }
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
func (s *session) openRecord(f *sessionOptions, ticking clock.Config) (*engine.Journal, error) {
	if f.journal == "" {
		return nil, nil
	}
	content, err := showfiles.Content(f.name)
	if err != nil {
		return nil, err
	}
	s.record, err = openJournal(f.journal, &journal.Header{
		Show: f.name, Content: content, Set: f.set, Program: f.program, Started: s.base.Wall(0), Clock: ticking, Lead: s.lead,
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
func (s *session) waiting(f *sessionOptions) func(clock.Time) {
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

// run plays until ctx ends; then the outputs have said goodbye.
func (s *session) run(ctx context.Context) error {
	defer s.wire.Close()
	side, cancel := context.WithCancel(context.Background())
	var group sync.WaitGroup
	group.Go(func() { s.taking(side, s.inbox.Messages()) })
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

// announce logs what is played and where it goes.
func (s *session) announce() {
	p := s.show.Program
	s.log.Info().Str("show", p.Name).Str("set", p.SetName).Int("songs", len(p.SetList)).Int("heads", len(p.Heads)).Msg("playing")
	for _, line := range s.describe() {
		s.log.Info().Msg(line)
	}
	for i, port := range s.ports {
		s.log.Info().Str("port", port.Name()).Str("clock", strconv.FormatBool(i == 0)).Msg("MIDI in")
	}
	if len(s.ports) == 0 {
		s.log.Warn().Msg("no --midi: the walk-in look stays; --clock internal plays the first song of the set")
	}
}

// describe says where the light goes, a line each.
func (s *session) describe() []string {
	if len(s.wire.List) == 0 {
		return []string{"virtual: nothing leaves this computer"}
	}
	return s.wire.Describe
}

// reachable reports whether anything but a keyboard can ask for something.
func (s *session) reachable() bool { return len(s.ports) > 0 || s.page != nil }

// startWith replaces what the session was to start with.
func (s *session) startWith(inputs ...engine.Input) {
	for len(s.input) > 0 {
		<-s.input
	}
	for _, in := range inputs {
		s.input <- in
	}
}

// takeMIDI lets take have the messages of the inputs until its ctx ends. Without
// it they drive the show.
func (s *session) takeMIDI(take func(ctx context.Context, from <-chan midi.Message)) { s.taking = take }

// playedBy lets the set be played by p, beside what comes in.
func (s *session) playedBy(p setPlayer) { s.player = p }

// walkedBy lets a page ask w.
func (s *session) walkedBy(w panel.Walker) { s.walker = w }

// snapshot copies how the show stands. It waits for nobody.
func (s *session) snapshot(to *engine.Snapshot) { s.loop.Snapshot(to) }
