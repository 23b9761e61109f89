package live

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

// Session is a show being played: ports in, the loop, outputs out.
type Session struct {
	Show   *shows.Show // that is played
	log    zerolog.Logger
	Base   clock.Base // of every time in it
	inbox  *midi.Inbox
	ports  []midi.Port
	turns  Translator
	Input  chan engine.Input // what the loop is asked for; a full one means that it does not keep up
	wire   senders.Set
	loop   *engine.Loop
	beside *messages     // what cues send goes there; or nil
	remote *remote       // OSC in; or nil
	page   *page         // for browsers; or nil
	player setPlayer     // that plays the set in a rehearsal; or nil
	walker panel.Walker  // that walks the rig; or nil
	book   portBook      // how the MIDI inputs do
	Ended  chan struct{} // closed when a MIDI file has been played
	lead   clock.Time
	health time.Duration
	watch  func(context.Context)                               // looks at the show's files; or nil
	taking func(ctx context.Context, from <-chan midi.Message) // what MIDI asks for; until ctx ends
	Timer  *realtime.Thread                                    // nil: the loop's own timer, on any thread
	record *journalFile                                        // nil: nothing is recorded
}

// Sizes of the queues on the way in: seconds of the densest music.
const (
	inboxSize = 1024
	inputSize = 512
)

// New opens everything that the show and the flags ask for. Nothing is
// sent before run.
func New(show *shows.Show, f *Options, log zerolog.Logger) (*Session, error) {
	s := &Session{
		Show: show, log: log, Base: clock.NewBase(), health: f.Health,
		Input: make(chan engine.Input, inputSize), Ended: make(chan struct{}),
		lead: clock.Time(f.Lead),
	}
	leads, most := senders.LeadsOf(&show.Outputs)
	s.lead += most
	if s.lead > shows.MostLead {
		return nil, usage.Errorf("--lead %s and the %s of a universe are more than %s together", f.Lead, time.Duration(most), time.Duration(shows.MostLead))
	}
	free, err := freeGrid(f.Grid, show.Outputs.Free)
	if err != nil {
		return nil, err
	}
	s.inbox = midi.NewInbox(s.Base, inboxSize, s.inputChanged)
	s.turns.heard, s.turns.ticks = s.book.heard, f.Ticks
	s.taking = func(ctx context.Context, from <-chan midi.Message) { s.turns.pump(ctx, from, s.Input) }
	s.turns.Notes, s.turns.revisions = &show.Program.Notes, make(chan *engine.Reload)
	leading, err := leadOf(f.Clock, show.Clock)
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
		Base: s.Base, Input: s.Input, Outputs: s.wire.List,
		Lead: clock.Time(f.Lead), Leads: leads, Free: free, Rise: clock.Time(f.Rise), Goodbye: goodbye, Dark: longestGap(&show.Outputs),
		Wait: s.waiting(f), Messages: s.sends(),
	})
	s.startAlone(leading)
	return s, nil
}

// openRecord begins the journal that was asked for, if one was.
func (s *Session) openRecord(f *Options, ticking clock.Config) (*engine.Journal, error) {
	if f.Journal == "" {
		return nil, nil
	}
	content, err := showfiles.Content(f.Name)
	if err != nil {
		return nil, err
	}
	s.record, err = openJournal(f.Journal, &journal.Header{
		Show: f.Name, Content: content, Set: f.Set, Program: f.Program, Started: s.Base.Wall(0), Clock: ticking, Lead: s.lead,
		To: f.To, Interface: f.Interface, Protocol: f.Protocol, CID: s.wire.CID,
	}, s.log)
	if err != nil {
		return nil, err
	}
	return s.record.Journal, nil
}

// startAlone plays without waiting for a DAW's start: the first song of the set
// with the internal clock; with taps what a note or program change chooses.
func (s *Session) startAlone(leading clock.Lead) {
	if leading == clock.LeadInternal {
		s.Input <- engine.Input{Command: engine.Command{Kind: engine.NextSong}}
	}
	if leading == clock.LeadInternal || leading == clock.LeadTap {
		s.Input <- engine.Input{Event: clock.Event{At: s.Base.Now(), Kind: clock.Start}}
	}
}

// waiting returns what waits for a frame; nil is the loop's timer.
func (s *Session) waiting(f *Options) func(clock.Time) {
	if !f.Exact {
		return nil
	}
	s.Timer = realtime.NewThread(s.Base, f.RealTime, s.log)
	if f.Probe == nil {
		return s.Timer.Sleeper.Wait
	}
	return func(until clock.Time) {
		f.Probe.Asleep(s.Base.Now())
		s.Timer.Sleeper.Wait(until)
		f.Probe.Woke(until, s.Base.Now())
	}
}

// runLoop runs the loop where it wakes best.
func (s *Session) runLoop(ctx context.Context) error {
	run := func() error { return s.loop.Run(ctx) }
	if s.Timer == nil {
		return run()
	}
	return s.Timer.Run(run)
}

// Run plays until ctx ends; then the outputs have said goodbye.
func (s *Session) Run(ctx context.Context) error {
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
		group.Go(func() { files.Wait(); close(s.Ended) })
	}
	err := s.runLoop(ctx)
	cancel()
	group.Wait()
	s.record.close()
	return err
}

// Announce logs what is played and where it goes.
func (s *Session) Announce() {
	p := s.Show.Program
	s.log.Info().Str("show", p.Name).Str("set", p.SetName).Int("songs", len(p.SetList)).Int("heads", len(p.Heads)).Msg("playing")
	for _, line := range s.Describe() {
		s.log.Info().Msg(line)
	}
	for i, port := range s.ports {
		s.log.Info().Str("port", port.Name()).Str("clock", strconv.FormatBool(i == 0)).Msg("MIDI in")
	}
	if len(s.ports) == 0 {
		s.log.Warn().Msg("no --midi: the walk-in look stays; --clock internal plays the first song of the set")
	}
}

// Describe says where the light goes, a line each.
func (s *Session) Describe() []string {
	if len(s.wire.List) == 0 {
		return []string{"virtual: nothing leaves this computer"}
	}
	return s.wire.Describe
}

// Reachable reports whether anything but a keyboard can ask for something.
func (s *Session) Reachable() bool { return len(s.ports) > 0 || s.page != nil }

// StartWith replaces what the session was to start with.
func (s *Session) StartWith(inputs ...engine.Input) {
	for len(s.Input) > 0 {
		<-s.Input
	}
	for _, in := range inputs {
		s.Input <- in
	}
}

// TakeMIDI lets take have the messages of the inputs until its ctx ends. Without
// it they drive the show.
func (s *Session) TakeMIDI(take func(ctx context.Context, from <-chan midi.Message)) { s.taking = take }

// PlayedBy lets the set be played by p, beside what comes in.
func (s *Session) PlayedBy(p setPlayer) { s.player = p }

// WalkedBy lets a page ask w.
func (s *Session) WalkedBy(w panel.Walker) { s.walker = w }

// Snapshot copies how the show stands. It waits for nobody.
func (s *Session) Snapshot(to *engine.Snapshot) { s.loop.Snapshot(to) }
