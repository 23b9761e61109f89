package language

import (
	"fmt"
	"slices"
	"strings"
)

// Reference returns a Markdown page about a kind of file: every key with its allowed
// values and meaning, made from the shape that the loader checks with.
func Reference(kind Kind) []byte {
	s := shapeOf(kind)
	r := &reference{seen: map[string]string{}}
	r.section(kind.Where(), s)
	var out strings.Builder
	fmt.Fprintf(&out, "# %s files\n\n%s\n\n", strings.ToUpper(string(kind[:1]))+string(kind[1:]), s.about)
	out.WriteString("Names are letters, digits and spaces, 64 at most. `NAME` stands for a name of your own. Units may be in small letters or capitals; a decimal has a point: `76.5 bpm`. A text with a colon and a space in it, or that begins with `#`, goes in straight quotes.\n")
	for _, text := range r.sections {
		out.WriteString(text)
	}
	return []byte(out.String())
}

// reference collects a section for each mapping with known keys. It describes equal
// mappings once.
type reference struct {
	sections []string
	seen     map[string]string // the link to a section, by the section's text without its title
}

// section adds a section about a record and returns the link to it.
func (r *reference) section(title string, s *shape) string {
	place := len(r.sections)
	r.sections = append(r.sections, "")
	inside := title + "."
	if place == 0 {
		inside = "" // the file itself
	}
	var body strings.Builder
	body.WriteString("\n| key | may be | |\n|---|---|---|\n")
	for _, f := range s.fields {
		key := "`" + f.key + "`"
		if f.required {
			key += ", needed"
		}
		fmt.Fprintf(&body, "| %s | %s | %s |\n", key, cell(r.describe(inside+f.key, f.shape)), cell(f.description))
	}
	for i, rule := range s.rules {
		if i == 0 {
			body.WriteString("\n")
		}
		fmt.Fprintf(&body, "- %s\n", rule.sentence())
	}
	if link, ok := r.seen[body.String()]; ok {
		r.sections = r.sections[:place]
		return link
	}
	link := "#" + anchor(title)
	r.seen[body.String()] = link
	r.sections[place] = fmt.Sprintf("\n## `%s`\n%s", title, body.String())
	return link
}

// describe returns in words what a shape allows, and adds sections for the records in
// it.
func (r *reference) describe(path string, s *shape) string {
	switch s.form {
	case number:
		limits := fmt.Sprintf("%d to %d", s.low, s.high)
		if strings.Contains(s.called, limits) {
			return s.called
		}
		return s.called + ", " + limits
	case fraction:
		return fmt.Sprintf("%s, %v to %v", s.called, s.lowest, s.top)
	case word:
		if s.options != nil {
			return oneOfThese(asCode(s.options))
		}
		return strings.TrimSuffix(s.called, ofNames)
	case record:
		return fmt.Sprintf("[keys](%s)", r.section(path, s))
	case table:
		return fmt.Sprintf("by name (%s): %s", r.describe(path, s.keys), r.describe(path+".NAME", s.of))
	case list:
		return fmt.Sprintf("a list%s: %s", s.howMany(), r.describe(path, s.of))
	case either:
		var parts []string
		for i, f := range s.forms {
			if f.form == list && i > 0 && f.of == s.forms[i-1] {
				parts = append(parts, "a list"+f.howMany()+" of such")
				continue
			}
			parts = append(parts, r.describe(path, f))
		}
		return strings.Join(parts, "; or ")
	}
	return "text"
}

func (s *shape) howMany() string {
	switch {
	case s.most == 0:
		return ""
	case s.least == s.most:
		return fmt.Sprintf(" of %d", s.most)
	}
	return fmt.Sprintf(" of %d to %d", s.least, s.most)
}

// asCode formats words as code in Markdown.
func asCode(words []string) []string {
	words = slices.Clone(words)
	for i, w := range words {
		words[i] = "`" + w + "`"
	}
	return words
}

func (r rule) sentence() string {
	var parts []string
	if r.need != nil {
		parts = append(parts, "needs "+strings.Join(asCode(r.need), " and "))
	}
	if r.any != nil {
		parts = append(parts, "needs at least one of "+strings.Join(asCode(r.any), ", "))
	}
	if r.one != nil {
		parts = append(parts, "needs exactly one of "+strings.Join(asCode(r.one), ", "))
	}
	if r.ban != nil {
		parts = append(parts, "takes no "+oneOfThese(asCode(r.ban)))
	}
	text := strings.Join(parts, " and ")
	switch {
	case r.when.key == "":
		return "It " + text + "."
	case r.when.is != nil:
		return fmt.Sprintf("With `%s: %s` it %s.", r.when.key, strings.Join(r.when.is, "` or `"), text)
	case r.when.not != nil:
		return fmt.Sprintf("With `%s` other than `%s` it %s.", r.when.key, strings.Join(r.when.not, "` and `"), text)
	}
	return fmt.Sprintf("With `%s` it %s.", r.when.key, text)
}

// oneOfThese joins words with commas, the last with "or".
func oneOfThese(words []string) string {
	if len(words) == 1 {
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// cell escapes text for a cell of a Markdown table.
func cell(text string) string { return strings.ReplaceAll(text, "|", `\|`) }

// anchor returns the anchor that GitHub makes for a heading: lower-case letters, digits
// and hyphens.
func anchor(title string) string {
	return strings.Map(func(c rune) rune {
		switch {
		case c == ' ':
			return '-'
		case c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-':
			return c
		}
		return -1
	}, strings.ToLower(title))
}
