package engine

import "slices"

// nameOf returns the i-th name, or "unknown".
func nameOf(names []string, i int) string {
	if i < 0 || i >= len(names) {
		return "unknown"
	}
	return names[i]
}

// byName returns the value with a name.
func byName[T ~uint8](names []string, name string) (T, bool) {
	i := slices.Index(names, name)
	return T(max(i, 0)), i >= 0
}
