package engine

import (
	"slices"
	"testing"

	"tactus/clock"
	"tactus/fixtures"
	"tactus/protocol/dmx"
)

// budget is what one frame at 44 a second may take.
const budget = float64(clock.Second) / dmx.MaxRate

// BenchmarkFrame times a frame and its stages, for a rig of the size of the
// demo and for 4,096 heads on 1,024 universes with an effect on every head.
// %budget is the share of the 22.7 ms between two frames.
func BenchmarkFrame(b *testing.B) {
	for _, rig := range []struct {
		name             string
		heads, universes int
	}{{"demo", 16, 2}, {"4096heads", 4096, 1024}} {
		b.Run(rig.name, func(b *testing.B) { benchmarkRig(b, rigOf(b, rig.heads, rig.universes)) })
	}
}

func benchmarkRig(b *testing.B, p *Program) {
	e := New(p)
	pos := clock.Position{Tempo: clock.BPM(120), Playing: true, Jumps: 1}
	e.Do(Command{Kind: SelectSong}, pos)
	step := func() clock.Position { // one frame of two beats a second
		pos.At += clock.Second / 44
		pos.Beat = (pos.Beat + 2*quarter/44) % (400 * quarter)
		pos.Pulse = pos.Beat
		return pos
	}
	for range 44 {
		e.Frame(step())
	}
	effects := 0.0 // ns a frame
	stage := func(name string, f func()) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				f()
			}
			each := float64(b.Elapsed().Nanoseconds()) / float64(b.N)
			switch name {
			case "effects":
				effects = each
			case "effects+fade":
				b.ReportMetric(each/effects, "x-effects")
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/budget*100, "%budget")
		})
	}
	stage("whole", func() { e.Frame(step()) })
	stage("playback", func() { e.apply(Event{Pos: step()}) })
	stage("cue", func() { e.settleCue(e.cue) })
	settled := fade{}
	stage("effects", func() { e.fade, e.colourFade = settled, settled; e.render(step()) })
	stage("effects+fade", func() { // in the middle of a fade that never ends
		e.fade = fade{active: true, length: 1 << 60, share: 0.5}
		e.render(step())
	})
	stage("masters", func() { e.masters.apply(e.sentLight, p, pos.At) })
	e.masters.all.moveTo(0.5, 0, pos.At)
	stage("masters at half", func() { e.masters.apply(e.sentLight, p, pos.At) })
	stage("flash limiter", func() { step(); e.limitFlashes(pos.At) }) // the wanted light stands
	asked := [2][]fixtures.State{slices.Clone(e.sentLight), make([]fixtures.State, len(e.sentLight))}
	n := 0
	stage("flash limiter, acting", func() { // all of it flashes with every fourth frame
		step()
		n++
		copy(e.sentLight, asked[n/4%2])
		e.limitFlashes(pos.At)
	})
	stage("without flash limiter", func() {
		pos := step()
		e.apply(Event{Pos: pos})
		for l := range FlashLayer {
			e.renderLayer(l, pos)
		}
		p.Patch.Encode(e.universes, e.sentLight)
	})
	stage("encode", func() { p.Patch.Encode(e.universes, e.sentLight) })
}

// BenchmarkWave times each shape, once a head and frame.
func BenchmarkWave(b *testing.B) {
	for k := range NumWaves {
		b.Run(k.String(), func(b *testing.B) {
			w := PlainWave(k)
			t := clock.Turn(0)
			sum := fixtures.RGB{}
			for b.Loop() {
				t += clock.OneTurn / 97
				sum[0] += w.At(t)
			}
		})
	}
}

// render is the part of the layers below the operator's.
func (e *Engine) render(pos clock.Position) {
	e.renderBelowFloors(pos)
}
