package language

import (
	"strings"

	"tactus/engine"
	"tactus/fixtures"
)

// Patterns for the text in show files. Each pattern includes the allowed range, so that
// a JSON Schema can check it too. Numbers have no needless leading 0. Units may be in
// small letters or capitals.

const (
	plainName = `[\p{L}\p{N}]([\p{L}\p{N}'’&.()/! +-]*[\p{L}\p{N}'’.)!])?`
	freeText  = `[^\s\x00-\x1f]([^\x00-\x1f]*[^\s\x00-\x1f])?`
	// A section's name has no "+" or "-" between spaces: positions use them.
	sectionName = `[\p{L}\p{N}][\p{L}\p{N}'’&./-]*( [\p{L}\p{N}][\p{L}\p{N}'’&./-]*)*`

	// Musical is a length in beats or bars.
	Musical  = `[1-9][0-9]{0,3}(/[1-9][0-9]{0,2})? ?([bB][eE][aA][tT][sS]?|[bB][aA][rR][sS]?)`
	timed    = `(0|[1-9][0-9]{0,2})(\.[0-9]{1,3})? ?[sS]|(0|[1-9][0-9]{0,4}) ?[mM][sS]`
	share    = `(100|[1-9]?[0-9](\.[0-9]{1,3})?) ?%`
	inside   = `[1-9][0-9]?(\.[0-9]{1,3})? ?%`
	distant  = `-?(0|[1-9][0-9]{0,2})(\.[0-9]{1,3})? ?[mM]`
	hexadec  = `#[0-9a-fA-F]{6}`
	white    = `xy 0\.[0-9]{1,4} 0\.[0-9]{1,4}|([1-9][0-9]{3}|1[0-9]{4}|20000) ?[kK]( [+-](20|1?[0-9](\.[0-9])?) [tT][iI][nN][tT])?`
	octet    = `(25[0-5]|2[0-4][0-9]|1[0-9][0-9]|[1-9]?[0-9])`
	cycles   = `even|(0|[1-9][0-9]?(/[1-9][0-9]?)?) ?[cC][yY][cC][lL][eE][sS]?|` + share
	seven    = `(12[0-7]|1[01][0-9]|[1-9]?[0-9])`
	sender   = `(1[0-6]|[1-9])`
	port     = `(6553[0-5]|655[0-2][0-9]|65[0-4][0-9]{2}|6[0-4][0-9]{3}|[1-5][0-9]{4}|[1-9][0-9]{0,3})`
	oscPart  = `/[A-Za-z0-9_.:~+&!@$%^=|;-]+`
	oscArg   = `-?(0|[1-9][0-9]{0,8})|-?(0|[1-9][0-9]{0,5})\.[0-9]{1,6}|'[^'\x00-\x1f]+'|[\p{L}][\p{L}\p{N}_.-]*`
	position = changePlace + `( [+-] ` + Musical + `)?`
)

// ofNames ends the messages that ask for a name.
const ofNames = ": letters, digits and spaces, 64 at most"

func name(what string, examples ...any) *shape {
	return matching(plainName, what+ofNames, examples...).upTo(64)
}

func text(what string, examples ...any) *shape {
	return matching(freeText, what+", 100 letters at most", examples...).upTo(100)
}

func length() *shape {
	return measured(Musical, "a length such as 2 bars or 1/2 beat", "2 bars", "1/2 beat")
}

func span() *shape {
	return measured(Musical+`|`+timed+`|snap`,
		"a length such as 2 bars, a time such as 3 s or 500 ms (under 1000 s), or snap", "2 bars", "3 s", "snap")
}

func seconds() *shape {
	return measured(timed, "a time such as 3 s or 500 ms, under 1000 s", "3 s", "500 ms")
}

func percent() *shape { return measured(share, "a share such as 40 %, 0 % to 100 %", "40 %") }

// strobe accepts rates up to fixtures.MaxStrobe.
func strobe() *shape {
	return measured(`none|(0\.[1-9]|[1-3](\.[0-9])?|4(\.0)?) ?`+anyCase("Hz")+`|`+share,
		"none, flashes a second such as 2 Hz, 0.1 Hz to 4 Hz, or a share of 4 Hz such as 50 %", "2 Hz", "none", "50 %")
}

func metres() *shape {
	return measured(distant, "metres such as -1.5 m, under 1000 m", "-1.5 m")
}

func place() *shape {
	return &shape{
		form: list, of: metres(), least: 3, most: 3,
		called:   "three lengths: across, back and up, such as [-3 m, 0.5 m, 4 m]",
		examples: []any{[]string{"-3 m", "0.5 m", "4 m"}},
		about:    "Where it hangs: house left (-) to right (+) as the audience sees it, front of the stage (0) to the back, height above the stage.",
	}
}

func hertz() *shape {
	return measured(`([1-9]|[1-3][0-9]|4[0-4]) ?`+anyCase("Hz"), "frames a second such as 40 Hz, 1 Hz to 44 Hz", "40 Hz")
}

