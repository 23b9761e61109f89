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
	show           *shows.Show
	log            zerolog.Logger
	base           clock.Base  // of every time in it
	inbox          *midi.Inbox // of the port whose clock leads
	pads           *midi.Inbox // of the other ports
	ports          []midi.Port
	translator     Translator
	input          chan engine.Input // commands and events for the loop; full: the loop is too slow
	shares         shares            // of OSC and the page
	outputs        senders.Set
	loop           *engine.Loop
	messages       *messages     // sends the messages of cues; or nil
	oscInput       *oscInput     // OSC in; or nil
	levelInputs    *levelInputs  // universes that come in; or nil
	page           *page         // for browsers; or nil
	composer       *composer     // edits the show's files; or nil
	player         setPlayer     // plays the set in a rehearsal; or nil
	walker         panel.Walker  // walks the rig; or nil
	registry       portRegistry  // state of each MIDI input
	ended          chan struct{} // closed when a MIDI file or the set has been played
	lead           clock.Time
	healthInterval time.Duration
	watchFiles     func(context.Context)                               // reloads the show when its files change; or nil
	takeMIDI       func(ctx context.Context, from <-chan midi.Message) // turns messages into commands and events, until ctx ends
	timer          *realtime.Thread                                    // nil: the loop's own timer, on any thread
	journal        *journalFile                                        // nil: nothing is recorded
	kept           *Kept                                               // nil: the state is not kept
	partner        *partner                                            // another computer that stands by, or is followed; or nil
}

// Sizes of the queues on the way in: seconds of the densest music.
const (
	inboxSize = 1024
	inputSize = 512
)

// New opens everything that the show and the options ask for. Nothing is sent before
// Run.
func New(show *shows.Show, f *Options, log zerolog.Logger) (*Session, error) {
	s := &Session{
		show: show, log: log, base: f.base(), healthInterval: f.Health,
		input: make(chan engine.Input, inputSize), ended: make(chan struct{}),
		shares: newShares(), lead: clock.Time(f.Lead), kept: f.Kept,
	}
	s.partner = newPartner(s, f)
	leads, most := senders.LeadsOf(&show.Outputs)
	s.lead += most
	if s.lead > shows.MostLead {
		return nil, usage.Errorf("--lead %s and the %s of a universe are more than %s together", f.Lead, time.Duration(most), time.Duration(shows.MostLead))
	}
	free, err := gridIsFree(f.Grid, show.Outputs.Free)
	if err != nil {
		return nil, err
	}
	s.inbox, s.pads = midi.NewInbox(s.base, inboxSize, s.inputChanged), midi.NewInbox(s.base, inboxSize, s.inputChanged)
	s.translator.heard, s.translator.ticks = s.registry.received, f.Ticks
	s.takeMIDI = s.pump
	s.translator.Notes, s.translator.reloads = &show.Program.Notes, make(chan *engine.Reload)
	leading, err := leadSource(f.Clock, show.Clock)
	if err != nil {
		return nil, err
	}
	if err := s.openPorts(f); err != nil {
		return nil, err
	}
	if s.outputs, err = senders.Open(&show.Outputs, &f.Options, log); err != nil {
		return nil, err
	}
	if err := s.openMessages(f); err != nil {
		s.abandon()
		return nil, err
	}
	s.levelInputs = newLevelInputs(show, f, s.outputs.CID, s.base, log)
	clockConfig := f.ticking(clock.Config{Internal: firstTempo(show.Program), Lead: leading, Ahead: s.lead + 50*clock.Millisecond})
	frameJournal, err := s.openRecord(f, clockConfig)
	if err != nil {
		s.abandon()
		return nil, err
	}
	config := engine.LoopConfig{
		Engine: engine.New(show.Program), Clock: clock.NewTransport(clockConfig), Journal: frameJournal,
		Base: s.base, Input: s.input, Shares: s.shares.list(), Outputs: s.outputs.List,
		Lead: clock.Time(f.Lead), Leads: leads, Free: free, Rise: clock.Time(f.Rise), Goodbye: s.exitFade(), Dark: longestGap(&show.Outputs),
		Wait: s.waiting(f), Messages: s.sends(), Levels: s.levelInputs.levels(),
	}
	s.kept.keepIn(&config)
	s.partner.joinLoop(&config)
	s.loop = engine.NewLoop(config)
	if !s.kept.resumed() && !f.Follows {
		s.startAlone(leading)
	}
	if err := s.partner.open(f, clockConfig); err != nil {
		s.abandon()
		return nil, err
	}
	return s, nil
}

// abandon closes what is open of a session that is not run.
func (s *Session) abandon() {
	if s.composer != nil {
		s.composer.end()
	}
	s.outputs.Close()
	if s.messages != nil && s.messages.osc != nil {
		s.messages.osc.Close()
	}
	if s.oscInput != nil {
		s.oscInput.receiver.Close()
	}
	s.journal.close()
}

// exitFade returns how long the light fades at the end.
func (s *Session) exitFade() clock.Time {
	if exit := s.show.Outputs.Exit; len(s.outputs.List) > 0 && exit.Rule == shows.ExitFade {
		return exit.Over
	}
	return 0
}

// pump gives the messages of the clock's port, and those of the others, to the show.
func (s *Session) pump(ctx context.Context, from <-chan midi.Message) {
	s.translator.pump(ctx, from, s.pads.Messages(), s.input, s.shares.pads)
}

