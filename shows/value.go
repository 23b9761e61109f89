package shows

import (
	"math/big"
	"net/netip"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// value is a checked part of a file that knows where it stands. A part that is
// absent or that does not fit its shape is a nil *value; every method takes nil,
// so that compiling goes on past a fault without inventing another.
type value struct {
	file         string
	line, column int
	path         string
	text         string // a word, the digits of a number, or the name of a key
	number       int64
	list         []*value // items of a list
	entries      []entry  // keys of a record or table, as written
}

// entry is a key with what stands under it.
type entry struct {
	key   *value
	value *value // nil when it does not fit
}

// where is the file and line, such as looks.yaml:97, or "".
func (v *value) where() string {
	if v == nil {
		return ""
	}
	return v.file + ":" + strconv.Itoa(v.line)
}

func (v *value) get(key string) *value {
	if v == nil {
		return nil
	}
	for i := range v.entries {
		if v.entries[i].key.text == key {
			return v.entries[i].value
		}
	}
	return nil
}

// broken reports a key that is there but does not fit.
func (v *value) broken(key string) bool {
	if v == nil {
		return true
	}
	for i := range v.entries {
		if v.entries[i].key.text == key {
			return v.entries[i].value == nil
		}
	}
	return false
}

func (v *value) word() string {
	if v == nil {
		return ""
	}
	return v.text
}

func (v *value) num(otherwise int64) int64 {
	if v == nil {
		return otherwise
	}
	return v.number
}

func (v *value) all() []entry {
	if v == nil {
		return nil
	}
	return v.entries
}

// items returns the items of a list, or a single value as a list of one. Items
// that do not fit are left out.
func (v *value) items() []*value {
	if v == nil {
		return nil
	}
	if v.list == nil {
		return []*value{v}
	}
	return v.list
}

// is reports a yes, or what holds when nothing is said.
func (v *value) is(otherwise bool) bool {
	if v == nil {
		return otherwise
	}
	return v.text == "yes"
}

// measure splits "1/2 beat" into its number and its unit.
func measure(text string) (amount, unit string) {
	i := strings.LastIndexAny(text, "0123456789") + 1
	return text[:i], strings.TrimSpace(text[i:])
}

// ratio reads "3", "1/2" or "0.5".
func ratio(amount string) *big.Rat {
	r, ok := new(big.Rat).SetString(amount)
	if !ok {
		return new(big.Rat)
	}
	return r
}

func float(amount string) float64 {
	f, _ := ratio(amount).Float64()
	return f
}

// lengthOf reads "2 bars".
func lengthOf(text string) engine.Length {
	amount, unit := measure(text)
	r := ratio(amount)
	return engine.Length{Num: int32(r.Num().Int64()), Den: int32(r.Denom().Int64()), Bars: strings.HasPrefix(unit, "bar")}
}

// timeOf reads "3 s" or "500 ms".
func timeOf(text string) clock.Time {
	amount, unit := measure(text)
	scale := clock.Second
	if unit == "ms" {
		scale = clock.Millisecond
	}
	r := ratio(amount)
	r.Mul(r, new(big.Rat).SetInt64(int64(scale)))
	return clock.Time(new(big.Int).Quo(r.Num(), r.Denom()).Int64())
}

func (v *value) time(otherwise clock.Time) clock.Time {
	if v == nil {
		return otherwise
	}
	return timeOf(v.text)
}

// span reads a fade. Its length always has a denominator, so that a snap is a
// length of nothing.
func (v *value) span() engine.Span {
	snap := engine.Span{Length: engine.Length{Den: 1}}
	if v == nil || v.text == "snap" {
		return snap
	}
	if _, unit := measure(v.text); unit == "s" || unit == "ms" {
		snap.Time = timeOf(v.text)
		return snap
	}
	return engine.Span{Length: lengthOf(v.text)}
}

func (v *value) share(otherwise float64) float64 {
	if v == nil {
		return otherwise
	}
	amount, _ := measure(v.text)
	return float(amount) / 100
}

// of reads a level as a State has it.
func (v *value) of(param fixtures.Param) float64 {
	switch {
	case param == fixtures.Pan || param == fixtures.Tilt:
		return 2*v.share(0.5) - 1
	case param == fixtures.Strobe && v.word() == "none":
		return 0
	case param == fixtures.Strobe && strings.HasSuffix(v.word(), "Hz"):
		return v.share(0) * 100 / fixtures.MaxStrobe
	}
	return v.share(0)
}

// travel reads how much of its pan or tilt a fixture may use.
func (v *value) travel() fixtures.Travel {
	return fixtures.Travel{From: v.get("from").share(0), To: v.get("to").share(1), Invert: v.get("invert").is(false)}
}

func (v *value) point() (engine.Point, bool) {
	if v == nil || len(v.list) != 3 {
		return engine.Point{}, false
	}
	var c [3]float64
	for i, m := range v.list {
		amount, _ := measure(m.text)
		c[i] = float(amount)
	}
	return engine.Point{X: c[0], Y: c[1], Z: c[2]}, true
}

// meter reads "6/8"; 4/4 when there is none to read.
func (v *value) meter() engine.Meter {
	upper, lower, _ := strings.Cut(v.word(), "/")
	u, _ := strconv.Atoi(upper)
	l, _ := strconv.Atoi(lower)
	m, err := engine.NewMeter(u, l)
	if err != nil {
		return engine.Meter{Upper: 4, Lower: 4}
	}
	return m
}

func (v *value) addresses() []netip.Addr {
	var to []netip.Addr
	for _, item := range v.items() {
		if a, err := netip.ParseAddr(item.text); err == nil {
			to = append(to, a)
		}
	}
	return to
}

// roleNames are the roles of a palette in the engine's order.
func roleNames() []string { return []string{"main", "second", "accent", "warm"} }