func watts() *shape {
	return measured(`(0|[1-9][0-9]{0,4})(\.[0-9])? ?[wW]`, "watts such as 60 W, under 100,000 W", "60 W")
}

func amps() *shape {
	return measured(`([1-9]|[1-9][0-9]|[1-3][0-9][0-9])(\.[0-9])? ?[aA]`, "amperes such as 16 A, 1 A to under 400 A", "16 A")
}

func volts() *shape {
	return measured(`(9[0-9]|[1-4][0-9][0-9]) ?[vV]`, "a voltage such as 230 V, 90 V to 499 V", "230 V", "120 V")
}

func tempo() *shape {
	return measured(`(([1-9][0-9]|[1-4][0-9][0-9])(\.[0-9]{1,3})?|500) ?`+anyCase("bpm"),
		"beats a minute such as 96 bpm, 10 bpm to 500 bpm", "96 bpm")
}

func signature() *shape {
	return matching(`([1-9]|[12][0-9]|3[0-2])/(1|2|4|8|16)`,
		"a meter such as 4/4 or 6/8: 1 to 32 over 1, 2, 4, 8 or 16", "4/4", "6/8")
}

// ownColour matches a fixed colour, as opposed to a role of the palette. Its names are
// those of CSS.
func ownColour() string {
	return hexadec + `|` + white + `|` + strings.Join(fixtures.ColourNames(), "|")
}

func hexColour() *shape {
	return matching(ownColour(), `a colour such as "#ff8040" in quotes, a name such as rebeccapurple, xy 0.31 0.33, or 3200 K`,
		"#ff8040", "rebeccapurple", "xy 0.31 0.33", "3200 K +2 tint").withUnits(canonicalUnits)
}

func colour() *shape {
	return matching(`main|second|accent|warm|`+ownColour(),
		`a colour of the palette (main, second, accent, warm) or one such as "#ff8040" in quotes, rebeccapurple, xy 0.31 0.33, or 3200 K`,
		"main", "#ff8040", "rebeccapurple", "3200 K +2 tint").withUnits(canonicalUnits)
}

// whitePoint is the chromaticity of an emitter, or of white.
func whitePoint() *shape {
	return matching(white, "a light such as 5600 K, 3200 K +2 tint or xy 0.31 0.33", "5600 K", "xy 0.31 0.33").withUnits(canonicalUnits)
}

// sendShape is a list of messages: "[{midi: program 5 on 2}, {osc: /slides/next}]".
func sendShape() *shape {
	return listOf(recordOf([]field{
		optional("midi", matching(`note `+seven+`( at (12[0-7]|1[01][0-9]|[1-9][0-9]?))? on `+sender+
			`|program (12[0-8]|1[01][0-9]|[1-9][0-9]?) on `+sender+
			`|control (1[01][0-9]|[1-9]?[0-9]) to `+seven+` on `+sender,
			"note 60 on 2, note 60 at 100 on 2 (0 to 127, velocity 1 to 127), program 5 on 2 (1 to 128) or control 7 to 100 on 2 (0 to 119 to 0 to 127); the last number is the channel, 1 to 16",
			"program 5 on 2", "note 60 at 100 on 2", "control 7 to 100 on 2"), "A MIDI message. A note is let go of at once."),
		optional("osc", matching(`(`+oscPart+`)+( (`+oscArg+`))*`,
			"an OSC address and what goes with it, such as /slides/next or /slides/show 3 0.5 'verse one', 200 letters at most",
			"/slides/next", "/slides/show 3", "/slides/title 'Lanterns on the Pier'").upTo(200), "An OSC message. Whole numbers, numbers with a point, and text; in ' ' where it has spaces."),
	}, rule{one: []string{"midi", "osc"}}), 1, 16)
}

func yesNo() *shape { return option("yes", "no") }

func address() *shape {
	return matching(`(`+octet+`\.){3}`+octet, "an IPv4 address such as 10.0.0.7", "10.0.0.7")
}

// movableParameters lists what effects may change. Strobe is not one of them: only a look sets its
// rate, so that the rate is plain to see.
func movableParameters() *shape {
	return option("intensity", "colour", "red", "green", "blue", "uv", "pan", "tilt", "haze", "fan")
}

func spread() *shape {
	return measured(cycles, "even, a part of a cycle such as 1/2 cycle, or a share such as 50 %", "even", "1/2 cycle")
}

func waves() *shape  { return option(engine.WaveNames()...) }
func paths() *shape  { return option(engine.PathNames()...) }
func blends() *shape { return option(engine.BlendNames()...) }

// target is a name of heads: a group, a fixture, a range of fixtures, or one head.
func target() *shape {
	return name("a group or fixture", "washes", "wash 1", "wash 1-4")
}

// changePlace matches a section, with an optional bar and beat in it.
const changePlace = sectionName + `(, [bB][aA][rR] [1-9][0-9]{0,2}( [bB][eE][aA][tT] [1-9][0-9]?)?)?`
