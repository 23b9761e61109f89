// Package wish says by name what a show can be asked for.
//
//	"section/arm" "chorus 2" "bar"  ──Read──►  engine.Command{ArmName, ...}
//
// A note means a number. OSC and the page have words; both look them up here, so
// that the same words do the same. Arguments are those of OSC 1.0, "OSC Type Tag
// String": texts and numbers.
package wish
