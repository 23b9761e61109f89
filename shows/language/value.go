package language

import (
	"math/big"
	"net/netip"
	"strconv"
	"strings"

	"tactus/clock"
	"tactus/engine"
	"tactus/fixtures"
)

// Value is a checked part of a file, with its place. A part that is absent or does not
// fit its shape is a nil *Value. Every method works on nil, so that one fault does not
// cause others while compiling.
type Value struct {
	file         string
	Line, Column int
	path         string
	Text         string // a word, the digits of a number, or the name of a key
	Number       int64
	list         []*Value // items of a list
	Entries      []Entry  // keys of a record or table, as written
}

// Entry is a key and its value.
type Entry struct {
	Key   *Value
	Value *Value // nil when it does not fit
}

// Where returns the file and line, such as looks.yaml:97, or "" for nil.
func (v *Value) Where() string {
	if v == nil {
		return ""
	}
	return v.file + ":" + strconv.Itoa(v.Line)
}

// Get returns the value of a key, or nil.
func (v *Value) Get(key string) *Value {
	if v == nil {
		return nil
	}
	for i := range v.Entries {
		if v.Entries[i].Key.Text == key {
			return v.Entries[i].Value
		}
	}
	return nil
}

// Broken reports whether a key is present but its value does not fit; true for nil.
func (v *Value) Broken(key string) bool {
	if v == nil {
		return true
	}
	for i := range v.Entries {
		if v.Entries[i].Key.Text == key {
			return v.Entries[i].Value == nil
		}
	}
	return false
}

// Word returns the text, or "".
func (v *Value) Word() string {
	if v == nil {
		return ""
	}
	return v.Text
}

// Num returns a whole number; for nil it returns the argument otherwise.
func (v *Value) Num(otherwise int64) int64 {
	if v == nil {
		return otherwise
	}
	return v.Number
}

// Fraction returns a number that may have a fraction; for nil it returns the argument
// otherwise.
func (v *Value) Fraction(otherwise float64) float64 {
	if v == nil {
		return otherwise
	}
	return Float(v.Text)
}

// All returns the keys of a record or table in the order of the file.
func (v *Value) All() []Entry {
	if v == nil {
		return nil
	}
	return v.Entries
}

// Items returns the items of a list, or a single value as a list of one. It leaves out
// items that do not fit.
func (v *Value) Items() []*Value {
	if v == nil {
		return nil
	}
	if v.list == nil {
		return []*Value{v}
	}
	return v.list
}

// IsYes reports whether the value is yes; for nil it returns the argument
// otherwise.
func (v *Value) IsYes(otherwise bool) bool {
	if v == nil {
		return otherwise
	}
	return v.Text == "yes"
}

// Measure splits "1/2 beat" into its number and its unit.
func Measure(text string) (amount, unit string) {
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

// Float reads "3", "1/2" or "0.5"; it returns 0 if the text is not a number.
func Float(amount string) float64 {
	f, _ := ratio(amount).Float64()
	return f
}

// LengthOf reads "2 bars".
func LengthOf(text string) engine.Length {
	amount, unit := Measure(text)
	r := ratio(amount)
	return engine.Length{Num: int32(r.Num().Int64()), Den: int32(r.Denom().Int64()), Bars: strings.HasPrefix(unit, "bar")}
}

// timeOf reads "3 s" or "500 ms".
func timeOf(text string) clock.Time {
	amount, unit := Measure(text)
	scale := clock.Second
	if unit == "ms" {
		scale = clock.Millisecond
	}
	r := ratio(amount)
	r.Mul(r, new(big.Rat).SetInt64(int64(scale)))
	return clock.Time(new(big.Int).Quo(r.Num(), r.Denom()).Int64())
}

// Time reads "3 s" or "500 ms"; for nil it returns the argument otherwise.
func (v *Value) Time(otherwise clock.Time) clock.Time {
	if v == nil {
		return otherwise
	}
	return timeOf(v.Text)
}

// Span reads the length of a fade, such as "2 bars", "3 s" or "snap". A snap has length
// 0; the denominator is never 0.
func (v *Value) Span() engine.Span {
	snap := engine.Span{Length: engine.Length{Den: 1}}
	if v == nil || v.Text == "snap" {
		return snap
	}
	if _, unit := Measure(v.Text); unit == "s" || unit == "ms" {
		snap.Time = timeOf(v.Text)
		return snap
	}
	return engine.Span{Length: LengthOf(v.Text)}
}

// Share reads "40 %" as 0.4; for nil it returns the argument otherwise.
func (v *Value) Share(otherwise float64) float64 {
	if v == nil {
		return otherwise
	}
	amount, _ := Measure(v.Text)
	return Float(amount) / 100
}

// Level reads the level of a parameter in the engine's range: -1..1 for pan and tilt, 0..1
// for the others.
func (v *Value) Level(param fixtures.Param) float64 {
	switch {
	case param == fixtures.Pan || param == fixtures.Tilt:
		return 2*v.Share(0.5) - 1
	case param == fixtures.Strobe && v.Word() == "none":
		return 0
	case param == fixtures.Strobe && strings.HasSuffix(v.Word(), "Hz"):
		return v.Share(0) * 100 / fixtures.MaxStrobe
	}
	return v.Share(0)
}

// Travel reads the part of its pan or tilt range that a fixture may use.
func (v *Value) Travel() fixtures.Travel {
	return fixtures.Travel{From: v.Get("from").Share(0), To: v.Get("to").Share(1), Invert: v.Get("invert").IsYes(false)}
}

// Point reads three lengths in metres; it returns false unless there are three.
func (v *Value) Point() (engine.Point, bool) {
	if v == nil || len(v.list) != 3 {
		return engine.Point{}, false
	}
	var c [3]float64
	for i, m := range v.list {
		amount, _ := Measure(m.Text)
		c[i] = Float(amount)
	}
	return engine.Point{X: c[0], Y: c[1], Z: c[2]}, true
}

// Meter reads "6/8"; it returns 4/4 for anything that is not a meter.
func (v *Value) Meter() engine.Meter {
	upper, lower, _ := strings.Cut(v.Word(), "/")
	u, _ := strconv.Atoi(upper)
	l, _ := strconv.Atoi(lower)
	m, err := engine.NewMeter(u, l)
	if err != nil {
		return engine.Meter{Upper: 4, Lower: 4}
	}
	return m
}

// Addresses returns the IP addresses of a list. It leaves out all other items.
func (v *Value) Addresses() []netip.Addr {
	var to []netip.Addr
	for _, item := range v.Items() {
		if a, err := netip.ParseAddr(item.Text); err == nil {
			to = append(to, a)
		}
	}
	return to
}

// RoleNames lists the roles of a palette in the engine's order.
func RoleNames() []string { return []string{"main", "second", "accent", "warm"} }
