// Package draft writes the cues of a song from its sections and energies, for people
// to look at, check and change.
//
//	songs/x.yaml ──Clear──► what people wrote ──shows.Load──► sections, energies, cues
//	                                                              │ the rig's ladder
//	                                                              ▼
//	songs/x.yaml ◄─mergeCues─ lines, each with its reason ◄── picks, fades, breaths
//
// A drafted cue is one line of the list of cues. It ends in a comment with its
// reason and a check sum of the line:
//
//   - {at: chorus 1, look: singalong, fade: 1/2 beat}  # drafted: energy 6, up 3 (k3f9a)
//
// While the sum fits, the next draft may change or remove the line. A line that a
// person has changed in any way, in its reason or sum too, stays, and so do the
// drafted lines beside it: the breath before the section and the changes in it. A
// drafted line that is commented out is not drafted again. The rows of a draft name
// each line that it removes.
//
// The text is edited by lines: every other line keeps every byte, and without the
// drafted lines (Clear) the file is what it was.
//
// The rules of the draft (numbers: common practice, no source):
//
//   - A section has the highest rung of its energy or less. Energies that share a
//     rung differ by effects of the next rung.
//   - The top of the ladder is for the highest energy of the song. Of several
//     sections at that energy, all but the last have calmer effects.
//   - Neighbouring sections of different energies or names do not look alike.
//   - The draft is measured as check does it (plan). Where the peak is darker than
//     another section, a section is stronger than one of more energy, or neighbours
//     look alike, nearby steps of the ladder are tried, and the best is offered.
//   - A lift of LargeLift or more into energy 6 or more has a beat of the ladder's
//     breath before it, mostly dark.
//   - Sections of longChange bars or more change their effects on the way.
//   - Effects with too many cycles a second for the section's energy are replaced
//     by calmer ones (effects.go).
//   - Fades take bars in calm sections and beats into lifts, and at most half their
//     section.
package draft
