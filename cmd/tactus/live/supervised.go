package live

import (
	"context"
	"sync"
	"time"

	"tactus/cmd/tactus/service"
	"tactus/engine"
)

// firstLook is how often to look whether the first frame has left.
const firstLook = 50 * time.Millisecond

// tellSupervisor tells systemd, if it listens, that the show is on and that frames are
// made, until side ends; and that the show says goodbye, once ctx has ended. Frames that no
// network takes count too: a start would not help.
func (s *Session) tellSupervisor(ctx, side context.Context, group *sync.WaitGroup) {
	n, err := service.NewNotifier()
	if err != nil {
		s.log.Warn().Err(err).Msg("the supervisor cannot be told how the show does")
	}
	if n == nil {
		return
	}
	var snap engine.Snapshot
	s.loop.Snapshot(&snap)
	before := snap.Health.Frames
	group.Go(func() {
		tick := time.NewTicker(firstLook)
		defer tick.Stop()
		stopping, ready := ctx.Done(), false
		for {
			select {
			case <-side.Done():
				return
			case <-stopping:
				stopping = nil
				n.Stopping()
				continue
			case <-tick.C:
			}
			s.loop.Snapshot(&snap)
			if snap.Health.Frames == before {
				continue
			}
			before = snap.Health.Frames
			if !ready {
				ready = true
				n.Ready()
				tick.Reset(n.Every())
			}
			n.Alive(placeText(snap.Program, &snap))
		}
	})
}
