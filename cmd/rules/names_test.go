package rules

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// vague names say nothing about what is in a file or package.
var vague = []string{"util", "utils", "common", "helper", "helpers", "manager", "types", "misc"}

// names forbids vague file and package names.
func names(t *tree) (out []fault) {
	for _, f := range t.files {
		word, _, _ := strings.Cut(strings.TrimSuffix(f.name, ".go"), "_")
		for _, w := range append(strings.Split(f.dir, "/"), word) {
			if slices.Contains(vague, w) {
				out = append(out, t.fault(f.ast.Name, "%q says nothing: name it after its main type", w))
			}
		}
	}
	return out
}

// banned words, written so that this file does not hold them.
var banned = regexp.MustCompile(`\bTO` + `DO\b|\bFIX` + `ME\b|(^|[\s"'` + "`" + `(=:])/wo` + `rk/`)

// words forbids them in every text file.
func words(t *tree) (out []fault) {
	for p, src := range t.texts {
		for i, line := range strings.Split(string(src), "\n") {
			if m := banned.FindString(line); m != "" {
				out = append(out, fault{p + ":" + strconv.Itoa(i+1), "says " + strings.TrimSpace(m)})
			}
		}
	}
	return out
}
