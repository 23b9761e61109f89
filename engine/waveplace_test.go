package engine

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/fixtures"
)

// Screens are told where the waves are as the frame has them: through changes of meter, in
// half and double time, a ramp is as high as the part of its period that has passed.
func TestWavePlaceIsTheFrames(t *testing.T) {
	for song := range hall(t).Songs {
		for _, period := range []Length{{Num: 2, Den: 1, Bars: true}, {Num: 3, Den: 1}} {
			p := hall(t)
			head := p.Songs[song].Cues[0].Parts[0].Heads[0]
			p.Effects = []Effect{{Heads: []int32{head}, Offsets: []clock.Phase{0}, Wave: PlainWave(Ramp), Period: period, Pulses: 1, Depth: 1, Blend: Replace, Param: fixtures.Intensity}}
			for _, cues := range [][]Cue{p.Looks, p.Songs[song].Cues} {
				for i := range cues {
					cues[i].Effects, cues[i].Fade, cues[i].Build = []int32{0}, Span{}, nil
				}
			}
			p.Songs[song].Variants, p.Floors = nil, nil
			s := newStage(p)
			s.send(Command{Kind: SelectSong, Index: int32(song)})
			s.transport("start", "")
			frames := 0
			for _, kind := range []CommandKind{StraightTime, DoubleTime, HalfTime} {
				s.send(Command{Kind: kind})
				for range 60 {
					s.move(s.pos.Tempo.Span(quarter/4), quarter/4)
					s.frame()
					if s.engine.cue == nil || s.engine.cue.Build != nil || s.engine.fade.active {
						continue
					}
					w := s.engine.Status(s.pos).Waves
					count := w.Beats
					if period.Bars {
						count = w.Bars
					}
					count /= float64(period.Num)
					far := math.Abs(count - math.Floor(count) - s.engine.showLight[head][fixtures.Intensity])
					require.Less(t, min(far, 1-far), 1e-6, "%s, %v, at %s", p.Songs[song].Name, period, s.place())
					frames++
				}
			}
			assert.Greater(t, frames, 60, p.Songs[song].Name)
		}
	}
}
