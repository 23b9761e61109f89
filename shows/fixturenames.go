package shows

import (
	"errors"
	"regexp"
)

// FixtureNames returns the fixtures that a name of a rig file stands for: wash 1, wash 2
// and wash 3 for the range "wash 1-3", any other name for itself. The error is for a range
// that does not count upwards, or stands for more than 512 fixtures.
func FixtureNames(name string) ([]string, error) {
	names, fault := expandName(name)
	if fault != "" {
		return nil, errors.New(fault)
	}
	return names, nil
}

// ofHead matches the name of one head of a fixture: "bar 1 head 2".
var ofHead = regexp.MustCompile(`^(.*\S)( head [1-9][0-9]*)$`)

// CutHead splits "bar 1 head 2" into the fixture and the head; of a name without a head,
// the head is "".
func CutHead(name string) (fixture, head string) {
	if m := ofHead.FindStringSubmatch(name); m != nil {
		return m[1], m[2]
	}
	return name, ""
}
