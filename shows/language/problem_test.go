package language

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A name that is unknown in several places has one line, with the other places; other
// faults have one each.
func TestAnUnknownNameIsToldOnce(t *testing.T) {
	var found Faults
	at := func(file string, line int, path, text string) *Value {
		return &Value{file: file, Line: line, Column: 3, path: path, Text: text}
	}
	unknown := func(file string, line int, path, text string) {
		found.Unknown(at(file, line, path, text), "group or fixture", "they", []string{"lamps", "washer"})
	}
	unknown("looks.yaml", 4, "looks.a", "washes")
	unknown("looks.yaml", 4, "looks.b", "washes")
	unknown("looks.yaml", 9, "looks.c", "washes")
	unknown("looks.yaml", 11, "", "spots")
	found.Add(Problem{File: "rig.yaml", What: "the file is missing"})
	found.Add(Problem{File: "rig.yaml", What: "the file is missing"})
	found.At(at("rig.yaml", 2, "", ""), "2 W: want a level", "", "")
	found.At(at("rig.yaml", 3, "", ""), "2 W: want a level", "", "")
	// Worded like an unknown name, and not one.
	found.At(at("rig.yaml", 4, "", ""), `no note is left for section "verse"`, "", "")
	found.At(at("rig.yaml", 5, "", ""), `no note is left for section "verse"`, "", "")
	unknown("songs/pier.yaml", 7, "sections", "washes")
	unknown("songs/pier.yaml", 8, "sections", "washes")
	// A part of a value is unknown, and the message does not end with it.
	for line := 9; line < 11; line++ {
		found.UnknownAt(at("songs/pier.yaml", line, "cues", "coda, bar 2"), "coda is no section", "sections are: verse", "")
	}
	ps := found.List
	assert.Equal(t, []string{
		`looks.yaml:4:3: looks.a: no group or fixture "washes" (did you mean "washer"?); they are: lamps, washer; also at looks.yaml:4, 9; songs/pier.yaml:7, 8`,
		`looks.yaml:11:3: no group or fixture "spots"; they are: lamps, washer`,
		"rig.yaml: the file is missing", "rig.yaml: the file is missing",
		"rig.yaml:2:3: 2 W: want a level", "rig.yaml:3:3: 2 W: want a level",
		`rig.yaml:4:3: no note is left for section "verse"`, `rig.yaml:5:3: no note is left for section "verse"`,
		"songs/pier.yaml:9:3: cues: coda is no section; sections are: verse; also at songs/pier.yaml:10",
	}, ps.Lines())
	assert.Equal(t, strings.Join(ps.Lines(), "\n"), ps.Error())
}
