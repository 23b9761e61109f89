package watch

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"

	"tactus/clock"
	"tactus/cmd/tactus/senders"
	"tactus/protocol/artnet"
	"tactus/protocol/sacn"
	"tactus/protocol/udp"
	"tactus/shows"
)

// Options say what to listen for, and how to print it.
type Options struct {
	Show      *shows.Show   // levels are printed by the names of its fixtures; nil: by slot
	Interface string        // network interface to listen on; "": the system's choice
	Join      []uint16      // sACN universes: their multicast groups are joined
	Protocol  string        // sacn or art-net alone; "": both
	Every     time.Duration // between prints
	JSON      bool          // one JSON object a universe and line
	Redraw    bool          // in place, as on a terminal
}

// Run prints what arrives until ctx ends, and once more then.
func Run(ctx context.Context, out io.Writer, f *Options) error {
	w := newWatcher(f)
	ctx, end := context.WithCancelCause(ctx)
	defer end(nil)
	done, err := w.listen(ctx, end)
	if err != nil {
		return explainNoNetwork(err)
	}
	w.print(ctx, out)
	done.Wait()
	if err := context.Cause(ctx); !errors.Is(err, context.Canceled) && !errors.Is(err, context.DeadlineExceeded) {
		return err // of a receiver
	}
	return nil
}

// explainNoNetwork adds to the error of a computer without a network how it can watch
// itself.
func explainNoNetwork(err error) error {
	lo := udp.Loopback()
	if !errors.Is(err, udp.ErrNoNetwork) || lo == "" {
		return err
	}
	return fmt.Errorf("%w. This computer is in no network: '--interface %s' watches what it sends to itself; '--protocol art-net' needs no network interface", err, lo)
}

// watcher gathers what the receivers hear.
type watcher struct {
	Options
	base clock.Base

	links []interface{ LinkFault() *udp.LinkError } // the receivers

	mu     sync.Mutex
	sacn   *sacn.Monitor
	merger *sacn.Merger // which of the sources of a universe counts
	artnet *artnet.Monitor
}

func newWatcher(f *Options) *watcher {
	return &watcher{
		Options: *f, base: clock.NewBase(),
		sacn: sacn.NewMonitor(), merger: sacn.NewMerger(sacn.MergerConfig{}), artnet: artnet.NewMonitor(),
	}
}

// listen starts the receivers; the group is done when they have ended. A receiver
// that cannot go on calls end with the reason.
func (w *watcher) listen(ctx context.Context, end func(error)) (*sync.WaitGroup, error) {
	var done sync.WaitGroup
	if w.Protocol != senders.ArtNet {
		r, err := sacn.NewReceiver(sacn.ReceiverConfig{Interface: w.Interface, Wait: true, Universes: w.Join, Clock: w.base})
		if err != nil {
			return nil, err
		}
		w.links = append(w.links, r)
		done.Go(func() {
			end(r.Run(ctx, func(p sacn.Packet) {
				w.mu.Lock()
				w.sacn.Add(p)
				w.merger.Add(p)
				w.mu.Unlock()
			}))
		})
	}
	if w.Protocol != senders.SACN {
		r, err := artnet.NewReceiver(artnet.ReceiverConfig{Interface: w.Interface, Wait: true, Base: w.base})
		if err != nil {
			return nil, err
		}
		w.links = append(w.links, r)
		done.Go(func() {
			end(r.Run(ctx, func(p artnet.Packet) {
				w.mu.Lock()
				w.artnet.Add(p)
				w.mu.Unlock()
			}))
		})
	}
	return &done, nil
}

// Joins lists the sACN universes whose groups to join.
func Joins(text string, show *shows.Show) ([]uint16, error) {
	if text == "" && show == nil {
		text = "1-16"
	}
	var list []uint16
	if text == "" {
		for _, u := range show.Outputs.Universes {
			if u.Protocol == shows.SACN {
				list = append(list, uint16(u.Number))
			}
		}
		return list, nil
	}
	for part := range strings.SplitSeq(text, ",") {
		low, high, isRange := strings.Cut(strings.TrimSpace(part), "-")
		if !isRange {
			high = low
		}
		from, err1 := strconv.ParseUint(low, 10, 16)
		to, err2 := strconv.ParseUint(high, 10, 16)
		if err1 != nil || err2 != nil || from < sacn.MinUniverse || to > sacn.MaxUniverse || to < from {
			return nil, fmt.Errorf("--universes %q: want numbers and ranges of %d to %d, like 1,5-8", part, sacn.MinUniverse, sacn.MaxUniverse)
		}
		for n := from; n <= to; n++ {
			list = append(list, uint16(n))
		}
	}
	return list, nil
}
