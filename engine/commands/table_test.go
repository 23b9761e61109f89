package commands_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/commands"
	"tactus/protocol/osc"
)

// program has one of everything that an argument can name.
func program() *engine.Program {
	return &engine.Program{
		SectionNames: []string{"chorus"}, Songs: []engine.Song{{Name: "Long Shore"}},
		Looks: []engine.Cue{{Name: "embers"}}, Groups: []engine.Group{{Name: "washes"}},
	}
}

// fitting returns an argument that fits a kind.
func fitting(t *testing.T, k commands.ArgumentKind) osc.Arg {
	t.Helper()
	arg, ok := map[commands.ArgumentKind]osc.Arg{
		commands.SectionName: osc.Text("chorus"), commands.SectionNumber: osc.Int(1),
		commands.SongName: osc.Text("Long Shore"), commands.SongNumber: osc.Int(1),
		commands.LookName: osc.Text("embers"), commands.GroupName: osc.Text("washes"),
		commands.Level: osc.Float(0.5), commands.Seconds: osc.Float(2),
		commands.Boundary: osc.Text("phrase"), commands.BoundaryOrOnce: osc.Text("once"),
	}[k]
	require.True(t, ok, "argument kind %d has no sample here", k)
	return arg
}

// onlyEngine are the commands that nothing outside can give, each with the reason.
func onlyEngine() map[engine.CommandKind]string {
	return map[engine.CommandKind]string{
		engine.Override: "older journals and callers of the engine; no control gives it",
	}
}

// Every command has one row, and a row has what a reader of documentation needs.
func TestEveryCommandHasARow(t *testing.T) {
	rows, names := map[engine.CommandKind]int{}, map[string]bool{}
	for _, r := range commands.Table() {
		rows[r.Kind()]++
		assert.False(t, names[r.Name], "%q is the name of two commands", r.Name)
		names[r.Name] = true
		for _, was := range r.FormerNames {
			assert.False(t, names[was], "%q, an older word for %q, is taken", was, r.Name)
			names[was] = true
		}
		assert.NotEmpty(t, r.Description, r.Name)
		assert.Equal(t, r.Kind() == 0, r.Event != 0, "%q asks either the show or the clock", r.Name)
		assert.NotContains(t, r.Path, " ", r.Name)
		assert.False(t, strings.HasPrefix(r.Path, "/"), "%q: %q has a slash in front", r.Name, r.Path)
		reached := r.Path != "" || r.Note != 0 || r.MIDI != ""
		assert.Equal(t, onlyEngine()[r.Kind()] == "", reached, "%q: can something give it?", r.Name)
	}
	for k := engine.SelectSong; k < engine.NumCommands; k++ {
		assert.Equal(t, 1, rows[k], "rows of command %d", k)
		row, ok := commands.Lookup(k)
		require.True(t, ok)
		assert.Equal(t, k, row.Kind())
	}
	for _, k := range []engine.CommandKind{0, engine.NumCommands, 255} {
		_, ok := commands.Lookup(k)
		assert.False(t, ok, "command %d does not exist", k)
	}
}

// Every address reaches every command that has it, and only those: with all of
// the arguments, and with those that it cannot do without.
func TestEveryAddressReachesItsCommands(t *testing.T) {
	reached := map[string]bool{}
	for _, a := range commands.Addresses() {
		for _, row := range a.Rows {
			var least, all []osc.Arg
			for _, arg := range row.Args {
				all = append(all, fitting(t, arg.Kind))
				if !arg.Optional {
					least = all
				}
			}
			for _, args := range [][]osc.Arg{least, all} {
				in, err := a.Parse(program(), args)
				require.NoError(t, err, "%s %v", a.Path, args)
				assert.Equal(t, row.Kind(), in.Command.Kind, a.Path)
				assert.Equal(t, row.Event, in.Event.Kind, a.Path)
			}
			_, err := a.Parse(program(), append(all, osc.Float(1), osc.Float(1)))
			require.Error(t, err, "%s with two arguments too many", a.Path)
			reached[row.Name] = true
		}
		for _, i := range a.Rows[0].Args {
			assert.Contains(t, a.DescribeArgs(), i.Describe())
		}
	}
	for _, r := range commands.Table() {
		assert.Equal(t, r.Path != "", reached[r.Name], "%q by OSC and on the page", r.Name)
	}
}

