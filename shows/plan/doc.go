// Package plan measures the light of a set before doors, and finds what should be
// looked at in it.
//
//	shows.Show ─► night.Run, the loop's own frames ──────► light of each head
//	                                                          │
//	      Columns: 4 a quarter note, for pictures      ◄──────┤
//	      Measures of each section: brightness, share  ◄──────┤
//	        of heads, motion, colours                         │
//	      flashes of each head, group and the rig      ◄──────┘
//	                                                          │
//	      Findings: what does not fit the songs        ◄──────┘
//	        and the set, by the limits of package limits
//	      Traits of each song: its character in numbers
//
// [Night] is the one model of a measured set: check, the page and the pictures read
// it. The light is the engine's, frame by frame, as on the night. Each song follows
// the one before it, and the first follows the walk-in: front light is as it was
// left, and fades begin at the light before. Light is linear and relative to a
// head's own full; where heads are added up they count by their flux.
//
// Sources: CIE 15 (L*); Ottosson 2020 (Oklab); WCAG 2.2, 2.3.1 (flashes, in
// package flash); Spearman 1904 (rank correlation).
package plan
