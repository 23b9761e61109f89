// Package explain says why a fixture looks as it does: the layers that each of its
// parameters goes through, the layer that decides it, and the slots made of it.
//
//	engine.View ──steps of a head──► explainer: layers in words ──► Explanation: heads, parameters, slots
package explain
