package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A list may name GDTF files beside it, their modes by name or by count of channels.
func TestListWithFixtureFiles(t *testing.T) {
	bar := packed(t, "generic-4-head-bar")
	list := filepath.Join(filepath.Dir(bar), "rig.csv")
	for _, c := range []struct {
		mode      string
		code      int
		out, errs string
	}{
		{"one break 14ch", exitOK, "Made", ""},
		{"14", exitOK, "Made", ""},
		{"15", exitFail, "", `line 2: generic-4-head-bar.gdtf: no mode "15"`},
		{"", exitFail, "", "line 2: generic-4-head-bar.gdtf: no mode is said"},
		{"Two breaks 1+24ch", exitFail, "", "several start addresses"},
	} {
		require.NoError(t, os.WriteFile(list, []byte("name;profile;mode;place\nbar 1-2;"+filepath.Base(bar)+";"+c.mode+";back truss\n"), 0o644))
		folder := filepath.Join(t.TempDir(), "hall")
		code, out, errs := tactus("new", folder, "--empty", "--list", list)
		assert.Equal(t, c.code, code, "%q: %s", c.mode, errs)
		assert.Contains(t, out, c.out)
		assert.Contains(t, errs, c.errs)
		if c.code == exitOK {
			code, out, errs = tactus("check", folder)
			assert.Equal(t, exitOK, code, errs)
			assert.Contains(t, out, "2 fixtures, 8 heads")
		}
	}
}
