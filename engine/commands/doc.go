// Package commands is the table of what a show can be asked to do: one row for
// each [engine.CommandKind], with every name that people and programs have for it.
//
//	OSC /tactus/section/arm "chorus 2" "bar"     ─┐
//	page POST /api/v1/ask/section/arm, a button  ─┼─► Row ─► engine.Command{ArmName, ...}
//	show.yaml notes: {next section: 107}         ─┤
//	journal "do arm-name index 3"                ─┘
//
// OSC, the page and its buttons, journals, the keys of show files, "tactus notes"
// and docs/osc.md are made from these rows, so that a name does the same everywhere.
// Arguments are texts and numbers of OSC 1.0, "OSC Type Tag String".
package commands
