package newrig_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tactus/shows/newrig"
)

// told writes a description as short lines: name first×count profile @universe/address in
// place.
func told(d *newrig.Description) (out string) {
	for _, f := range d.Fixtures {
		out += fmt.Sprintf("%s %d×%d %s @%s/%d in %s", f.Name, f.Number, f.Count, f.Profile, f.Universe, f.Address, f.Place)
		if f.At != nil {
			out += fmt.Sprint(*f.At)
		}
		if f.Watts > 0 {
			out += fmt.Sprintf(" %g W", f.Watts)
		}
		out += "\n"
	}
	return out
}

// Lists as people paste them are understood.
func TestLists(t *testing.T) {
	for _, c := range []struct{ name, list, want string }{
		{
			"tabs", "Name\tProfile\tUniverse\tAddress\tPlace\nwash 1\tdimmer-rgbw\t1\t33\tfront truss\nwash 2\tdimmer-rgbw\t1\t38\tfront truss\n",
			"wash 1×0 dimmer-rgbw @1/33 in front truss\nwash 2×0 dimmer-rgbw @1/38 in front truss\n",
		},
		{"semicolons and another order", "Adresse;Ort;Typ;Anzahl;Bezeichnung\r\n1,001;Upstage;RGBW 5 Kanal;4;Wash\r\n", "Wash 0×4 dimmer-rgbw @1/1 in back truss\n"},
		{"commas", "qty,type,where\n4,RGB,FOH\n2,dimmer,\"hall\"\n", " 0×4 rgb @/0 in hall\n 0×2 dimmer @/0 in hall\n"},
		{"no header", "wash 1, dimmer-rgb, 2, 17, back truss\n", "wash 1×0 dimmer-rgb @2/17 in back truss\n"},
		{"answers", "4 rgbw on the front truss\n2x dimmer at hall, universe 2, address 7\nhazer\n", " 0×4 rgbw @/0 in front truss\n 0×2 dimmer @2/7 in hall\n 0×0 hazer @/0 in \n"},
		{
			"universe in the address", "name,profile,address\na,rgb,1.001\nb,rgb,1/7\nc,rgb,B13\nd,rgb,2:4\ne,rgb,1.025\n",
			"a 0×0 rgb @1/1 in \nb 0×0 rgb @1/7 in \nc 0×0 rgb @B/13 in \nd 0×0 rgb @2/4 in \ne 0×0 rgb @1/25 in \n",
		},
		{"zeros that a spreadsheet dropped", "name\tprofile\taddress\na\trgb\t1.001\nb\trgb\t1.1\nc\trgb\t1.01\n", "a 0×0 rgb @1/1 in \nb 0×0 rgb @1/100 in \nc 0×0 rgb @1/10 in \n"},
		{"decimal commas", "name;profile;x;y;z;watts;address\na;dimmer;-3,5;0;4,25;57,5;33,0\n", "a 0×0 dimmer @/33 in [-3.5 0 4.25] 57.5 W\n"},
		{"measures in one cell", "name;profile;position\na;dimmer;-3,5 / 0 / 4,2\n", "a 0×0 dimmer @/0 in [-3.5 0 4.2]\n"},
		{"counted through", "name,profile,address\na,rgb,513\n", "a 0×0 rgb @2/1 in \n"},
		{"a range", "name,profile,address\nwash 1-4,rgb,1-12\n", "wash 1×4 rgb @/1 in \n"},
		{
			"headings for places", "Back truss:\nwash 1;rgb;1;1\nwash 2;rgb;1;4\nHall\nfront 1;dimmer;1;7\n",
			"wash 1×0 rgb @1/1 in back truss\nwash 2×0 rgb @1/4 in back truss\nfront 1×0 dimmer @1/7 in hall\n",
		},
		{
			"modes in words", "fixture;type;mode\npar 1;RGBW LED par;8 bit, 6ch\npar 2;RGB wash;16 bit with dimmer\nbar 1;RGBW bar 4;\nm 1;moving head;\ns 1;fresnel;\nw;tunable white;\n",
			"par 1×0 dimmer-rgbw-shutter @/0 in \npar 2×0 dimmer-rgb-16 @/0 in \nbar 1×0 rgbw-bar-4 @/0 in \nm 1×0 head-rgbw @/0 in \ns 1×0 dimmer @/0 in \nw 0×0 warm-cool @/0 in \n",
		},
		{"a mark at the beginning, and comments", "\ufeffname,profile\n# spare\na,rgb\n\n", "a 0×0 rgb @/0 in \n"},
		{
			"quoted cells with separators and line breaks", "\ufeffName,\"Fixture\nType\",\"DMX\nUniverse\",Address,Notes,,\r\n\"wash 1\",\"RGBW, 5ch\",1,1,\"gel; none\r\nspare; 2\",,\r\n,,,,,,\r\n\"front, left\",\"par 64, 8\"\" deep\",1,40,,,\r\n",
			"wash 1×0 dimmer-rgbw @1/1 in \nfront, left 0×0 dimmer @1/40 in \n",
		},
		{"semicolons with commas in most cells", "Name;Type;x\na, b;RGBW, 5ch;-1,5\n", "a, b 0×0 dimmer-rgbw @/0 in [-1.5 0 0]\n"},
		{"commas with a semicolon in a cell", "name,profile,notes\na,rgb,warm; new\nb,rgb,\n", "a 0×0 rgb @/0 in \nb 0×0 rgb @/0 in \n"},
		{"tabs with a quoted line break", "Name\tType\tNotes\nwash 1\trgb\t\"one\ntwo\"\nwash 2\trgb\t\n", "wash 1×0 rgb @/0 in \nwash 2×0 rgb @/0 in \n"},
		{"a title above the header", "Dockside Hall, 2026;;\n;;\nBack truss;;\nName;Type;Address\na;rgb;1\n", "a 0×0 rgb @/1 in back truss\n"},
		{"row numbers", "No.;Name;Type\n1;wash 1;rgb\n2;wash 2;rgb\n", "wash 1×0 rgb @/0 in \nwash 2×0 rgb @/0 in \n"},
		{"row numbers under their sign", "#,Name,Type\n1,wash 1,rgb\n#,spare,rgb\n", "wash 1×0 rgb @/0 in \n"},
		{"fixtures with an identity", "ID,Fixture,Universe,Address\nA1,rgb,2,7\n", "A 1×0 rgb @2/7 in \n"},
		{
			"a theatre's list", "Channel,Unit,Position,Purpose,Instrument Type,Address\n1,1,Balcony,warm,Fresnel,1/12\n",
			" 1×0 dimmer @1/12 in hall\n",
		},
		{"row numbers in place of names", "#,Type,Qty\n1,rgb,4\n2,dimmer,2\n", " 1×4 rgb @/0 in \n 2×2 dimmer @/0 in \n"},
		{"a thousand watts", "Type;Watts;Place\ndimmer;1.000;1st Electric\ndimmer;\"1,200 W\";LX 2\n", " 0×0 dimmer @/0 in front truss 1000 W\n 0×0 dimmer @/0 in middle truss 1200 W\n"},
		{"16 bits a letter", utf16Text("name\tprofile\nZoë\trgb\n"), "Zoë 0×0 rgb @/0 in \n"},
		{"Latin-1", "name;profile\nZo\xeb;rgb\n", "Zoë 0×0 rgb @/0 in \n"},
		{"Windows-1252", "name;profile\nwash 1\x964;rgb\n", "wash 1×4 rgb @/0 in \n"},
	} {
		d, remarks := newrig.ReadList([]byte(c.list), newrig.ListOptions{})
		assert.Empty(t, newrig.FaultsOf(remarks), c.name)
		assert.Equal(t, c.want, told(d), c.name)
	}
}

