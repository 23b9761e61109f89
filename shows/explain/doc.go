// Package explain says why a fixture looks as it does: of every parameter the
// layers it went through, which of them decides, and the slots that come of it.
//
//	engine.View ──steps of a head──► because: layers in words ──► Why: heads, parameters, slots
package explain
