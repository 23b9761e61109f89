package plot

import (
	"slices"

	"tactus/shows"
	"tactus/shows/language"
	"tactus/shows/sheet"
)

// universeLines is the most lines of the key of universes.
const universeLines = 8

// usedUniverses returns the universes that have fixtures, by the engine's index.
func usedUniverses(s *shows.Show) (list []int) {
	for _, f := range s.Program.Patch.Placements() {
		if !slices.Contains(list, f.Universe) {
			list = append(list, f.Universe)
		}
	}
	slices.Sort(list)
	return list
}

// addressWords returns a head's universe and start address, as the crew sets it: "1.21"
// on sACN universe 1, "0.0.1/21" on the Art-Net universe of Net 0, Sub-Net 0 and
// Universe 1, "stage.21" on one that is not sent.
func (d *ground) addressWords(head int32) string {
	f := d.show.Program.Patch.Placements()[d.show.Program.Heads[head].Fixture]
	return universeWords(&d.show.Outputs.Universes[f.Universe]) + itoa(f.Address)
}

// universeWords returns how a universe is written before an address.
func universeWords(u *shows.Universe) string {
	switch u.Protocol {
	case shows.SACN:
		return itoa(u.Number) + "."
	case shows.ArtNet:
		return language.PortAddress(u.Number) + "/"
	}
	return u.Name + "."
}

// addressTitle heads the column of addresses.
func (d *ground) addressTitle() string {
	dot, slash := false, false
	for _, i := range d.universes {
		artNet := d.show.Outputs.Universes[i].Protocol == shows.ArtNet
		dot, slash = dot || !artNet, slash || artNet
	}
	switch {
	case dot && slash:
		return "address"
	case slash:
		return "universe/address"
	}
	return "universe.address"
}

// universeKeyHigh returns the height of the key of universes.
func (d *ground) universeKeyHigh() float64 {
	return 5 + float64(keyLine*float64(min(universeLines, len(d.universes))))
}

// universeKey explains the universes of the addresses: by name, protocol and number.
func (d *ground) universeKey(x, y, wide float64) {
	d.Bold(x, y, 2.2, sheet.Start, sheet.Black, "address n, and its universe")
	d.Line(x, y+1.2, x+wide-3, y+1.2, 0.3, sheet.Strong)
	for i, n := range d.universes {
		line := y + 5 + float64(keyLine*float64(i))
		if i == universeLines-1 && len(d.universes) > universeLines {
			d.Words(x+4.4, line, 2.4, sheet.Start, sheet.Black, itoa(len(d.universes)-i)+" more universes: tactus patch prints them all")
			return
		}
		u := &d.show.Outputs.Universes[n]
		wire := u.Wire()
		switch more := wire + " (port address " + itoa(u.Number) + ")"; {
		case u.Protocol == shows.Virtual:
			wire += ", not sent"
		case u.Protocol == shows.ArtNet && d.Fits(more, 2.4, wide-39, false) == more:
			wire = more
		}
		d.Words(x+4.4, line, 2.4, sheet.Start, sheet.Black, d.Fits(universeWords(u)+"n", 2.4, 16, false))
		d.Bold(x+22, line, 2.4, sheet.Start, sheet.Black, d.Fits(u.Name, 2.4, 13, true))
		d.Words(x+36, line, 2.4, sheet.Start, sheet.Black, wire)
	}
}
