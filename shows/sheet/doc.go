// Package sheet draws on paper, in millimetres: rectangles, lines, discs, words,
// bands of light. What is drawn once is written as SVG or as PNG.
//
//	marks ──┬──► vectors: SVG 1.1
//	        └──► raster: pixels, smooth edges, the embedded fonts
//
// Sources: ISO 216 and ANSI/ASME Y14.1 for paper, SVG 1.1, IEC 61966-2-1.
package sheet
