// Package draft writes the cues of a song from its sections and energies, so
// that there is something to look at, to check and to change.
//
//	songs/x.yaml ──Clear──► what people wrote ──shows.Load──► sections, energies, cues
//	                                                              │ the rig's ladder
//	                                                              ▼
//	songs/x.yaml ◄──weave── lines, each with its reason ◄── picks, fades, pickups
//
// A drafted cue is one line of the list of cues. It ends in a comment with its
// reason and a check sum of the line:
//
//   - {at: chorus 1, look: singalong, fade: 1/2 beat}  # drafted: energy 6, up 3 (k3f9a)
//
// While the sum fits, the line is the draft's: the next draft may change it or
// take it away. Whatever is changed in it, reason and sum too, makes it a
// person's, for good. A drafted line that is commented out stays out.
//
// The text is edited by lines. Everything that is no drafted line keeps every
// byte, and with the drafted lines taken out (Clear) the file is what it was.
//
// The rules of the draft (numbers: common practice, no source):
//
//   - A section looks like the highest rung of its energy or less. Energies
//     that share a rung are told apart by effects borrowed from the next rung.
//   - The top of the ladder is for the highest energy of the song. Of several
//     sections at that energy, all but the last are held back by calmer effects.
//   - Neighbours of different energies do not look alike.
//   - A lift of LargeLift or more into energy 6 or more has a beat of the
//     ladder's pickup before it.
//   - Sections of longChange bars or more change their effects on the way.
//   - Effects that turn round more often than a section of that energy bears
//     at the song's tempo give way to calmer ones (effects.go).
//   - Fades take bars where it is calm and beats into lifts, and never more
//     than half their section.
package draft
