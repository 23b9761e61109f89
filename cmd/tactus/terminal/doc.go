// Package terminal knows what a terminal can show: whether it is one, whether it
// wants colour, which characters are kept off it, and how far long work is.
package terminal
