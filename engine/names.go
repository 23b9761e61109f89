package engine

// nameOf returns the i-th name, or "unknown".
func nameOf(names []string, i int) string {
	if i < 0 || i >= len(names) {
		return "unknown"
	}
	return names[i]
}

// byName returns the place of a name in its list.
func byName(names []string, name string) (int, bool) {
	for i, n := range names {
		if n == name {
			return i, true
		}
	}
	return 0, false
}
