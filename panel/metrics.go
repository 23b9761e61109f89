package panel

import (
	"net/http"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"tactus/clock"
	"tactus/engine"
)

// metrics exports the loop's counts to monitoring systems (OpenMetrics and the
// Prometheus text format). A scrape reads the same copy as a browser.
type metrics struct {
	p     *Panel
	gauge []metric
}

// metric is one number of a snapshot.
type metric struct {
	desc  *prometheus.Desc
	kind  prometheus.ValueType
	value func(*engine.Snapshot, *Report) float64
}

func newMetrics(p *Panel) *metrics {
	m := &metrics{p: p}
	add := func(kind prometheus.ValueType, name, help string, value func(*engine.Snapshot, *Report) float64) {
		m.gauge = append(m.gauge, metric{prometheus.NewDesc("tactus_"+name, help, nil, nil), kind, value})
	}
	count, now := prometheus.CounterValue, prometheus.GaugeValue
	add(count, "frames_total", "Frames sent.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Frames) })
	add(count, "frames_missed_total", "Frames skipped because a whole period had passed.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Missed) })
	add(count, "output_errors_total", "Errors of outputs.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Errors) })
	add(count, "unknown_requests_total", "Notes and requests for what the show lacks.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Status.Unknown) })
	add(count, "midi_dropped_total", "MIDI messages that came faster than they could be used.", func(_ *engine.Snapshot, r *Report) float64 { return float64(r.Dropped) })
	add(count, "osc_dropped_total", "Commands by OSC that came faster than they could be used.", func(_ *engine.Snapshot, r *Report) float64 { return float64(r.OSCDropped) })
	add(count, "page_dropped_total", "Requests of the page that came faster than they could be used.", func(_ *engine.Snapshot, r *Report) float64 { return float64(r.PageDropped) })
	add(count, "flash_limits_total", "Times that the flash limiter began to hold light back.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Status.Limiter.Count) })
	add(now, "flash_limiter_acts", "1 while the flash limiter holds light back.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Status.Limiter.Acting) })
	add(now, "wake_late_seconds", "How late the last frame woke.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Late) / float64(clock.Second) })
	add(now, "tempo_quarters_per_minute", "The tempo in quarter notes a minute.", func(s *engine.Snapshot, _ *Report) float64 { return s.Pos.Tempo.BPM() })
	add(now, "beat_error_seconds", "About how far the beat may be off the master's.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Pos.Err) / float64(clock.Second) })
	add(now, "clock_feed", "How the clock's ticks arrive: 0 none, 1 learning, 2 even, 3 uneven, 4 in steps, 5 in bursts.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Arrivals.Feed) })
	add(now, "clock_step_seconds", "How far apart the moments lie at which ticks arrive in steps; else 0.", arrival(func(a *clock.Arrivals) clock.Time { return a.Every }))
	add(now, "clock_late_seconds", "How much later ticks come than the earliest do, on average.", arrival(func(a *clock.Arrivals) clock.Time { return a.Late }))
	add(now, "clock_spread_seconds", "What 19 in 20 ticks' lateness stays below.", arrival(func(a *clock.Arrivals) clock.Time { return a.Spread }))
	add(now, "clock_unknown_seconds", "How far off the beat may be by a delay that all ticks share.", arrival(func(a *clock.Arrivals) clock.Time { return a.Unknown }))
	add(count, "clock_ticks_lost_total", "Ticks of the clock that were put in.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Arrivals.Lost) })
	add(count, "clock_ticks_extra_total", "Ticks of the clock that were taken out.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.Arrivals.Extra) })
	add(now, "bars_later_ticks", "How many clock ticks the DAW's bars are later than counted, as its notes show.", func(s *engine.Snapshot, _ *Report) float64 { return float64(s.Health.BarOffset.Ticks) })
	add(now, "clock_locked", "1 while a clock leads and is locked.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Pos.Sync == clock.Locked) })
	add(now, "playing", "1 while the transport plays.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Pos.Playing) })
	add(now, "held", "1 while the light is held.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Status.Held) })
	add(now, "blackout", "1 in blackout.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Status.Blackout) })
	add(now, "work_light", "1 while work light is on.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Status.Work) })
	add(now, "inputs_gone", "Universes that came in, such as those of a house desk, and have no source any more.", func(s *engine.Snapshot, _ *Report) float64 { return inputsGone(s) })
	add(now, "output_failing", "1 while an output fails.", func(s *engine.Snapshot, _ *Report) float64 { return boolValue(s.Health.LastErr != nil) })
	add(now, "network_links_down", "Network interfaces that are sent from by which nothing can leave: unplugged, down or gone.", func(_ *engine.Snapshot, r *Report) float64 { return float64(len(r.Links)) })
	pair := func(of func(*Pair) float64) func(*engine.Snapshot, *Report) float64 {
		return func(_ *engine.Snapshot, r *Report) float64 {
			if r.Pair == nil {
				return 0
			}
			return of(r.Pair)
		}
	}
	add(now, "pair_on_lamps", "1 while there is a second computer and this one is on the lamps.", pair(func(p *Pair) float64 { return boolValue(p.OnLamps) }))
	add(now, "pair_follows", "1 while the one that is not on the lamps follows and can take over.", pair(func(p *Pair) float64 { return boolValue(p.Follows) }))
	add(now, "pair_behind_seconds", "By how much this computer follows later.", pair(func(p *Pair) float64 { return p.BehindMS / 1000 }))
	add(count, "pair_frames_differing_total", "Frames of the one that follows that were not those on the lamps.", pair(func(p *Pair) float64 { return float64(p.Differing) }))
	add(now, "viewers", "Event streams that are open.", func(*engine.Snapshot, *Report) float64 { return float64(p.stream.count()) })
	return m
}

// arrival returns a metric of the MIDI clock's arrival, in seconds.
func arrival(of func(*clock.Arrivals) clock.Time) func(*engine.Snapshot, *Report) float64 {
	return func(s *engine.Snapshot, _ *Report) float64 {
		return float64(of(&s.Health.Arrivals)) / float64(clock.Second)
	}
}

func boolValue(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// handler serves the metrics from its own registry.
func (m *metrics) handler() http.Handler {
	r := prometheus.NewRegistry()
	r.MustRegister(m)
	return promhttp.HandlerFor(r, promhttp.HandlerOpts{})
}

// Describe implements [prometheus.Collector].
func (m *metrics) Describe(to chan<- *prometheus.Desc) {
	for i := range m.gauge {
		to <- m.gauge[i].desc
	}
}

// Collect implements [prometheus.Collector].
func (m *metrics) Collect(to chan<- prometheus.Metric) {
	var s engine.Snapshot
	m.p.c.Snapshot(&s)
	r := m.p.report(&s)
	for i := range m.gauge {
		g := &m.gauge[i]
		to <- prometheus.MustNewConstMetric(g.desc, g.kind, g.value(&s, &r))
	}
}

// inputsGone counts the inputs that had a source and have none.
func inputsGone(s *engine.Snapshot) (n float64) {
	for _, in := range s.Status.Inputs {
		n += boolValue(in.Heard && !in.Present)
	}
	return n
}
