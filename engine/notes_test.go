package engine

import "testing"

// A map as a show might have it: sections on channel 1, armed for the bar on
// 2, for the section's end on 3, controls and programs on 16.
func TestNotes(t *testing.T) {
	n := NewNotes()
	n.Fire, n.Control, n.Tap = 1, 16, 40
	n.Arm[NextBar], n.Arm[SectionEnd] = 2, 3
	n.Controls[36], n.Controls[37] = Hold, Release
	n.ByProgram[5] = 2
	cases := []struct {
		name          string
		channel, note uint8
		want          Command
		ok            bool
	}{
		{"fire", 1, 60, Command{Kind: FireNote, Index: 60}, true},
		{"fire, lowest and highest", 1, 0, Command{Kind: FireNote}, true},
		{"", 1, 127, Command{Kind: FireNote, Index: 127}, true},
		{"arm for the bar", 2, 60, Command{Kind: ArmNote, When: NextBar, Index: 60}, true},
		{"arm for the end", 3, 60, Command{Kind: ArmNote, When: SectionEnd, Index: 60}, true},
		{"control", 16, 36, Command{Kind: Hold}, true},
		{"control's note elsewhere enters a section", 1, 36, Command{Kind: FireNote, Index: 36}, true},
		{"no such control", 16, 38, Command{}, false},
		{"a channel that means nothing", 4, 60, Command{}, false},
		{"no MIDI note", 1, 128, Command{}, false},
		{"no MIDI note", 16, NoNote, Command{}, false},
	}
	for _, c := range cases {
		if got, ok := n.NoteOn(c.channel, c.note); got != c.want || ok != c.ok {
			t.Errorf("%s: channel %d note %d: %+v, %v; want %+v, %v", c.name, c.channel, c.note, got, ok, c.want, c.ok)
		}
	}
	if !n.IsTap(16, 40) || n.IsTap(1, 40) || n.IsTap(16, 41) {
		t.Error("the tap is note 40 on channel 16")
	}
	if c, ok := n.ProgramChange(16, 5); !ok || c != (Command{Kind: SelectSong, Index: 2}) {
		t.Errorf("program 5: %+v, %v", c, ok)
	}
	for _, p := range [][2]uint8{{16, 6}, {1, 5}, {16, 128}, {16, 255}} {
		if c, ok := n.ProgramChange(p[0], p[1]); ok {
			t.Errorf("channel %d program %d: %+v", p[0], p[1], c)
		}
	}
	n.Faders[20], n.Faders[21] = AllFader, 0
	for _, c := range []struct {
		channel, controller, value uint8
		want                       Command
		ok                         bool
	}{
		{16, 20, 127, Command{Kind: GrandMaster, Level: 1, Over: faderStep}, true},
		{16, 20, 0, Command{Kind: GrandMaster, Over: faderStep}, true},
		{16, 21, 64, Command{Kind: GroupMaster, Level: 64.0 / 127, Over: faderStep}, true},
		{1, 21, 64, Command{}, false},
		{16, 22, 64, Command{}, false},
		{16, 128, 64, Command{}, false},
		{16, 21, 128, Command{}, false},
	} {
		if got, ok := n.ControlChange(c.channel, c.controller, c.value); got != c.want || ok != c.ok {
			t.Errorf("controller %d to %d on %d: %+v, %v", c.controller, c.value, c.channel, got, ok)
		}
	}
	n.Control = 0 // any channel
	if _, ok := n.NoteOn(7, 36); !ok || !n.IsTap(3, 40) {
		t.Error("controls on any channel")
	}
	if _, ok := n.ProgramChange(9, 5); !ok {
		t.Error("programs on any channel")
	}
}

func TestNewNotesMeanNothing(t *testing.T) {
	n := NewNotes()
	for channel := uint8(1); channel <= 16; channel++ {
		for note := range uint8(255) {
			if c, ok := n.NoteOn(channel, note); ok || n.IsTap(channel, note) {
				t.Fatalf("channel %d note %d: %+v", channel, note, c)
			}
			if c, ok := n.ProgramChange(channel, note); ok {
				t.Fatalf("channel %d program %d: %+v", channel, note, c)
			}
			if c, ok := n.ControlChange(channel, note, 64); ok {
				t.Fatalf("channel %d controller %d: %+v", channel, note, c)
			}
		}
	}
}
