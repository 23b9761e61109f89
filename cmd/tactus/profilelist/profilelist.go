package profilelist

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
)

// wide is how many letters of a list of channels stand on a line.
const wide = 100

// Print prints profiles, grouped by where they are from: of each the count of its slots
// and heads, its emitters, its power, its description and its channels in slot order.
func Print(out io.Writer, list []shows.Profile) {
	source := ""
	for i := range list {
		p := &list[i]
		if p.Source != source {
			source = p.Source
			fmt.Fprintf(out, "%s:\n\n", strings.ToUpper(source[:1])+source[1:])
		}
		fmt.Fprintf(out, "%s: %s\n", p.Name, summary(p))
		if p.About != "" {
			fmt.Fprintf(out, "    %s\n", p.About)
		}
		printNames(out, p.Written)
		fmt.Fprintln(out)
	}
}

// summary prints "5 slots, 1 head; emitters: red, green, blue, white; 180 W".
func summary(p *shows.Profile) string {
	var b strings.Builder
	b.WriteString(language.Count(p.Footprint(), "slot"))
	if p.Heads > 1 {
		b.WriteString(", " + language.Count(p.Heads, "head"))
	}
	if len(p.Lights) > 0 {
		var names []string
		for _, e := range p.Lights {
			names = append(names, e.Param.String())
		}
		b.WriteString("; emitters: " + strings.Join(names, ", "))
	}
	if p.Watts > 0 {
		fmt.Fprintf(&b, "; %g W", p.Watts)
	}
	return b.String()
}

// printNames prints names on as many indented lines as they take.
func printNames(out io.Writer, names []string) {
	line := "   "
	for i, name := range names {
		if i+1 < len(names) {
			name += ","
		}
		if len(line)+1+len(name) > wide {
			fmt.Fprintln(out, line)
			line = "   "
		}
		line += " " + name
	}
	fmt.Fprintln(out, line)
}

// PrintOne prints a profile with a line for each slot, its emitters and its power.
func PrintOne(out io.Writer, p *shows.Profile) {
	fmt.Fprintf(out, "%s, %s\n", p.Name, p.Source)
	if p.About != "" {
		fmt.Fprintln(out, p.About)
	}
	fmt.Fprintf(out, "\n%s, %s\n\n", language.Count(p.Footprint(), "slot"), language.Count(p.Heads, "head"))
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "slot\tchannel\tvalues")
	for i := range p.Channels {
		fmt.Fprintf(w, "%d\t%s\t%s\n", i+1, p.Written[i], values(p.Profile, i))
	}
	w.Flush()
	if len(p.Lights) > 0 {
		fmt.Fprintln(w, "\nemitter\tcolour\trelative flux\tsource")
		for _, e := range p.Lights {
			from := "the profile"
			if e.Typical {
				from = "typical, from memory; the profile gives none"
			}
			fmt.Fprintf(w, "%s\txy %.3f %.3f\t%.0f\t%s\n", e.Param, e.Chromaticity.X, e.Chromaticity.Y, e.Flux, from)
		}
		w.Flush()
	}
	fmt.Fprintln(out)
	if p.Has(fixtures.Intensity) {
		fmt.Fprintf(out, "curve of the intensity: %s\n", p.Curve)
	}
	if p.Watts > 0 {
		fmt.Fprintf(out, "power at full: %g W\n", p.Watts)
	} else {
		fmt.Fprintln(out, "power at full: not given; write watts: beside the fixture in rig.yaml")
	}
	fmt.Fprintf(out, "in rig.yaml: lamp 1: {profile: %s, universe: stage, address: 1}\n", language.Quote(p.Name))
}

// values describes what the values of a slot do.
func values(p *fixtures.Profile, slot int) string {
	c := &p.Channels[slot]
	switch c.Use {
	case fixtures.Steady:
		return fmt.Sprintf("always %d", c.Value)
	case fixtures.Shutter:
		if c.Strobe.SlowHz == 0 {
			return fmt.Sprintf("always %d, which is open", c.Value)
		}
		return fmt.Sprintf("%d is open; %d to %d strobe at %g Hz to %g Hz, of which at most %g Hz are used",
			c.Value, c.Strobe.Slow, c.Strobe.Fast, c.Strobe.SlowHz, c.Strobe.FastHz, fixtures.MaxStrobe)
	}
	if other := partner(p, slot); other >= 0 && c.Use == fixtures.Fine {
		return fmt.Sprintf("low byte of slot %d", other+1)
	} else if other >= 0 {
		return fmt.Sprintf("0 to 65535 with slot %d, %s", other+1, does(c.Param))
	}
	return "0 to 255, " + does(c.Param)
}

// partner returns the slot, from 0, of the other byte of 16 bits, or -1.
func partner(p *fixtures.Profile, slot int) int {
	c := &p.Channels[slot]
	for i := range p.Channels {
		o := &p.Channels[i]
		if o.Param == c.Param && o.Head == c.Head && (o.Use == fixtures.Fine && c.Use == fixtures.Level || o.Use == fixtures.Level && c.Use == fixtures.Fine) {
			return i
		}
	}
	return -1
}

// does describes what a parameter's values do, from the least to the greatest.
func does(p fixtures.Param) string {
	switch p {
	case fixtures.Pan, fixtures.Tilt:
		return "from one end of its range to the other"
	case fixtures.Haze:
		return "no haze to most haze"
	case fixtures.Fan:
		return "off to fastest"
	}
	return "dark to full"
}
