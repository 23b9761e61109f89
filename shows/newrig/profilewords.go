package newrig

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tactus/fixtures"
	"tactus/shows"
	"tactus/shows/language"
)

// lamp is a profile that words may mean.
type lamp struct {
	name  string
	slots int
	has   map[string]bool // dimmer, strobe, shutter, 16, red ..., heads, moves, haze, warm, cool
	heads int
}

// understood is what was made of words for a profile.
type understood struct {
	profile string
	note    string // what was assumed; "": nothing
	reason  string // why there is no profile; "" if there is one
	nearest string
}

// lampWords understands words for fixture types.
type lampWords struct {
	lamps []lamp
	names []string
	own   []string // of profiles that are not built in
}

// newLampWords takes the built-in profiles, and others by their names alone.
func newLampWords(own []string) *lampWords {
	w := &lampWords{own: own}
	for _, p := range shows.BuiltInProfiles() {
		w.names = append(w.names, p.Name)
		w.lamps = append(w.lamps, lampOf(&p))
	}
	return w
}

func lampOf(p *shows.Profile) lamp {
	l := lamp{name: p.Name, slots: p.Footprint(), heads: p.Heads, has: map[string]bool{}}
	for _, c := range p.Channels {
		switch {
		case c.Use == fixtures.Fine && !slices.Contains([]fixtures.Param{fixtures.Pan, fixtures.Tilt}, c.Param):
			l.has["16"] = true
		case c.Use == fixtures.Shutter && c.Strobe.SlowHz > 0:
			l.has["strobe"] = true
		case c.Use == fixtures.Shutter || c.Use == fixtures.Steady:
			l.has["shutter"] = true
		case c.Use == fixtures.Level && c.Param == fixtures.Intensity:
			l.has["dimmer"] = true
		case c.Use == fixtures.Level && slices.Contains([]fixtures.Param{fixtures.Pan, fixtures.Tilt}, c.Param):
			l.has["moves"] = true
		case c.Use == fixtures.Level:
			l.has[c.Param.String()] = true
		}
	}
	if p.Heads > 1 {
		l.has["heads"] = true
	}
	return l
}

// wanted is what words ask for.
type wanted struct {
	has   map[string]bool
	slots int  // 0: any
	heads int  // 0: any
	plain bool // a lamp on a dimmer, which has one slot
}

var (
	letters  = regexp.MustCompile(`^rgb(a)?(w)?(a)?(?:\+?(?:uv|u))?$`)
	slotsSay = regexp.MustCompile(`\b([0-9]{1,3})\s*-?\s*(?:ch|chan|channels?|slots?|kanal|kanäle|canaux|canales|k)\b`)
	bitsSay  = regexp.MustCompile(`\b16\s*-?\s*bits?\b|\bfine\b`)
	parCans  = regexp.MustCompile(`\bpar\s*-?(cans?|16|20|30|36|38|46|56|64)\b`)
	cellsSay = regexp.MustCompile(`\b([0-9]{1,3})\s*-?\s*(?:cells?|heads?|pixels?|segments?|px)\b`)
)

// plainLamps are words of lamps that a dimmer drives (common practice, no source).
func plainLamps() []string {
	return []string{"dimmer", "dimmers", "dimmed", "conventional", "tungsten", "halogen", "ellipsoidal", "ellipsoidals", "fresnel", "fresnels", "pc", "profile", "flood", "floods", "cyc", "lamp", "lamps", "par64", "par56", "blinder", "blinders", "house", "channel", "spot", "spots", "stufenlinse", "theatre", "theater"}
}

// find understands words for a profile, beside words for its mode.
func (w *lampWords) find(text, mode string) understood {
	words := plainWords(text)
	if i := slices.IndexFunc(w.own, func(name string) bool { return plainWords(name) == words }); i >= 0 {
		return understood{profile: w.own[i]}
	}
	dashed := strings.ReplaceAll(words, " ", "-")
	for _, name := range []string{words, dashed} {
		if slices.Contains(w.names, name) && (mode == "" || !slotsSay.MatchString(plainWords(mode)) || w.slotsFit(name, mode)) {
			return understood{profile: name}
		}
	}
	if _, err := fixtures.NewProfile(text, "", []fixtures.Channel{{Param: fixtures.Intensity}}); errors.Is(err, fixtures.ErrHazard) {
		return understood{reason: "this program does not control hazards such as lasers, flame or moved loads"}
	}
	want, known := wants(words + " " + plainWords(mode))
	if !known {
		return understood{reason: "no such profile; 'tactus fixtures' lists all", nearest: language.Nearest(dashed, w.names)}
	}
	return w.best(&want)
}

// slotsFit reports whether the mode says as many slots as a profile has.
func (w *lampWords) slotsFit(name, mode string) bool {
	n, _ := strconv.Atoi(slotsSay.FindStringSubmatch(plainWords(mode))[1])
	return slices.ContainsFunc(w.lamps, func(l lamp) bool { return l.name == name && l.slots == n })
}

