package rules

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// mapFile has the map of packages for people.
const mapFile = "DEVELOPERS.md"

// mapLine is a package in the map: its rank, its folder, its job.
var mapLine = regexp.MustCompile(`(?m)^ +(\d+)  ([a-z/0-9-]+)/ +\S`)

// maps holds the map to the ranks that this package checks: every package is there
// once, at its own.
func maps(t *tree) (out []fault) {
	text, ok := t.texts[mapFile]
	if !ok {
		return nil
	}
	seen := map[string]bool{}
	for _, m := range mapLine.FindAllSubmatchIndex(text, -1) {
		where := fmt.Sprintf("%s:%d", mapFile, 1+strings.Count(string(text[:m[0]]), "\n"))
		rank, _ := strconv.Atoi(string(text[m[2]:m[3]]))
		pkg := string(text[m[4]:m[5]])
		switch at := place(pkg); {
		case at < 0:
			out = append(out, fault{where, fmt.Sprintf("the map has %s, which is no package", pkg)})
		case at != rank:
			out = append(out, fault{where, fmt.Sprintf("the map has %s at rank %d; its rank is %d", pkg, rank, at)})
		case seen[pkg]:
			out = append(out, fault{where, fmt.Sprintf("the map has %s twice", pkg)})
		}
		seen[pkg] = true
	}
	for rank, l := range layers() {
		for _, pkg := range l.packages {
			if !seen[pkg] {
				out = append(out, fault{mapFile, fmt.Sprintf("the map lacks %s, of rank %d", pkg, rank)})
			}
		}
	}
	return out
}
