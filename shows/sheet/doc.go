// Package sheet draws rectangles, lines, discs, text and bands of light on paper, in
// millimetres, and writes the drawing as SVG or PNG.
//
//	marks ──┬──► vectors: SVG 1.1
//	        └──► raster: pixels, smooth edges, the embedded fonts
//
// Sources: ISO 216 and ANSI/ASME Y14.1 for paper, SVG 1.1, IEC 61966-2-1.
package sheet
