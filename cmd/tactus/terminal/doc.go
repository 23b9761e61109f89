// Package terminal knows what a terminal can show: whether a file is a terminal, whether
// it should get colour, and which characters must not reach it. It also draws progress
// bars, and keeps a terminal that has stopped from holding up a show.
package terminal
