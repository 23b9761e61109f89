// Package limits has the table of numbers by which a planned night is judged: the
// weights of strength, and the limits of every finding, each with its unit, default,
// range and reason.
//
//	table.go ──┬─► keys of "judge" in show.yaml, their schema and reference
//	           ├─► Set: the values in force, default or from show.yaml ─► plan
//	           └─► tactus check --limits
//
// How many flashes are let through is not among them: that is a matter of safety and
// stands in package flash.
package limits