// wants reads what words ask for; false if nothing in them says what kind of light it is.
func wants(words string) (want wanted, known bool) {
	want.has = map[string]bool{}
	if m := slotsSay.FindStringSubmatch(words); m != nil {
		want.slots, _ = strconv.Atoi(m[1])
		words = strings.Replace(words, m[0], " ", 1)
	}
	if m := cellsSay.FindStringSubmatch(words); m != nil {
		want.heads, _ = strconv.Atoi(m[1])
		words = strings.Replace(words, m[0], " ", 1)
	}
	if bitsSay.MatchString(words) {
		want.has["16"] = true
		words = bitsSay.ReplaceAllString(words, " ")
	}
	if m := parCans.FindString(words); m != "" && !strings.Contains(words, "rgb") && !strings.Contains(words, "led") {
		want.has["dimmer"], want.plain = true, true
		return want, true
	}
	fields := strings.FieldsFunc(words, func(r rune) bool { return strings.ContainsRune(" -/,;()&", r) })
	for i, f := range fields {
		if slipped(f) {
			return want, false
		}
		known = want.word(f) || known
		if n, err := strconv.Atoi(f); err == nil && i > 0 && slices.Contains([]string{"bar", "batten", "strip"}, fields[i-1]) {
			want.heads = n
		}
	}
	return want, known
}

// slipped reports whether a word is nearly one that matters: it is asked for rather than
// left out.
func slipped(f string) bool {
	if strings.HasPrefix(f, "rgb") {
		return !letters.MatchString(f)
	}
	near := func(word string) bool {
		d := language.Distance([]rune(f), []rune(word))
		return d == 1 && f != word+"s" && f != "dimmed"
	}
	return len(f) < 16 && slices.ContainsFunc([]string{"dimmer", "strobe", "shutter", "hazer", "moving", "fresnel"}, near) && f != "haze"
}

// word adds what a word asks for; false if it says nothing of the kind of light.
func (want *wanted) word(f string) bool {
	add := func(names ...string) bool {
		for _, n := range names {
			want.has[n] = true
		}
		return true
	}
	if m := letters.FindStringSubmatch(f); m != nil {
		add("red", "green", "blue")
		if strings.Contains(f[3:], "w") {
			add("white")
		}
		if strings.Contains(f[3:], "a") {
			add("amber")
		}
		if strings.Contains(f[3:], "u") {
			add("uv")
		}
		return true
	}
	switch f {
	case "wash", "washes", "par", "pars", "led", "colour", "color", "mixing":
		if !want.has["red"] && f != "led" {
			return add("red", "green", "blue")
		}
		return false
	case "head", "mover", "movers", "moving", "yoke", "heads":
		return add("moves", "red", "green", "blue")
	case "bar", "bars", "batten", "battens", "strip", "pixel":
		return add("heads", "red", "green", "blue")
	case "hazer", "hazers", "haze", "hazemachine", "fogger", "fog", "smoke":
		return add("haze")
	case "strobe":
		add("strobe")
	case "shutter":
		add("shutter")
	case "master", "intensity":
		add("dimmer")
	case "tunable", "bicolour", "bicolor", "ww", "cw", "warm", "cool", "cold", "bi":
		return add("warm", "cool")
	}
	if slices.Contains(plainLamps(), f) {
		want.plain = true
		return add("dimmer")
	}
	return false
}

// sameLights reports whether two profiles differ only in dimmer, shutter, strobe and bits.
func sameLights(a, b *lamp) bool {
	besides := []string{"dimmer", "shutter", "strobe", "16"}
	for _, pair := range [][2]*lamp{{a, b}, {b, a}} {
		for name := range pair[0].has {
			if !pair[1].has[name] && !slices.Contains(besides, name) {
				return false
			}
		}
	}
	return a.heads == b.heads
}

// best returns the profile that has all that is wanted, and the least besides.
func (w *lampWords) best(want *wanted) understood {
	if want.has["haze"] {
		want.has = map[string]bool{"haze": true}
	}
	if want.has["red"] && want.heads == 1 {
		delete(want.has, "heads")
	}
	type match struct {
		lamp
		extra int
	}
	var fit []match
	for _, l := range w.lamps {
		all := true
		for name := range want.has {
			all = all && l.has[name]
		}
		if !all || want.slots > 0 && l.slots != want.slots || want.heads > 1 && l.heads != want.heads {
			continue
		}
		fit = append(fit, match{l, len(l.has) - len(want.has)})
	}
	if len(fit) == 0 {
		return w.none(want)
	}
	slices.SortStableFunc(fit, func(a, b match) int { return cmp.Or(cmp.Compare(a.extra, b.extra), cmp.Compare(a.slots, b.slots)) })
	u := understood{profile: fit[0].name}
	var others []string
	for _, f := range fit[1:] {
		if f.slots != fit[0].slots && sameLights(&f.lamp, &fit[0].lamp) && !want.plain {
			others = append(others, fmt.Sprintf("%s (%d)", f.name, f.slots))
		}
	}
	if want.slots == 0 && len(others) > 0 {
		others = others[:min(3, len(others))]
		u.note = fmt.Sprintf("taken as %s, slots: %d; if the fixture's manual has others, write the profile's name or the count of channels: %s", fit[0].name, fit[0].slots, strings.Join(others, ", "))
	}
	return u
}

// none says why no profile has what is wanted, and which comes nearest.
func (w *lampWords) none(want *wanted) understood {
	if want.slots == 0 && want.heads == 0 {
		return understood{reason: "no built-in profile has all of that; 'tactus fixtures' lists them, and a profile of your own goes into the folder profiles"}
	}
	slots, headCount := want.slots, want.heads
	want.slots, want.heads = 0, 0
	u := w.best(want)
	what := fmt.Sprintf("%d channels", slots)
	if slots == 0 {
		what = fmt.Sprintf("%d heads", headCount)
	}
	return understood{reason: "no built-in profile of that kind has " + what + "; write one with the channels of its manual, or import its GDTF file", nearest: u.profile}
}
