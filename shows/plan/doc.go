// Package plan says before doors what light a set will make.
//
//	shows.Show ─► night.Run, the loop's own frames ──────► light of each head
//	                                                          │
//	      Columns: 4 a quarter note, for pictures      ◄──────┤
//	      Measures of each section: how bright, how    ◄──────┤
//	        many, how busy, which colours                     │
//	      flashes of each head, group and the rig      ◄──────┘
//
// Nothing here makes light: it is the engine's, frame by frame, as on the night.
// Each song follows from the one before it, as the first does from the walk-in:
// front light is as it was left, and fades come from where the light was.
// Light is linear and relative to a head's own full; where heads are summed they
// count by their flux.
//
// Sources: CIE 15 (L*); Ottosson 2020 (Oklab); WCAG 2.2, 2.3.1 (flashes, in
// package flash); Spearman 1904 (rank correlation).
package plan