// openRecord begins the journal that was asked for, if one was.
func (s *Session) openRecord(f *Options, ticking clock.Config) (*engine.Journal, error) {
	if f.Journal == "" {
		return nil, nil
	}
	content, err := showfiles.Content(f.Name)
	if err != nil && !s.kept.resumed() {
		return nil, err
	}
	h := &journal.Header{
		Show: f.Name, Content: content, Set: f.Set, Program: f.Program, Started: s.base.Wall(0), Clock: ticking, Lead: s.lead,
		To: f.To, Interface: f.Interface, Protocol: f.Protocol, CID: s.outputs.CID,
	}
	if s.kept.resumed() {
		s.kept.journalHeader(h)
	}
	s.journal, err = openJournal(f.Journal, h, s.log)
	if err != nil {
		return nil, err
	}
	return s.journal.Journal, nil
}

// startAlone plays without waiting for a DAW's start: the first song of the set
// with the internal clock; with taps what a note or program change chooses.
func (s *Session) startAlone(leading clock.Lead) {
	if leading == clock.LeadInternal {
		s.input <- engine.Input{Command: engine.Command{Kind: engine.NextSong}}
	}
	if leading == clock.LeadInternal || leading == clock.LeadTap {
		s.input <- engine.Input{Event: clock.Event{At: s.base.Now(), Kind: clock.Start}}
	}
}

// waiting returns what waits for a frame; nil: the loop's own timer.
func (s *Session) waiting(f *Options) func(clock.Time) {
	if !f.Exact {
		return nil
	}
	s.timer = realtime.NewThread(s.base, f.RealTime, s.log)
	if f.Probe == nil {
		return s.timer.Sleeper.Wait
	}
	return func(until clock.Time) {
		f.Probe.WorkEnded(s.base.Now())
		s.timer.Sleeper.Wait(until)
		f.Probe.FrameWoke(until, s.base.Now())
	}
}

// runLoop runs the loop on the thread that wakes on time, where there is one.
func (s *Session) runLoop(ctx context.Context) error {
	run := func() error { return s.loop.Run(ctx) }
	if s.timer == nil {
		return run()
	}
	return s.timer.Run(run)
}

// Run plays until ctx ends, then ends the outputs by the show's rule for exit.
func (s *Session) Run(ctx context.Context) error {
	defer s.outputs.Close()
	side, cancel := context.WithCancel(context.Background())
	if s.composer != nil { // the page may ask already
		context.AfterFunc(side, s.composer.end)
	}
	var group sync.WaitGroup
	group.Go(func() { s.takeMIDI(side, s.inbox.Messages()) })
	group.Go(func() { s.watchHealth(side) })
	if s.watchFiles != nil {
		group.Go(func() { s.watchFiles(side) })
	}
	s.keepState(ctx, &group)
	if s.kept != nil { // a run, not a rehearsal or a test of the computer
		s.tellSupervisor(ctx, side, &group)
	}
	s.runMessages(side, &group)
	s.runRehearsal(side, &group)
	var files sync.WaitGroup
	for i, p := range s.ports {
		files.Add(1)
		inbox := s.pads
		if i == 0 {
			inbox = s.inbox
		}
		group.Go(func() {
			defer files.Done()
			if err := p.Run(side, inbox); err != nil && !errors.Is(err, context.Canceled) {
				s.log.Error().Str("port", p.Name()).Err(err).Msg("MIDI port given up")
			}
		})
	}
	if len(s.ports) > 0 {
		group.Go(func() { files.Wait(); close(s.ended) })
	}
	endPartner := s.partner.run()
	untilLeft, left := s.partner.untilLeft(ctx)
	err := s.runLoop(untilLeft)
	left()
	endPartner()
	cancel()
	group.Wait()
	if s.kept.keeps() {
		s.kept.keeper.End()
	}
	s.journal.close()
	return err
}

// Announce logs what is played and where it goes.
func (s *Session) Announce() {
	p := s.show.Program
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
	if len(s.outputs.List) == 0 {
		return []string{"virtual: nothing leaves this computer"}
	}
	return s.outputs.Describe
}

// Reachable reports whether commands can come in: by a MIDI port or the page.
func (s *Session) Reachable() bool { return len(s.ports) > 0 || s.page != nil }

// StartWith replaces the commands and events that the session starts with.
func (s *Session) StartWith(inputs ...engine.Input) {
	for len(s.input) > 0 {
		<-s.input
	}
	for _, in := range inputs {
		s.input <- in
	}
}

// TakeMIDI gives the messages of the inputs to take, until its ctx ends, instead of
// the show.
func (s *Session) TakeMIDI(take func(ctx context.Context, from <-chan midi.Message)) {
	s.takeMIDI, s.pads = take, s.inbox // in one queue
}

// SetPlayer has p play the set of a rehearsal, besides the inputs.
func (s *Session) SetPlayer(p setPlayer) { s.player = p }

// SetWalker has the page control w.
func (s *Session) SetWalker(w panel.Walker) { s.walker = w }

// Base is the origin of every time in the session.
func (s *Session) Base() clock.Base { return s.base }

// TrySend gives the loop a command or event. It never waits, and returns false if the
// queue is full.
func (s *Session) TrySend(in engine.Input) bool {
	select {
	case s.input <- in:
		return true
	default:
		return false
	}
}

// Ended is closed when every MIDI file, or the set of a rehearsal, has been played.
func (s *Session) Ended() <-chan struct{} { return s.ended }

// Timer is what the loop waits with; nil unless [Options.Exact] is set.
func (s *Session) Timer() *realtime.Thread { return s.timer }

// Snapshot copies the state of the show. It waits for nobody.
func (s *Session) Snapshot(to *engine.Snapshot) { s.loop.Snapshot(to) }
