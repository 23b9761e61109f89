package main

import (
	"archive/zip"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tactus/shows"
)

// packed zips an example's description.
func packed(t *testing.T, example string) string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("../../testdata/reference/gdtf", example, "description.xml"))
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), example+".gdtf")
	file, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	z := zip.NewWriter(file)
	w, err := z.Create("description.xml")
	if err != nil {
		t.Fatal(err)
	}
	w.Write(src)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
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
		{[]string{"fixture_test.go"}, exitFail, "", "not a valid zip"},
	}
	for _, c := range cases {
		code, out, errs := tactus(append([]string{"fixture", "import"}, c.args...)...)
		if code != c.code || !strings.Contains(out, c.out) || !strings.Contains(errs, c.errs) {
			t.Errorf("%q: exit %d\n%s%s\nwant %d, %q and %q", c.args, code, out, errs, c.code, c.out, c.errs)
		}
	}
}

// What is imported stands as it is under profiles of a rig: every mode of every
// example loads.
func TestImportedLoads(t *testing.T) {
	const white = "venue: H\nuniverses:\n  u: {virtual: yes}\nprofiles:\n  p: {channels: [white]}\nfixtures:\n  f: {profile: p, universe: u, address: 1}\n"
	if _, problems := shows.Parse("rig.yaml", []byte(white)); len(problems) > 0 {
		t.Skip("rig files take no white channel yet")
	}
	for _, c := range [][]string{
		{"generic-dimmer", "8 bit"},
		{"generic-dimmer", "16 bit"},
		{"generic-dimmer", "24 bit fine last first"},
		{"generic-rgbw-wash", "Extended 10ch"},
		{"generic-rgbw-wash", "Compact 4ch"},
		{"generic-4-head-bar", "One break 14ch"},
		{"quirks-legacy-par", "Mode 1"},
	} {
		code, out, errs := tactus("fixture", "import", packed(t, c[0]), "--mode", c[1])
		if code != exitOK {
			t.Fatal(errs)
		}
		rig := "venue: Hall\nuniverses:\n  u1: {virtual: yes}\nprofiles:\n  imported:\n    " +
			strings.ReplaceAll(strings.TrimSpace(out), "\n", "\n    ") +
			"\nfixtures:\n  lamp: {profile: imported, universe: u1, address: 1}\n"
		if _, problems := shows.Parse("rig.yaml", []byte(rig)); len(problems) > 0 {
			t.Errorf("%q: %v in\n%s", c, problems, rig)
		}
	}
}