func utf16Text(s string) string {
	out := "\xff\xfe"
	for _, u := range utf16.Encode([]rune(s)) {
		out += string([]byte{byte(u), byte(u >> 8)})
	}
	return out
}

// What is not understood is told with its line, the text, the reason and the nearest name.
func TestListFaults(t *testing.T) {
	for _, c := range []struct{ list, want string }{
		{"", "the list is empty"},
		{"name,profile\na,dimmer-rgbv\n", `line 2: dimmer-rgbv: no such profile; 'tactus fixtures' lists all; the nearest is "dimmer-rgb"`},
		{"name,profile\na,rgb\nb,\n", "line 3: b: no such profile"},
		{"address,profile\n1,\n", "line 2: no profile is said"},
		{"name,profile,mode\na,rgbw,9ch\n", `line 2: rgbw 9ch: no built-in profile of that kind has 9 channels; write one with the channels of its manual, or import its GDTF file; the nearest is "rgbw"`},
		{"name,profile,address\na,rgb,1. Jan\n", "line 2: 1. Jan: a date, which a spreadsheet made of an address such as 1/1"},
		{"name,profile,address\na,rgb,0\n", "line 2: 0: 0 is no address; want 1 to 512"},
		{"name,profile,address\na,rgb,-3\n", "line 2: -3: -3 is no address; want 1 to 512"},
		{"name,profile,universe,address\na,rgb,1,513\n", "line 2: 513: 513 is no address; want 1 to 512"},
		{"name,profile,universe,address\na,rgb,1,2.001\n", "line 2: 2.001: names universe 2, and the line has universe 1"},
		{"name,profile,address\na,rgb,soon\n", "line 2: soon: no address; want 1 to 512, or with the universe 1.001, 1/1 or A1"},
		{"name,profile,place\na,rgb,bakc truss\n", `line 2: bakc truss: no place of that name; places are front truss, middle truss, back truss, left side, right side, front floor, back floor, hall, house, or three measures in metres; the nearest is "back truss"`},
		{"qty,profile\nfour,rgb\n", "line 2: four: want a count of 1 to 512"},
		{"qty,profile\n600,rgb\n", "line 2: 600: want a count of 1 to 512"},
		{"name;profile;watts\na;rgb;lots\n", "line 2: lots: want watts such as 180"},
		{"name,profile,z\na,rgb,4,2\n", "line 2: 2: cell 4, and the header has 3; where numbers have decimal commas, part the cells by semicolons or tabs"},
		{"a, rgb, 1, 2, 3\n", "line 1: 1, 2, 3: numbers that nothing tells apart"},
		{"name,profile\na,big laser\n", "line 2: big laser: this program does not control hazards"},
		{"name;profile;address\na;rgb;1\n\"wash 1;rgb;4\nwash 2;rgb;7\n", `line 3: wash 1;rgb;4 wash 2;rgb;7: a quotation mark begins this cell and none ends it`},
		{"\"wash 1;rgb;1\nwash 2;rgb;4\n", `line 1: wash 1;rgb;1 wash 2;rgb;4: a quotation mark begins this cell and none ends it`},
		{"name,profile\na,x.gdtf\n", "line 2: x.gdtf: fixture files are not read here"},
		{strings.Repeat("a,rgb\n", 9000), "the list has 9001 lines, at most 8192"},
		{strings.Repeat("x", newrig.MaxList+1), "bytes, at most 1048576"},
	} {
		_, remarks := newrig.ReadList([]byte(c.list), newrig.ListOptions{})
		faults := newrig.FaultsOf(remarks)
		require.NotEmpty(t, faults, c.list)
		assert.Contains(t, faults.Error(), c.want)
	}
}