// What arguments may be, at the ends of their ranges and beyond.
func TestArguments(t *testing.T) {
	level, over := commands.Argument{Kind: commands.Level}, commands.Argument{Kind: commands.Seconds, Optional: true}
	assert.Equal(t, "a level 0 to 1", level.Describe())
	assert.Equal(t, "seconds 0 to 1000 (default 0)", over.Describe())
	address := func(path string) commands.Address {
		for _, a := range commands.Addresses() {
			if a.Path == path {
				return a
			}
		}
		require.Fail(t, "no address", path)
		return commands.Address{}
	}
	for _, c := range []struct {
		path string
		args []osc.Arg
		want engine.Command
		err  string
	}{
		{"master", []osc.Arg{osc.Float(1), osc.Float(1000)}, engine.Command{Kind: engine.GrandMaster, Level: 1, Over: 1000 * clock.Second}, ""},
		{"master", []osc.Arg{osc.Float(0)}, engine.Command{Kind: engine.GrandMaster}, ""},
		{"master", []osc.Arg{osc.Float(1.5)}, engine.Command{}, "1.5 is not a level of 0 to 1"},
		{"master", []osc.Arg{osc.Float(1), osc.Float(1001)}, engine.Command{}, "1001 is not a time of 0 to 1000 seconds"},
		{"master", nil, engine.Command{}, "0 arguments; want a level 0 to 1; seconds 0 to 1000 (default 0)"},
		{"section/arm", []osc.Arg{osc.Text("chorus"), osc.Text("phrase")}, engine.Command{Kind: engine.ArmName, When: engine.NextPhrase}, ""},
		{"section/arm", []osc.Arg{osc.Int(2)}, engine.Command{Kind: engine.ArmSection, Index: 1, When: engine.NextBar}, ""},
		{"section/arm", []osc.Arg{osc.Int(2), osc.Text("once")}, engine.Command{}, `"once" is not a boundary`},
		{"section/next", []osc.Arg{osc.Text("once")}, engine.Command{Kind: engine.NextSection, When: engine.AtOnce}, ""},
		{"section/fire", []osc.Arg{osc.Text("coda")}, engine.Command{}, `no section "coda"`},
		{"section/fire", []osc.Arg{osc.Int(0)}, engine.Command{}, "0 is neither the name nor the number of a section"},
		{"look", []osc.Arg{osc.Int(1)}, engine.Command{}, "1 is not the name of a look"},
	} {
		a := address(c.path)
		in, err := a.Parse(program(), c.args)
		if c.err != "" {
			assert.EqualError(t, err, c.err, c.path)
			continue
		}
		require.NoError(t, err, c.path)
		assert.Equal(t, c.want, in.Command, c.path)
	}
}

// A note asks for exactly what its command's address asks for, and no two notes
// are the same.
func TestNotesAskForTheSame(t *testing.T) {
	n := engine.Notes{Tap: 128, Halve: 128, Double: 128, Control: 16}
	paths := map[string]commands.Address{}
	for _, a := range commands.Addresses() {
		paths[a.Path] = a
	}
	last := uint8(0)
	for _, r := range commands.ByNote() {
		assert.Greater(t, r.Note, last, "%q: the note is taken, or out of order", r.Name)
		assert.LessOrEqual(t, r.Note, uint8(127))
		last = r.Note
		if r.Kind() == 0 {
			continue
		}
		n.Controls[r.Note] = r.Kind()
		byNote, ok := n.NoteOn(16, r.Note)
		require.True(t, ok, r.Name)
		a := paths[r.Path]
		in, err := a.Parse(program(), nil)
		require.NoError(t, err, r.Name)
		assert.Equal(t, in.Command, byNote, r.Name)
	}
}

// Each button gives a command that needs no arguments, and one that goes on and
// off has both words.
func TestButtons(t *testing.T) {
	for _, r := range commands.Table() {
		b := r.Button
		if b.Label == "" {
			assert.Zero(t, b, "%q has a button without a label", r.Name)
			continue
		}
		assert.NotEmpty(t, r.Path, r.Name)
		for _, a := range r.Args {
			assert.True(t, a.Optional, "%q has a button and needs an argument", r.Name)
		}
		if b.Undo != 0 {
			undo, ok := commands.Lookup(b.Undo)
			require.True(t, ok)
			assert.NotEmpty(t, undo.Path, undo.Name)
			assert.NotEmpty(t, undo.Button.Label, undo.Name)
			assert.Empty(t, undo.Button.Group, "%q stands on the button of %q", undo.Name, r.Name)
		}
	}
}
