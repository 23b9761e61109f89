// Package waveform says what an effect does, for a view that draws it: its wave over a
// period, the order in which the wave reaches the heads, and whether its light alone would
// flash too often.
//
//	engine.Effect ── WaveAt, Blend.Apply ──► Of: values over a period
//	      │        └ Path.Steps ───────────► Of: the step and the delay of each head
//	      └ engine.Program.Alone, Frame ───► Flashes: what the flash limiter does to it
//
// Nothing is worked out here a second time: the values are those that a frame uses, and the
// flashes are those that the limiter counts.
package waveform
