package newrig

import (
	"fmt"
	"math"
	"strings"
)

// rigFile writes rig.yaml.
func (p *plot) rigFile() []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "# yaml-language-server: $schema=schema/rig.schema.json\n#\n# The lights of %s.\n#\n", p.venue)
	b.WriteString("# Places are metres: house left (-) to house right (+) as the audience sees the\n" +
		"# stage, front of the stage (0) to the back, height above the stage floor. Those that\n" +
		"# nobody measured are those of a small hall: put yours, for the pictures and for the\n" +
		"# way effects go through the rig.\n#\n" +
		"# CAUTION: hang, secure and power fixtures as your hall, their makers and local\n" +
		"# rules ask. This file knows nothing of weight or safety bonds, and of mains only\n" +
		"# what is typed below.\n\n")
	fmt.Fprintf(&b, "venue: %s\n\nsacn:\n  source name: %s\n\n", quote(p.venue), quote(p.venue))
	p.universeLines(&b)
	b.WriteString("\n# White on all of them, and what the colours of palettes are seen beside.\nwhite: 5600 K\n\n")
	b.WriteString("# \"wash 1-4\" stands for four fixtures on addresses one after another, spaced evenly\n" +
		"# between \"from\" and \"to\". With \"watts:\" and \"circuit:\" on each, and \"mains:\" and\n" +
		"# \"circuits:\", 'tactus patch SHOW --power' adds up the load. CAUTION: mains\n" +
		"# distribution is for qualified people under local code.\nfixtures:\n")
	before := ""
	for i := range p.rows {
		w := &p.rows[i]
		if about := w.heading(); about != before {
			fmt.Fprintf(&b, "%s\n", about)
			before = about
		}
		b.WriteString("  " + w.line() + "\n")
	}
	p.groupLines(&b)
	p.layerLines(&b)
	return []byte(b.String())
}

// universeLines writes where the packets of each universe go.
func (p *plot) universeLines(b *strings.Builder) {
	local := false
	for i := range p.universes {
		local = local || p.universes[i].local()
	}
	if local {
		b.WriteString("# \"to: [127.0.0.1]\" sends to this computer only. For a real rig take \"to\" away (sACN\n# then goes out by multicast), or write the addresses of your gateways there.\n")
	}
	b.WriteString("universes:\n")
	for i := range p.universes {
		u := &p.universes[i]
		keys := fmt.Sprintf("%s: %d", u.Protocol, u.Number)
		switch {
		case u.local():
			keys += ", to: [127.0.0.1]"
		case u.Multicast:
		default:
			keys += ", to: [" + strings.Join(u.To, ", ") + "]"
		}
		fmt.Fprintf(b, "  %s: {%s}\n", quote(u.name), keys)
	}
}

// local reports whether packets go to this computer only.
func (u *Universe) local() bool {
	return len(u.To) == 0 && !u.Multicast
}

// heading is a comment above a row; rows one after another with the same have it once.
func (w *row) heading() string {
	switch {
	case w.use == hazer:
		return "  # CAUTION: haze may set off smoke detectors, and some people cannot bear it.\n  # Ask the hall, put a notice on the door, and air the room."
	case w.use == other:
		return "  # Gives neither light nor haze; no look uses it."
	}
	about := strings.ToUpper(w.place.Name[:1]) + w.place.Name[1:]
	if w.place.About != "" {
		about += ": " + w.place.About
	}
	if len(w.moves) > 0 {
		about += ".\n  # CAUTION: try out where beams go before people come, and keep them out of eyes;\n  # \"pan: {from: 20 %, to: 80 %}\" limits what a fixture may do at its place"
	}
	return "  # " + about + "."
}

// line is the row as rig.yaml has it.
func (w *row) line() string {
	keys := []string{"profile: " + quote(w.Profile), "universe: " + quote(w.Universe), fmt.Sprintf("address: %d", w.Address)}
	if w.Watts > 0 {
		keys = append(keys, "watts: "+number(w.Watts)+" W")
	}
	points := w.points()
	point := func(at [3]float64) string {
		return "[" + metres(at[0]) + ", " + metres(at[1]) + ", " + metres(at[2]) + "]"
	}
	first, last := points[0], points[len(points)-1]
	switch {
	case w.At == nil && w.Count == 1 && w.profile.Heads > 1:
		first, last = w.barEnds(first)
		keys = append(keys, "from: "+point(first), "to: "+point(last))
	case first != last:
		keys = append(keys, "from: "+point(first), "to: "+point(last))
	default:
		keys = append(keys, "at: "+point(first))
	}
	return fmt.Sprintf("%s: {%s}", quote(w.names), strings.Join(keys, ", "))
}

// barEnds returns the ends of a single fixture with several heads: a metre along its row.
func (w *row) barEnds(middle [3]float64) (from, to [3]float64) {
	from, to = middle, middle
	length := 0.0
	for k := range middle {
		d := w.place.To[k] - w.place.From[k]
		length += float64(d * d)
	}
	length = math.Sqrt(length)
	for k := range middle {
		step := (w.place.To[k] - w.place.From[k]) / length / 2
		from[k], to[k] = middle[k]-step, middle[k]+step
	}
	return from, to
}

// number writes a number with at most one decimal.
func number(v float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
}

func (p *plot) groupLines(b *strings.Builder) {
	if len(p.groups) == 0 {
		return
	}
	b.WriteString("\ngroups:\n")
	for _, g := range p.groups {
		fmt.Fprintf(b, "  %s: %s\n", quote(g.name), listed(g.members))
	}
}

// layerLines writes what acts over the cues.
func (p *plot) layerLines(b *strings.Builder) {
	some := func(names ...string) (list []string) {
		for _, n := range names {
			if n != "" {
				list = append(list, n)
			}
		}
		return list
	}
	b.WriteByte('\n')
	if keep := some(p.fronts, p.house, p.hazers); len(keep) > 0 {
		fmt.Fprintf(b, "# Songs leave these alone unless a cue names them ...\nkeep: %s\n", listed(keep))
		if spared := some(p.house, p.hazers); len(spared) > 0 {
			fmt.Fprintf(b, "# ... and blackout and the grand master leave these alone.\nblackout spares: %s\n", listed(spared))
		}
	}
	if p.house != "" {
		fmt.Fprintf(b, "# The notes house up, half and out move these. With the lights of \"work light\"\n# they come up for the work light, from anywhere.\nhouse lights: %s\n", quote(p.house))
	} else {
		b.WriteString("# These come up for the work light, from anywhere.\n")
	}
	work := p.fronts
	if work == "" {
		work = p.all
	}
	fmt.Fprintf(b, "work light: %s\n", quote(work))
	if p.fronts != "" {
		fmt.Fprintf(b, "# While someone speaks, faces stay lit.\nfloors: {%s: 30 %%}\n", quote(p.fronts))
	}
}
