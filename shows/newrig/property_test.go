package newrig_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/engine/flash"
	"tactus/shows"
	"tactus/shows/draft"
	"tactus/shows/newrig"
	"tactus/shows/plan"
)

// profileNames lists all built-in profiles.
func profileNames() (names []string) {
	for _, p := range shows.BuiltInProfiles() {
		names = append(names, p.Name)
	}
	return names
}

// anyDescription is a rig as somebody might have it, sensible or not.
func anyDescription(t *rapid.T) *newrig.Description {
	d := &newrig.Description{Venue: rapid.SampledFrom([]string{"", "Dockside", "yes", "Hall: \"A\"", "Zoë's Barn #2"}).Draw(t, "venue")}
	profiles := profileNames()
	if rapid.Bool().Draw(t, "few profiles") {
		profiles = profiles[:0]
		for range rapid.IntRange(1, 2).Draw(t, "profiles") {
			profiles = append(profiles, rapid.SampledFrom(profileNames()).Draw(t, "profile"))
		}
	}
	places := append(newrig.PlaceNames(), "", "sides", "FOH", "upstage")
	for range rapid.IntRange(1, 6).Draw(t, "rows") {
		f := newrig.Fixture{
			Profile:  rapid.SampledFrom(profiles).Draw(t, "profile"),
			Count:    rapid.SampledFrom([]int{0, 1, 2, 3, 4, 8, 13}).Draw(t, "count"),
			Place:    rapid.SampledFrom(places).Draw(t, "place"),
			Name:     rapid.SampledFrom([]string{"", "", "wash", "wash", "stage lights", "fronts", "colours", "back truss", "house lights", "no", "bar head", "par 64", "-", "a b 1-4"}).Draw(t, "name"),
			Universe: rapid.SampledFrom([]string{"", "", "", "1", "2", "B", "art-net 0", "stage"}).Draw(t, "universe"),
			Watts:    rapid.SampledFrom([]float64{0, 0, 180, 57.5}).Draw(t, "watts"),
		}
		if rapid.IntRange(0, 3).Draw(t, "addressed") == 0 {
			f.Address = rapid.IntRange(1, 512).Draw(t, "address")
		}
		if rapid.IntRange(0, 4).Draw(t, "placed") == 0 {
			f.At = &[3]float64{rapid.Float64Range(-9, 9).Draw(t, "x"), rapid.Float64Range(-9, 9).Draw(t, "y"), rapid.Float64Range(0, 9).Draw(t, "z")}
		}
		if rapid.IntRange(0, 3).Draw(t, "numbered") == 0 {
			f.Number = rapid.IntRange(1, 20).Draw(t, "number")
		}
		d.Fixtures = append(d.Fixtures, f)
	}
	return d
}

// Any description gives files that load, or says why it cannot.
func TestAnyRig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyDescription(t)
		m, err := newrig.Undrafted(d)
		if err != nil {
			var faults newrig.Faults
			require.ErrorAs(t, err, &faults)
			return
		}
		show, problems := shows.Load(newrig.Folder(m.Files), shows.Options{})
		require.Empty(t, problems, "%s\n%s", m.Files["rig.yaml"], m.Files["looks.yaml"])
		count := 0
		for i := range d.Fixtures {
			count += max(1, d.Fixtures[i].Count)
		}
		require.Len(t, show.Program.Patch.Placements(), count, "every fixture is patched")
		noOverlap(t, show)
		grouped(t, show)
		again, err := newrig.Undrafted(d)
		require.NoError(t, err)
		require.Equal(t, m.Files, again.Files, "the same description gives the same bytes")
		if rapid.IntRange(0, 19).Draw(t, "measured") == 0 { // measuring takes most of the time
			rises(t, m)
			draftable(t, m)
		}
	})
}

