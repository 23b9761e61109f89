package main

import (
	"archive/zip"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows"
)

// packed zips an example's description.
func packed(t *testing.T, example string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("../../testdata/reference/gdtf", example, "description.xml"))
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), example+".gdtf")
	file, err := os.Create(name)
	require.NoError(t, err)
	defer file.Close()
	z := zip.NewWriter(file)
	w, err := z.Create("description.xml")
	require.NoError(t, err)
	w.Write(src)
	require.NoError(t, z.Close())
	return name
}

// tactus runs the program and returns its exit code and what it printed.
func tactus(args ...string) (code int, out, errOut string) {
	var o, e strings.Builder
	code = run(args, strings.NewReader(""), &o, &e)
	return code, o.String(), e.String()
}

func TestFixtureImport(t *testing.T) {
	bar := packed(t, "generic-4-head-bar")
	to := filepath.Join(t.TempDir(), "bar.yaml")
	cases := []struct {
		args      []string
		code      int
		out, errs string
	}{
		{[]string{packed(t, "quirks-legacy-par")}, exitOK, "intensity fine", "slot 5 of break 1"},
		{[]string{bar}, exitUsage, "", `"Two breaks 1+24ch", 1 and 24 slots`},
		{[]string{bar, "--mode", "none"}, exitUsage, "", `no mode "none"`},
		{[]string{bar, "--mode", "one break 14ch"}, exitOK, "head 4 blue", "not used: Dimmer of Bar, slot 1: one dimmer"},
		{[]string{bar, "--mode", "Two breaks 1+24ch"}, exitUsage, "", "1 (1 slots), 2 (24 slots)"},
		{[]string{bar, "--mode", "Two breaks 1+24ch", "--break", "2"}, exitOK, "head 3 red fine", "not used"},
		{[]string{bar, "--mode", "One break 14ch", "--out", to}, exitOK, "14 slots", ""},
		{[]string{bar, "--mode", "One break 14ch", "--out", to}, exitFail, "", "exists; --force"},
		{[]string{bar, "--mode", "One break 14ch", "--out", to, "--force"}, exitOK, "Wrote", ""},
		{[]string{"nowhere.gdtf"}, exitFail, "", "nowhere.gdtf: no such file"},
		{[]string{t.TempDir()}, exitFail, "", "not a plain file"},
		{[]string{"fixtures_test.go"}, exitFail, "", "not a valid zip"},
	}
	for _, c := range cases {
		code, out, errs := tactus(append([]string{"fixture", "import"}, c.args...)...)
		assert.Equal(t, c.code, code, "%q", c.args)
		assert.Contains(t, out, c.out, "%q", c.args)
		assert.Contains(t, errs, c.errs, "%q", c.args)
	}
}

// What is imported into the profiles folder of a show is there by the file's
// name: every mode of every example loads and takes its slots.
func TestImportedLoads(t *testing.T) {
	for _, c := range [][]string{
		{"generic-dimmer", "8 bit"},
		{"generic-dimmer", "16 bit"},
		{"generic-dimmer", "24 bit fine last first"},
		{"generic-rgbw-wash", "Extended 10ch"},
		{"generic-rgbw-wash", "Compact 4ch"},
		{"generic-4-head-bar", "One break 14ch"},
		{"quirks-legacy-par", "Mode 1"},
	} {
		dir := filepath.Join(t.TempDir(), "my-hall")
		code, _, errs := tactus("new", dir)
		require.Equal(t, exitOK, code, errs)
		code, _, errs = tactus("fixture", "import", packed(t, c[0]), "--mode", c[1], "--out", filepath.Join(dir, "profiles", "from maker.yaml"))
		require.Equal(t, exitOK, code, errs)
		rig, err := os.ReadFile(filepath.Join(dir, "rig.yaml"))
		require.NoError(t, err)
		const line = "\nfixtures:\n"
		spare := "\nfixtures:\n  imported: {profile: from maker, universe: spare, address: 1}\n"
		text := strings.Replace(string(rig), line, spare, 1)
		text = strings.Replace(text, "\nuniverses:\n", "\nuniverses:\n  spare: {virtual: yes}\n", 1)
		require.NoError(t, os.WriteFile(filepath.Join(dir, "rig.yaml"), []byte(text), 0o644))
		fsys, err := shows.Open(dir)
		require.NoError(t, err)
		show, problems := shows.Load(fsys, shows.Options{})
		require.Empty(t, problems, "%q", c)
		first := show.Program.Patch.Placements()[0]
		assert.Equal(t, "imported", first.Name, "%q: the first fixture", c)
		assert.Equal(t, "from maker", first.Profile.Name, "%q: the first fixture", c)
	}
}
