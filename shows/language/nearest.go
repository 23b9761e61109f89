package language

import "strings"

// Nearest returns the name with the smallest edit distance to word, if the distance is
// at most a third of the longer word's length; else "". Of equal distances the first
// name counts.
func Nearest(word string, names []string) string {
	if len(word) > 64 {
		return ""
	}
	w := []rune(strings.ToLower(word))
	best, found := 1<<30, ""
	for _, name := range names {
		n := []rune(strings.ToLower(name))
		if len(n) > 64 {
			continue
		}
		d := Distance(w, n)
		if d < best && d*3 <= max(len(w), len(n)) {
			best, found = d, name
		}
	}
	return found
}

// Distance returns the edit distance from a to b: the number of letters to insert,
// delete, change or swap with their neighbour (optimal string alignment).
func Distance(a, b []rune) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := last[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			row[j] = min(change, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
