package live

import (
	"errors"
	"slices"

	"github.com/rs/zerolog"

	"tactus/engine"
	"tactus/protocol/udp"
)

// outputLooks is how often a second the outputs are looked at.
const outputLooks = 4

// quietLooks is how many looks in a row an output must be well before it counts as
// working again: one that fails now and then is told once.
const quietLooks = 8

// outputLog logs what keeps light from going out: once when it begins and once when it
// has ended.
type outputLog struct {
	links   []udp.LinkError // logged and not ended
	failing bool            // logged: an output fails for another reason
	well    int             // looks in a row without such a failure
}

// update logs what is new.
func (l *outputLog) update(snap *engine.Snapshot, faults []*udp.LinkError, log zerolog.Logger) {
	var now []udp.LinkError
	for _, f := range faults {
		now = append(now, *f)
		if !containsLink(l.links, f.Interface) {
			log.Error().Err(f).Msg("output failing; it is tried again with every frame")
		}
	}
	for _, old := range l.links {
		if !containsLink(now, old.Interface) {
			log.Info().Str("interface", old.Interface).Msg("output works again")
		}
	}
	l.links = now
	err := snap.Health.LastErr
	var link *udp.LinkError
	switch {
	case err == nil || errors.As(err, &link):
		if l.well++; l.failing && err == nil && l.well >= quietLooks {
			l.failing = false
			log.Info().Msg("output works again")
		}
	case !l.failing && len(now) == 0:
		l.failing, l.well = true, 0
		log.Error().Err(err).Uint64("errors", snap.Health.Errors).Msg("output failing; it is tried again with every frame")
	default:
		l.well = 0
	}
}

func containsLink(list []udp.LinkError, name string) bool {
	return slices.ContainsFunc(list, func(f udp.LinkError) bool { return f.Interface == name })
}
