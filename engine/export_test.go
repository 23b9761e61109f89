package engine

// PlainWave is a wave of a kind with nothing set but what every wave has.
func PlainWave(k WaveKind) Wave {
	return Wave{Kind: k, High: 1, Duty: 0.5, Skew: 0.5, Cells: DefaultCells, Levels: []float64{0, 1, 0.5, 0.25}}
}
