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
//   - The song's character, named or inferred (character.go), chooses effects by how
//     long their cycles are and how they go through the rig (motions.go), sets trusses
//     apart, and makes fades longer or shorter.
//   - Levels of trusses are set so that, in the song's colours, each energy is about as
//     bright in every song (levels.go).
//   - Of strong sections that come again, each tops the one before: a truss waits, and
//     later passes that nobody planned go on growing (growth.go).
//   - Sections grow into stronger ones, and a fall ebbs, where the character builds.
//   - Neighbouring sections of different energies or names do not look alike.
//   - The draft is measured as check does it (plan). What it finds is put right by
//     nearby steps of the ladder, dimmer light or fewer effects, and the best is
//     offered (improve.go).
//   - One beat of the song at most is dark: before its peak, after a rise of LargeLift
//     or more. No song is dark before its planned end.
//   - Sections of longChange bars or more change their effects on the way.
//   - Effects with too many cycles a second for the section's energy are replaced
//     by calmer ones (effects.go).
//   - Fades take bars in calm sections and beats into lifts, at most half their
//     section, and a quarter of the first.
//   - Front light is lower where nobody sings, as the ladder has it.
package draft
