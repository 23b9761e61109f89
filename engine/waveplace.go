package engine

import "tactus/clock"

// WavePlace is where the waves of effects are: how many beats and bars they have counted,
// with half and double time and with builds. Bars are counted as the meter of the place
// counts them, so that a wave of n bars is at the start of a period where Bars is a multiple
// of n, whatever meters came before.
type WavePlace struct{ Beats, Bars float64 }

// wavesAt is the place of the waves in quarter notes, and what they are played with.
type wavesAt struct {
	beat, bar clock.Beat // of periods in beats, and of periods in bars
	meter     Meter      // at the place
	depth     float64    // share of the effects' depth, 0..1
}

// of returns the place of a wave with a period.
func (w *wavesAt) of(period Length) clock.Beat {
	if period.Bars {
		return w.bar
	}
	return w.beat
}

// wavesAt returns where the waves of the present cue are.
func (e *Engine) wavesAt(pos clock.Position) wavesAt {
	place := e.effectsPlace(e.prog, pos)
	w := wavesAt{meter: e.meter, depth: 1}
	if n := e.shown.song; n != None {
		w.meter = e.prog.Songs[n].MeterAt(place)
	}
	if b, strength, ended := e.build(pos); b != nil {
		place, w.depth = b.effectPlace(place, ended), b.depth(strength)
	}
	w.beat = e.feel.effectBeat(place)
	w.bar = w.beat
	if n := e.shown.song; n != None && len(e.prog.Songs[n].Meters) > 0 {
		song := &e.prog.Songs[n]
		w.beat, w.bar = e.feel.countedBeat(song, place, w.meter, false), e.feel.countedBeat(song, place, w.meter, true)
	}
	return w
}

// wavePlace returns where the waves are, for screens.
func (e *Engine) wavePlace(pos clock.Position) WavePlace {
	if e.cue == nil {
		return WavePlace{}
	}
	w := e.wavesAt(pos)
	return WavePlace{float64(w.beat) / float64(w.meter.Beat()), float64(w.bar) / float64(w.meter.Bar())}
}
