package panel

import (
	"net/http"

	"tactus/clock"
	"tactus/engine"
)

// Health is the answer of /healthz.
type Health struct {
	OK    bool   `json:"ok"`
	Words string `json:"words"`
}

// staleAfter is the age of the last frame from which the loop counts as stopped.
// Receivers notice lost data after 2.5 s (E1.31, 6.7.1).
const staleAfter = clock.Second

// healthz reports whether light is sent: status 200 or 503.
func (p *Panel) healthz(w http.ResponseWriter, _ *http.Request) {
	var s engine.Snapshot
	p.c.Snapshot(&s)
	h := health(&s, p.c.Base.Now())
	if at := p.pair(); at != nil {
		h.Words += "; " + at.Words
	}
	status := http.StatusOK
	if !h.OK {
		status = http.StatusServiceUnavailable
	}
	send(w, status, h)
}

func health(s *engine.Snapshot, now clock.Time) Health {
	switch {
	case s.Program == nil:
		return Health{false, "no frame has been made yet"}
	case now-s.Pos.At > staleAfter:
		return Health{false, "no frame has been made for a second or more"}
	case s.Health.LastErr != nil:
		return Health{false, "an output fails: " + s.Health.LastErr.Error()}
	}
	return Health{true, "frames are made and go out"}
}