// Lamps that a list names one by one go on into the next universe where one is full.
func TestManyLampsWithoutAddresses(t *testing.T) {
	var list strings.Builder
	list.WriteString("name;profile;place\n")
	for i := range 150 { // 750 slots
		fmt.Fprintf(&list, "wash %d;dimmer-rgbw;front truss\n", i+1)
	}
	d, remarks := newrig.ReadList([]byte(list.String()), newrig.ListOptions{})
	require.Empty(t, remarks)
	m, err := newrig.Undrafted(d)
	require.NoError(t, err)
	require.Contains(t, string(m.Files["rig.yaml"]), "wash 1-102: {profile: dimmer-rgbw, universe: universe 1, address: 1,")
	require.Contains(t, string(m.Files["rig.yaml"]), "wash 103-150: {profile: dimmer-rgbw, universe: universe 2, address: 1,")
}

// noOverlap: no slot has two fixtures.
func noOverlap(t require.TestingT, show *shows.Show) {
	owner := map[string]string{}
	for _, p := range show.Program.Patch.Placements() {
		for s := range p.Profile.Footprint() {
			key := fmt.Sprint(p.Universe, " ", p.Address+s)
			require.Empty(t, owner[key], "slot %s of %s", key, p.Name)
			owner[key] = p.Name
		}
	}
}

// grouped: every head that can light is in a group, or its fixture stands alone for its use
// under the name that a group would have, such as "fronts"; then looks name it.
func grouped(t require.TestingT, show *shows.Show) {
	inSome := map[int32]bool{}
	for _, g := range show.Groups {
		for _, h := range g.Heads {
			inSome[h] = true
		}
	}
	named := map[int32]bool{} // by looks
	for _, l := range show.Program.Looks {
		for _, p := range l.Parts {
			for _, h := range p.Heads {
				named[h] = true
			}
		}
	}
	for h, light := range flash.Heads(show.Program.Patch) {
		if light.Flux > 0 && !show.Program.Heads[h].House {
			require.True(t, inSome[int32(h)] || named[int32(h)], "%s is in no group, and no look names it", show.Program.Heads[h].Name)
		}
	}
	require.NotEmpty(t, shows.StageHeads(show.Program), "songs have something to light")
}

// rises: played one after another, the looks of the ladder are brighter each than the one
// before, measured as check does it.
func rises(t require.TestingT, m *newrig.Making) {
	show, problems := shows.Load(newrig.Folder(m.Files), shows.Options{})
	require.Empty(t, problems)
	song := "song: First Song\ntempo: 100 bpm\nmeter: 4/4\nsections:\n"
	for i, r := range show.Ladder.Rungs {
		song += fmt.Sprintf("  - part %c: {bars: 8, energy: %d, look: %s, fade: snap}\n", 'a'+i, r.Energy, r.Look)
	}
	night := measured(t, m, song)
	for i := range night.Songs[0].Sections {
		s := &night.Songs[0].Sections[i]
		if i > 0 {
			before := &night.Songs[0].Sections[i-1]
			require.Greater(t, s.Brightness, before.Brightness, "%s against %s\n%s", show.Ladder.Rungs[i].Look, show.Ladder.Rungs[i-1].Look, m.Files["looks.yaml"])
		}
	}
	harmless(t, night, m)
}

// measured measures the show with another first song.
func measured(t require.TestingT, m *newrig.Making, song string) *plan.Night {
	show, problems := shows.Load(newrig.Folder(m.Files), shows.Options{Instead: map[string][]byte{newrig.FirstSong: []byte(song)}})
	require.Empty(t, problems, song)
	night, err := plan.Measure(context.Background(), show, plan.Options{})
	require.NoError(t, err)
	return night
}

