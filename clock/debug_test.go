package clock

import (
	"os"
	"strconv"
	"testing"
)

func TestDebug(t *testing.T) {
	for i := range arrivalModels {
		m := &arrivalModels[i]
		if m.name != os.Getenv("ROW") {
			continue
		}
		seed, _ := strconv.Atoi(os.Getenv("SEED"))
		tr := m.trace(uint64(seed))
		p := NewTransport(Config{})
		k := 0
		for _, e := range tr.events {
			p.Handle(e)
			if e.Kind != Tick24 {
				continue
			}
			k++
			l := &p.lock
			if k%40 == 0 || os.Getenv("ALL") != "" {
				n := min(int(l.n), len(tr.sent)-1)
				b := &l.banks[l.shown]
				h := &b.hyps[b.best]
				t.Logf("%5d shown %d err %8.3f said %7.3f bpm %8.3f true %8.3f kind %d age %4d live %2d | f spread %6.3f edge %6.3f mean %6.3f | a %8.3f w %8.3f s %8.3f | %6.2f %6.2f %6.2f %7.3f strip %d", l.n, l.shown, float64(l.line.at-tr.sent[n])/1e6, l.line.err/1e6, l.line.tempo().BPM(), 60e9/24/float64(tr.sent[min(n+1, len(tr.sent)-1)]-tr.sent[min(n, len(tr.sent)-2)]), h.kind, h.age, b.live,
					b.noise.spread/1e6, b.noise.edge/1e6, b.noise.mean/1e6,
					float64(l.banks[0].line.at-tr.sent[n])/1e6, float64(l.banks[1].line.at-tr.sent[n])/1e6, float64(l.banks[2].line.at-tr.sent[n])/1e6,
					l.banks[0].score.miss/1e6, l.banks[1].score.miss/1e6, l.banks[2].score.miss/1e6, l.lattice.every/1e6, l.strip.ticks)
			}
		}
	}
}
