package profilelist_test

import (
	"io/fs"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	yaml "go.yaml.in/yaml/v4"

	"tactus/cmd/tactus/profilelist"
	"tactus/fixtures"
	"tactus/shows"
)

// What is listed is what the files of the library say, read here by the YAML library
// alone.
func TestListIsTheLibrary(t *testing.T) {
	files, err := fs.Glob(fixtures.Library, "library/*.yaml")
	require.NoError(t, err)
	list := shows.BuiltInProfiles()
	require.Len(t, list, len(files))
	var out strings.Builder
	profilelist.Print(&out, list)
	assert.True(t, slices.IsSortedFunc(list, func(a, b shows.Profile) int { return strings.Compare(a.Name, b.Name) }), "by name")
	for _, file := range files {
		name := strings.TrimSuffix(strings.TrimPrefix(file, "library/"), ".yaml")
		i := slices.IndexFunc(list, func(p shows.Profile) bool { return p.Name == name })
		require.GreaterOrEqual(t, i, 0, file)
		src, err := fs.ReadFile(fixtures.Library, file)
		require.NoError(t, err)
		var want struct {
			About    string
			Channels []string
		}
		require.NoError(t, yaml.Unmarshal(src, &want), file)
		d := profilelist.Describe(&list[i])
		assert.Equal(t, name, d.Name)
		assert.Equal(t, want.About, d.About, file)
		require.Len(t, d.Channels, len(want.Channels), file)
		for n, c := range d.Channels {
			assert.Equal(t, n+1, c.Slot, file)
			assert.Equal(t, want.Channels[n], c.Channel, file)
			parsed, err := fixtures.ParseChannel(c.Channel)
			require.NoError(t, err, file)
			assert.Equal(t, list[i].Channels[n], parsed, file)
			if c.Bits == 16 {
				assert.Equal(t, c.Slot, d.Channels[c.Other-1].Other, "%s: the two slots of 16 bits name each other", file)
			} else {
				assert.NotContains(t, c.Channel, "fine", file)
			}
		}
		assert.Contains(t, strings.Join(strings.Fields(out.String()), " "), strings.Join(want.Channels, ", "), file)
	}
	for _, line := range strings.Split(out.String(), "\n") {
		assert.LessOrEqual(t, len(line), 110, line)
	}
}

// The words for each slot of a profile that has all there is.
func TestPrintOne(t *testing.T) {
	var channels []fixtures.Channel
	written := []string{"pan", "pan fine", "head 2 red", "unused", "fixed 7", "shutter open 255", "haze", "fan", "head 2 shutter open 0 strobe 16 to 250 at 1 Hz to 20 Hz", "red"}
	for _, w := range written {
		c, err := fixtures.ParseChannel(w)
		require.NoError(t, err)
		channels = append(channels, c)
	}
	p, err := fixtures.NewProfile("all", "one of each", channels)
	require.NoError(t, err)
	var out strings.Builder
	profilelist.PrintOne(&out, &shows.Profile{Profile: p, Source: "rig.yaml", Written: written, Watts: 60.5})
	assert.Equal(t, `all, rig.yaml
one of each

10 slots, 2 heads

slot  channel                                                  values
1     pan                                                      0 to 65535 with slot 2, from one end of its range to the other
2     pan fine                                                 low byte of slot 1
3     head 2 red                                               0 to 255, dark to full
4     unused                                                   always 0
5     fixed 7                                                  always 7
6     shutter open 255                                         always 255, which is open
7     haze                                                     0 to 255, no haze to most haze
8     fan                                                      0 to 255, off to fastest
9     head 2 shutter open 0 strobe 16 to 250 at 1 Hz to 20 Hz  0 is open; 16 to 250 strobe at 1 Hz to 20 Hz, of which at most 4 Hz are used
10    red                                                      0 to 255, dark to full

power at full: 60.5 W
in rig.yaml: lamp 1: {profile: all, universe: stage, address: 1}
`, out.String())
}
