// Package flash says what counts as a flash: of a head, of a group of heads, of
// the whole rig. The checks of a show and the flash limiter, which is the last
// layer of every frame, count by the same rules.
//
//	State of a head ─► Head.Light ─► linear light, as a share of its full
//	                                   │ Area: summed by flux, as a share of its full
//	                                   ▼
//	                                 Counter ─► changes in the second up to now
//	                                 (Turns: what changes; Times: when it did)
//
//	light  ──┐     ┌──┐     ┌──     each edge here is a change; two opposing
//	         └─────┘  └─────┘       changes are a flash
//
// The rules are those of WCAG 2.2, success criterion 2.3.1, and its definitions
// of general flash, red flash and relative luminance:
//
//   - a general flash is a pair of opposing changes in relative luminance of 10 %
//     or more of the maximum, where the darker state is below 0.80;
//   - a red flash is a pair of opposing changes to or from a saturated red,
//     R/(R+G+B) of 0.8 or more, by more than 0.2 in the CIE 1976 u'v' diagram;
//   - no more than three of either within any second.
//
// ITU-R BT.1702 says the same of television in cd/m² (its clauses: from memory).
//
// These rules were made for screens, where a maximum and a field of view are
// known. In a hall light meets walls, haze and faces, and nobody knows how much
// of a person's view it fills. Here they are a conservative guide and no promise
// that a rate is safe. The exemption for small areas is never used. A slow change
// counts like a fast one once the light turns. A change alone counts as half a
// flash, so that 3.5 flashes a second are too many before the fourth is complete.
//
// A deep colour that is shown brighter than its share of white counts as the light that it
// is: Head.Light may then have components above 1, as far as the emitters reach.
//
// Not counted: ultraviolet, which has no luminance; fixtures that move; light that
// is not part of the show. Light under about 3 % of full has no hue that could
// count as red. A strobe that a fixture makes by itself counts by its stated rate.
//
// Sources: WCAG 2.2 (W3C, 2023), 2.3.1 and definitions; ITU-R BT.1702; CIE 15
// (u', v'). testdata/reference/flash-cases.csv and flash-rate.csv.
package flash
