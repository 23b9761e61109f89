// Package find finds the place, song, look, fixture or head that a person names in a
// loaded show. Its errors give the nearest name.
package find
