package wish

import (
	"strings"
	"testing"

	"tactus/engine"
)

// Every command that a note can give has a path of its own, with words.
func TestEveryButtonIsAWish(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range List() {
		if seen[w.Path] || w.Words == "" || strings.HasPrefix(w.Path, "/") {
			t.Errorf("%s: twice, without words, or with a slash in front", w.Path)
		}
		seen[w.Path] = true
	}
	kinds := map[engine.CommandKind]bool{}
	for _, b := range Buttons() {
		if !seen[b.Path] || kinds[b.Kind] {
			t.Errorf("%s: not in the list, or its kind is there twice", b.Path)
		}
		kinds[b.Kind] = true
	}
}
