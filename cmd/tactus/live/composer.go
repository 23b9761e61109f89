package live

import (
	"context"
	"strings"
	"sync"
	"sync/atomic"

	"tactus/clock"
	"tactus/cmd/tactus/showfiles"
	"tactus/engine"
	"tactus/panel"
	"tactus/shows"
	"tactus/shows/compose"
	"tactus/shows/language"
)

// composer lets the page edit the show's files while the show plays. In a rehearsal each
// edit goes to the stage at once; in a run the lamps have it when it is saved, as any edit
// of the files.
type composer struct {
	*compose.Session
	live    *Session
	atOnce  bool            // a rehearsal
	done    context.Context // until the session ends
	end     context.CancelFunc
	lamps   atomic.Pointer[panel.Lamps]
	opened  *shows.Show // the show that the open outputs belong to
	mu      sync.Mutex  // one change at a time goes to the stage
	playing *engine.Program
	shown   *shows.Show    // the show that was last given to the stage
	last    *engine.Reload // that was given to the loop; or nil
}

// editFade is how long the light takes to go to that of an edit: no jump, and there before
// a hand has moved on (common practice, no source).
const editFade = 150 * clock.Millisecond

// Words for the page.
const (
	lampsAtOnce = "Edits show on the stage at once. The files have them when they are saved."
	lampsOnSave = "The lamps have an edit when it is saved."
	lampsFaulty = "The files have faults: the stage stays as it was until they are gone."
)

// Compose lets the page edit the files of an open session. atOnce says that edits go to the
// stage at once; the show that plays must then be the session's. It is called before
// OpenPage. A nil session is none.
func (s *Session) Compose(files *compose.Session, atOnce bool) {
	if files == nil {
		return
	}
	c := &composer{Session: files, live: s, atOnce: atOnce, opened: s.show, playing: s.show.Program, shown: s.show}
	c.done, c.end = context.WithCancel(context.Background())
	c.say(atOnce, lampsOnSave)
	if atOnce {
		c.say(true, lampsAtOnce)
	}
	s.composer = c
}

// panelComposer returns the composer for the page; nil: there is none.
func (s *Session) panelComposer() panel.Composer {
	if s.composer == nil {
		return nil
	}
	return s.composer
}

func (c *composer) say(follow bool, words string) {
	c.lamps.Store(&panel.Lamps{Follow: follow, Words: words})
}

// Lamps implements [panel.Composer].
func (c *composer) Lamps() panel.Lamps { return *c.lamps.Load() }

// Apply implements [panel.Composer], as the methods below do.
func (c *composer) Apply(revision uint64, edits []compose.Edit) (compose.State, error) {
	return c.changed(c.Session.Apply(revision, edits))
}

// Amend implements [panel.Composer].
func (c *composer) Amend(revision uint64, edits []compose.Edit) (compose.State, error) {
	return c.changed(c.Session.Amend(revision, edits))
}

func (c *composer) Undo(revision uint64) (compose.State, error) {
	return c.changed(c.Session.Undo(revision))
}

func (c *composer) Redo(revision uint64) (compose.State, error) {
	return c.changed(c.Session.Redo(revision))
}

func (c *composer) Save(revision uint64) (compose.State, error) {
	return c.changed(c.Session.Save(revision))
}

func (c *composer) Reread() (compose.State, error) { return c.changed(c.Session.Reread()) }

func (c *composer) Discard(revision uint64) (compose.State, error) {
	return c.changed(c.Session.Discard(revision))
}

// changed brings the stage and the open pages up to the session after a change.
func (c *composer) changed(state compose.State, err error) (compose.State, error) {
	if err != nil {
		return state, err
	}
	if c.atOnce {
		c.follow()
	}
	c.live.page.panel.ComposeChanged()
	return state, nil
}

// follow gives the stage the session's show, unless it has it or cannot have it.
func (c *composer) follow() {
	c.mu.Lock()
	defer c.mu.Unlock()
	show := c.Session.Show()
	if show == nil {
		c.say(false, lampsFaulty)
		return
	}
	_ = c.give(show) // said to the page
}

// give gives the stage a show. The error says what keeps it out. c.mu is held.
func (c *composer) give(show *shows.Show) error {
	if show == c.shown {
		c.say(true, lampsAtOnce)
		return nil
	}
	same, reload := showfiles.SameOutputs, engine.NewReload
	if c.atOnce && len(c.live.outputs.List) == 0 { // no lamp takes the frames: their slots may mean something else
		same, reload = showfiles.SameClock, engine.NewRehearsalReload
	}
	err := same(c.opened, show)
	if err == nil {
		var r *engine.Reload
		if r, err = reload(c.playing, show.Program); err == nil {
			c.hand(show, r)
		}
	}
	if err != nil {
		c.say(false, "The stage stays as it was; start again to see the edits: "+strings.ReplaceAll(err.Error(), "\n", "; "))
		return err
	}
	c.say(true, lampsAtOnce)
	return nil
}

// hand passes a reload on to the loop once it has taken the one before: a loop takes one
// with each frame, and more of them would delay ticks behind them.
func (c *composer) hand(show *shows.Show, r *engine.Reload) {
	r.FadeOver(editFade)
	if c.last != nil {
		select {
		case <-c.last.Taken():
		case <-c.done.Done():
			return
		}
	}
	playing := *show
	playing.Program = r.Program()
	c.live.page.panel.Edited(&playing)
	if c.live.translator.reload(c.done, r) {
		c.playing, c.shown, c.last = r.Program(), show, r
	}
}

// folderChanged takes in what other programs have changed in the folder, for a rehearsal.
// Its edit has the lines to tell; nil: nothing has changed that the session does not have.
// Without unsaved edits a song with faults stays as it was on the stage, and the others
// are taken over.
func (c *composer) folderChanged(load func() *showfiles.Edited) *showfiles.Edit {
	before := c.Session.State().Saves
	if _, err := c.Session.Reread(); err != nil {
		return &showfiles.Edit{Faults: language.Problems{{File: "the show's folder", What: err.Error()}}}
	}
	v := c.Session.View()
	if v.State.Saves == before {
		return nil // the page's own save
	}
	defer c.live.page.panel.ComposeChanged()
	c.mu.Lock()
	defer c.mu.Unlock()
	e := &showfiles.Edit{Faults: v.State.Faults}
	for _, r := range v.State.Refused {
		e.NotMadeAgain = append(e.NotMadeAgain, "not made again: "+r.Words+": "+r.Why)
	}
	show := v.Show
	if show == nil {
		c.say(false, lampsFaulty)
		if len(v.State.Unsaved) > 0 {
			return e
		}
		part := load()
		if e.Drafted = part.Drafted; part.Show == nil {
			return e
		}
		e.Faults, e.SongFaults, show = nil, part.Faults, part.Show
	} else if now := c.Session.Show(); now != nil {
		show = now // of an edit since
	}
	was := c.last
	if e.Restart = c.give(show); e.Restart == nil && c.last != was {
		e.Reload, e.Show = c.last, show
	}
	if e.SongFaults != nil {
		c.say(false, lampsFaulty)
	}
	return e
}
