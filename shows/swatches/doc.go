// Package swatches shows how each fixture type of a rig mixes the colours of a show,
// and how far each is from the colour asked for.
//
//	shows.Show ──palettes, emitters──► Table ──► Print: text; WritePNG: a sheet of swatches
//	engine.Program ──emitters──► Kinds ──► Match: one colour; Reach: all hues
//
// It is a calculation from the emitters of the profiles. Distances are ΔE00
// (CIEDE2000) under D65.
package swatches