// What was assumed is told, and the line counts.
func TestListNotes(t *testing.T) {
	for _, c := range []struct{ list, want string }{
		{"name,profile,weight\na,rgb,12 kg\n", "line 1: weight: this column is not used"},
		{"name,profile\na,RGBW wash\n", "line 2: RGBW wash: taken as rgbw, slots: 4; if the fixture's manual has others, write the profile's name or the count of channels: dimmer-rgbw (5)"},
		{"name\tprofile\taddress\na\trgb\t1.001\nb\trgb\t1.1\n", "line 3: 1.1: read as slot 100"},
		{"name,profile,address\na,rgb,513\n", "line 2: 513: counted through all universes: universe 2, address 1"},
		{"name;profile\nZo\xeb;rgb\n", "the list is not UTF-8"},
		{"Dockside Hall;\nname;profile;address\na;rgb;1\n", "line 1: Dockside Hall: stands above the header line, and is not used"},
		{"no;name;profile\n1;a;rgb\n", "line 1: no: this column is not used"},
		{"name,profile,notes,weight\na,rgb,\"x\ny\",\nb,RGBW wash,,\n", "line 4: RGBW wash: taken as rgbw"},
	} {
		_, remarks := newrig.ReadList([]byte(c.list), newrig.ListOptions{})
		assert.Empty(t, newrig.FaultsOf(remarks), c.list)
		assert.Contains(t, newrig.Faults(remarks).Error(), c.want)
	}
}

// A fixture file that a list names becomes a profile, once.
func TestListOpensFiles(t *testing.T) {
	o := newrig.ListOptions{Open: func(file, mode string) (newrig.Profile, error) {
		if mode == "" {
			return newrig.Profile{}, errors.New("--mode is missing")
		}
		return newrig.Profile{Name: "my-wash", Text: "channels: [intensity, red, green, blue]\n"}, nil
	}}
	d, remarks := newrig.ReadList([]byte("name;profile;mode\na;my-wash.gdtf;4\nb;my-wash.gdtf;4\nc;my-wash.gdtf;\n"), o)
	require.Len(t, remarks, 1)
	require.Contains(t, remarks[0].String(), "line 4: my-wash.gdtf: --mode is missing")
	require.Len(t, d.Profiles, 1)
	m, err := newrig.Make(d)
	require.NoError(t, err)
	require.Contains(t, string(m.Files["rig.yaml"]), "profile: my-wash")
	require.Contains(t, m.Files, "profiles/my-wash.yaml")
}

// Any list is understood or told, and what is understood makes a show or is told.
func FuzzList(f *testing.F) {
	for _, s := range []string{
		"Name\tProfile\tUniverse\tAddress\tPlace\nwash 1\tdimmer-rgbw\t1\t33\tfront truss\n",
		"Adresse;Ort;Typ;Anzahl\n1,001;Upstage;RGBW 5 Kanal;4\n", "4 rgbw on the front truss, universe 2, address 7\nhazer\n",
		"Back truss:\nwash 1;rgb;1.1\nwash 2;rgb;1.001\n", "a,\"b\nc\",1. Jan\n", "x\ty\tz\n1\t2\t3\n", "\xff\xfea\x00", "qty,profile\n512,rgb\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		d, remarks := newrig.ReadList(src, newrig.ListOptions{})
		for _, r := range remarks {
			if r.Reason == "" || strings.ContainsAny(r.String(), "\n\r") {
				require.Fail(t, "a remark of one line with a reason", "%q", r)
			}
		}
		if len(d.Fixtures) == 0 || len(d.Fixtures) > 40 {
			return
		}
		_, err := newrig.Undrafted(d)
		var faults newrig.Faults
		if err != nil && !errors.As(err, &faults) {
			require.NoError(t, err)
		}
	})
}
