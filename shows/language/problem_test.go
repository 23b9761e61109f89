package language

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A name that is unknown in several places has one line, with the other places; other
// faults have one each.
func TestAnUnknownNameIsToldOnce(t *testing.T) {
	unknown := func(file string, line int, path string) Problem {
		return Problem{File: file, Line: line, Column: 3, Path: path, What: `no group or fixture "washes"`, Allowed: "they are: lamps", Nearest: "washer"}
	}
	ps := Problems{
		unknown("looks.yaml", 4, "looks.a"), unknown("looks.yaml", 4, "looks.b"), unknown("looks.yaml", 9, "looks.c"),
		{File: "looks.yaml", Line: 11, Column: 3, What: `no group or fixture "spots"`, Allowed: "they are: lamps"},
		{File: "rig.yaml", What: "the file is missing"},
		{File: "rig.yaml", What: "the file is missing"},
		{File: "rig.yaml", Line: 2, Column: 1, What: "2 W: want a level"},
		{File: "rig.yaml", Line: 3, Column: 1, What: "2 W: want a level"},
		unknown("songs/pier.yaml", 7, "sections"), unknown("songs/pier.yaml", 8, "sections"),
	}
	assert.Equal(t, []string{
		`looks.yaml:4:3: looks.a: no group or fixture "washes" (did you mean "washer"?); they are: lamps; also at looks.yaml:4, 9; songs/pier.yaml:7, 8`,
		`looks.yaml:11:3: no group or fixture "spots"; they are: lamps`,
		"rig.yaml: the file is missing", "rig.yaml: the file is missing",
		"rig.yaml:2:1: 2 W: want a level", "rig.yaml:3:1: 2 W: want a level",
	}, ps.Lines())
	assert.Equal(t, strings.Join(ps.Lines(), "\n"), ps.Error())
}
