package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
)

// ownPart is the name of our own part of a benchmark.
const ownPart = "ours"

// table holds the results of benchmarks, in the order of their first line.
type table struct {
	names  []string // names of benchmarks, without "Benchmark" and the number of processors
	values map[string]*metrics
}

// metrics are the metrics of one benchmark, with a value for each run.
type metrics struct {
	units []string
	of    map[string][]float64
}

var errNone = errors.New("no benchmark in the input")

var cpuSuffix = regexp.MustCompile(`-\d+$`)

// parse reads the output of go test -bench; it skips other lines.
func parse(r io.Reader) (*table, error) {
	t := &table{values: map[string]*metrics{}}
	in := bufio.NewScanner(r)
	for in.Scan() {
		f := strings.Fields(in.Text())
		if len(f) < 4 || !strings.HasPrefix(f[0], "Benchmark") {
			continue
		}
		if _, err := strconv.Atoi(f[1]); err != nil {
			continue
		}
		t.add(cpuSuffix.ReplaceAllString(strings.TrimPrefix(f[0], "Benchmark"), ""), f[2:])
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	if len(t.names) == 0 {
		return nil, errNone
	}
	return t, nil
}

// add adds pairs of value and unit to a benchmark.
func (t *table) add(name string, pairs []string) {
	m := t.values[name]
	if m == nil {
		m = &metrics{of: map[string][]float64{}}
		t.values[name] = m
		t.names = append(t.names, name)
	}
	for i := 0; i+1 < len(pairs); i += 2 {
		v, err := strconv.ParseFloat(pairs[i], 64)
		if err != nil {
			continue
		}
		if unit := pairs[i+1]; m.of[unit] == nil {
			m.units = append(m.units, unit)
			m.of[unit] = []float64{v}
		} else {
			m.of[unit] = append(m.of[unit], v)
		}
	}
}

// ordinary metrics get a row only where a benchmark reports no others.
var ordinary = []string{"ns/op", "B/op", "allocs/op", "MB/s"}

// shown returns the units that get a row.
func (m *metrics) shown() []string {
	own := slices.DeleteFunc(slices.Clone(m.units), func(u string) bool { return slices.Contains(ordinary, u) })
	if len(own) > 0 {
		return own
	}
	return slices.DeleteFunc(slices.Clone(m.units), func(u string) bool {
		return u != "ns/op" && (u != "allocs/op" || m.figure(u).value == 0)
	})
}

// figure is the median of several runs and their spread as a part of the median; the
// spread of a single run is NaN.
type figure struct{ value, spread float64 }

func (m *metrics) figure(unit string) figure {
	v := slices.Sorted(slices.Values(m.of[unit]))
	n := len(v)
	f := figure{(v[(n-1)/2] + v[n/2]) / 2, math.NaN()}
	switch apart := v[n-1] - v[0]; {
	case n > 1 && apart == 0:
		f.spread = 0
	case n > 1:
		f.spread = apart / math.Abs(f.value)
	}
	return f
}

// row is a line of the table; refs are in the order of their benchmarks.
type row struct {
	name, unit string
	own        figure
	refs       []reference
}

type reference struct {
	name string
	figure
}

// wild is the spread above which runs cannot be compared (common practice, no
// source).
const wild = 0.3

// trust says whether the figures are reliable, or why not.
func trust(figures ...figure) string {
	most := 0.0
	for _, f := range figures {
		if math.IsNaN(f.spread) {
			return "one run: no"
		}
		most = max(most, f.spread)
	}
	if most > wild {
		return fmt.Sprintf("runs differ by %.0f %%: no", 100*most)
	}
	return "yes"
}

// rows returns a row for each metric of each benchmark, or of each group with a part
// of our own.
func (t *table) rows() (list []row) {
	for _, name := range t.names {
		group, part := cut(name)
		m := t.values[name]
		switch {
		case part == ownPart:
			for _, r := range m.alone(group) {
				r.refs = append(t.beside(group, r.unit), r.refs...)
				list = append(list, r)
			}
		case t.values[group+"/"+ownPart] != nil: // part of our own row, except for units that ours lacks
			for _, unit := range m.shown() {
				if t.values[group+"/"+ownPart].of[unit] == nil {
					list = append(list, row{name, unit, m.figure(unit), nil})
				}
			}
		default:
			list = append(list, m.alone(name)...)
		}
	}
	return list
}

// cut splits the last element off a name.
func cut(name string) (group, part string) {
	if i := strings.LastIndex(name, "/"); i >= 0 {
		return name[:i], name[i+1:]
	}
	return name, ""
}

// beside returns the figures of a unit from the other parts of a group.
func (t *table) beside(group, unit string) (refs []reference) {
	for _, other := range t.names {
		if g, part := cut(other); g == group && part != ownPart && part != "" && t.values[other].of[unit] != nil {
			refs = append(refs, reference{part, t.values[other].figure(unit)})
		}
	}
	return refs
}

// alone returns the rows of a benchmark without a group.
func (m *metrics) alone(name string) (list []row) {
	shown := m.shown()
	isRef := func(u string) bool {
		return slices.ContainsFunc(shown, func(base string) bool { return strings.HasSuffix(u, "-"+base) })
	}
	for _, unit := range shown {
		if isRef(unit) {
			continue
		}
		r := row{name: name, unit: unit, own: m.figure(unit)}
		for _, u := range shown {
			if ref, ok := strings.CutSuffix(u, "-"+unit); ok {
				r.refs = append(r.refs, reference{ref, m.figure(u)})
			}
		}
		list = append(list, r)
	}
	return list
}

// write prints the table. A ratio below 1 means less than the reference. The last
// column says whether the runs agree well enough to be reliable.
func (t *table) write(out io.Writer) {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "benchmark\tunit\tours\treference\tours / reference\ttrust")
	for _, r := range t.rows() {
		first := fmt.Sprintf("%s\t%s\t%s", r.name, r.unit, short(r.own.value))
		if len(r.refs) == 0 {
			fmt.Fprintf(w, "%s\t\t\t%s\n", first, trust(r.own))
		}
		for i, ref := range r.refs {
			if i > 0 {
				first = "\t\t"
			}
			ratio := "-"
			if ref.value != 0 {
				ratio = fmt.Sprintf("%.2f", r.own.value/ref.value)
			}
			fmt.Fprintf(w, "%s\t%s %s\t%s\t%s\n", first, short(ref.value), ref.name, ratio, trust(r.own, ref.figure))
		}
	}
	w.Flush()
}

// short formats a number with four significant figures.
func short(v float64) string {
	if v >= 1000 || v <= -1000 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', 4, 64)
}