// draftable: songs can be drafted, and nothing in them is dark or flashes.
func draftable(t *rapid.T, m *newrig.Making) {
	var song strings.Builder
	fmt.Fprintf(&song, "song: First Song\ntempo: %d bpm\nmeter: %s\nsections:\n", rapid.IntRange(50, 200).Draw(t, "tempo"), rapid.SampledFrom([]string{"4/4", "3/4", "6/8"}).Draw(t, "meter"))
	for i := range rapid.IntRange(1, 6).Draw(t, "sections") {
		fmt.Fprintf(&song, "  - %s %c: {bars: %d, energy: %d%s}\n", rapid.SampledFrom([]string{"verse", "chorus", "breakdown"}).Draw(t, "section"), 'a'+i,
			rapid.IntRange(2, 12).Draw(t, "bars"), rapid.IntRange(0, 10).Draw(t, "energy"), rapid.SampledFrom([]string{"", "", "", ", spoken: yes"}).Draw(t, "spoken"))
	}
	files := map[string][]byte{}
	for name, src := range m.Files {
		files[name] = src
	}
	files[newrig.FirstSong] = []byte(song.String())
	d, err := draft.New(newrig.Folder(files), newrig.FirstSong)
	require.NoError(t, err)
	harmless(t, measured(t, m, string(d.Source)), m)
}

// harmless: check finds nothing dark and nothing that flashes.
func harmless(t require.TestingT, night *plan.Night, m *newrig.Making) {
	bad := []plan.Kind{plan.DarkGap, plan.FacesDark, plan.FrontLightOut, plan.Flashing}
	for _, f := range slices.Concat(night.Findings, night.Songs[0].Findings) {
		require.NotContains(t, bad, f.Kind, "%s: %s\n%s%s", f.Place, f.Reason, m.Files["rig.yaml"], m.Files["looks.yaml"])
	}
}

// What is refused is told with the row and the reason.
func TestRefused(t *testing.T) {
	row := func(f newrig.Fixture) *newrig.Description {
		f.Line = 3
		return &newrig.Description{Fixtures: []newrig.Fixture{f}}
	}
	for _, c := range []struct {
		d    *newrig.Description
		want string
	}{
		{&newrig.Description{}, "no fixtures are described"},
		{row(newrig.Fixture{Profile: "hazer"}), "no fixture here gives light"},
		{row(newrig.Fixture{Profile: "dimer"}), `line 3: dimer: there is no such profile`},
		{row(newrig.Fixture{Profile: "dimer"}), `the nearest is "dimmer"`},
		{row(newrig.Fixture{Profile: "dimmer", Count: 513}), "at most 512 fixtures in a row"},
		{row(newrig.Fixture{Profile: "rgb", Count: 171, Universe: "1"}), "takes 513 slots"},
		{row(newrig.Fixture{Profile: "rgb", Address: 511}), "takes slots 511 to 513 of universe 1, which has 512"},
		{row(newrig.Fixture{Profile: "rgb", Place: "bakc truss"}), `the nearest is "back truss"`},
		{row(newrig.Fixture{Profile: "rgb", Universe: "70000"}), "70000 is no sacn universe, which are 1 to 63999"},
		{row(newrig.Fixture{Profile: "rgb", Universe: "art-net 40000"}), "40000 is no art-net universe, which are 0 to 32767"},
		{&newrig.Description{Universes: []newrig.Universe{{Label: "art-net 0", Multicast: true}}, Fixtures: []newrig.Fixture{{Profile: "rgb", Universe: "Art-Net 0"}}}, "universe art-net 0: only sACN has multicast"},
		{&newrig.Description{Fixtures: []newrig.Fixture{{Profile: "rgb", Address: 1, Line: 2}, {Profile: "rgb", Address: 3, Line: 3}}}, "line 3: wash 2: takes slots 3 to 5 of universe 1, and wash 1 of line 2 has 1 to 3"},
		{&newrig.Description{Profiles: []newrig.Profile{{Name: "x", Text: "channels: [blorp]\n"}}, Fixtures: []newrig.Fixture{{Profile: "rgb"}}}, "profiles/x.yaml"},
	} {
		_, err := newrig.Make(c.d)
		var faults newrig.Faults
		require.True(t, errors.As(err, &faults), "%v", err)
		require.ErrorContains(t, err, c.want)
	}
}
