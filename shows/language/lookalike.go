package language

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Lookalikes are characters that look like those of YAML and of units, or like nothing,
// and are others: word processors, web pages and keyboards of other languages put them
// into files.

const (
	openingQuotes = "“„‟«‹‘‚‛＂＇"
	closingQuotes = "”“»«›‹’‘＂＇"
	allQuotes     = "“”„‟«»‹›‘’‚‛＂＇"
	minusSigns    = "−‐‑–"
)

// oddSpace reports whether r is a space that YAML takes for a letter.
func oddSpace(r rune) bool { return r != ' ' && r != '\t' && unicode.Is(unicode.Zs, r) }

// invisible reports whether r is a character that nobody sees: a zero width space, a
// word joiner, a byte order mark or a soft hyphen.
func invisible(r rune) bool { return strings.ContainsRune("\u200b\u2060\ufeff\u00ad", r) }

// fullWidth reports whether r is a full-width form of an ASCII character.
// Source: Unicode, block Halfwidth and Fullwidth Forms.
func fullWidth(r rune) bool { return r >= 0xff01 && r <= 0xff5e }

// plainRune returns the ASCII character that r looks like, r itself if it is no
// lookalike, or -1 for an invisible one.
func plainRune(r rune) rune {
	switch {
	case oddSpace(r):
		return ' '
	case invisible(r):
		return -1
	case fullWidth(r):
		return r - 0xff01 + '!'
	case strings.ContainsRune(minusSigns, r):
		return '-'
	}
	return r
}

// kindOfLookalike names what r is if it is one, and several of the kind; else "".
func kindOfLookalike(r rune) (one, several string) {
	switch {
	case r == 0xa0 || r == 0x202f:
		return "a no-break space", "no-break spaces"
	case oddSpace(r):
		return "an unusual space", "unusual spaces"
	case r == 0xfeff:
		return "an invisible byte order mark", "invisible byte order marks"
	case invisible(r):
		return "an invisible character", "invisible characters"
	case strings.ContainsRune(allQuotes, r):
		return "a typographic quote", "typographic quotes"
	case r >= '０' && r <= '９':
		return "a full-width digit", "full-width digits"
	case fullWidth(r):
		return "a full-width character", "full-width characters"
	case strings.ContainsRune(minusSigns, r):
		return "a dash that is no minus sign", "dashes that are no minus signs"
	}
	return "", ""
}

// lookalikesIn describes the lookalikes of a text: "a no-break space (U+00A0)",
// "typographic quotes (U+201C, U+201D)". It returns "" for a text without any.
func lookalikesIn(text string) string {
	type found struct {
		one, several string
		codes        []string
	}
	var kinds []found
	for _, r := range text {
		one, several := kindOfLookalike(r)
		if one == "" {
			continue
		}
		i := slices.IndexFunc(kinds, func(k found) bool { return k.one == one })
		if i < 0 {
			i = len(kinds)
			kinds = append(kinds, found{one: one, several: several})
		}
		if code := fmt.Sprintf("U+%04X", r); !slices.Contains(kinds[i].codes, code) {
			kinds[i].codes = append(kinds[i].codes, code)
		}
	}
	var list []string
	for _, k := range kinds {
		name := k.one
		if len(k.codes) > 1 {
			name = k.several
		}
		list = append(list, fmt.Sprintf("%s (%s)", name, strings.Join(k.codes, ", ")))
	}
	return strings.Join(list, " and ")
}

// plainText returns the text as it is meant: without quotes that are letters round it,
// and with plain characters in place of lookalikes.
func plainText(text string) string {
	return strings.TrimSpace(strings.Trim(strings.Map(plainRune, text), allQuotes+`"`))
}

// wronglyQuoted reports whether a text begins with a typographic quote that is meant as
// a quote of YAML: one that closes at its end, or never. Such a quote round some of the
// words of a title is a part of the title, and so is one that stands for an apostrophe.
func wronglyQuoted(text string) bool {
	runes := []rune(text)
	if len(runes) < 2 || !strings.ContainsRune(openingQuotes, runes[0]) {
		return false
	}
	if strings.ContainsRune(closingQuotes, runes[len(runes)-1]) {
		return true
	}
	return !strings.ContainsRune("‘‚‛", runes[0]) && !strings.ContainsAny(string(runes[1:]), closingQuotes)
}

// hiddenIn describes what of a free text nobody can see: odd spaces and invisible
// characters, in quotes only the latter. An ideographic space belongs to Japanese and
// Chinese titles.
func hiddenIn(text string, quoted bool) string {
	return lookalikesIn(strings.Map(func(r rune) rune {
		if invisible(r) && r != 0xad || oddSpace(r) && r != 0x3000 && !quoted {
			return r
		}
		return -1
	}, text))
}
