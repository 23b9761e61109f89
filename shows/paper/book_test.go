package paper_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tactus/clock"
	"tactus/engine"
	"tactus/engine/flash"
	"tactus/shows"
	"tactus/shows/paper"
	"tactus/shows/plan"
)

// evening is the hall with what its songs have not: speech, a loop, a section
// without a note, stated flashes, and names from elsewhere.
func evening(t *testing.T) *shows.Show {
	s := show(t, powered)
	s.Program.SetName = "Äpfel & Öl <b>"
	song := &s.Program.Songs[s.Program.SetList[0]]
	song.Name = "Ελπίδα, Заря, Čaj, 夜"
	song.Sections[0].Spoken, song.Sections[1].Loop, song.Sections[2].Note = true, true, 255
	song.Flashes, song.FlashWhy = 5, "the storm"
	return s
}

func needTool(t *testing.T, tool string) {
	t.Helper()
	if _, err := exec.LookPath(tool); err == nil {
		return
	}
	require.NotEqual(t, "true", os.Getenv("CI"), "%s is missing", tool)
	t.Skipf("needs %s: apt-get install poppler-utils", tool)
}

// poppler, which shares no code with our writer, reads a PDF.
func poppler(t *testing.T, pdf []byte, tool string, args ...string) string {
	t.Helper()
	needTool(t, tool)
	name := filepath.Join(t.TempDir(), "book.pdf")
	require.NoError(t, os.WriteFile(name, pdf, 0o600))
	for i, a := range args {
		if a == "FILE" {
			args[i] = name
		}
	}
	c := exec.CommandContext(t.Context(), tool, args...)
	var said bytes.Buffer
	c.Stderr = &said
	out, err := c.Output()
	require.NoError(t, err, "%s\n%s", tool, &said)
	require.Zero(t, said.Len(), "%s\n%s", tool, &said)
	return string(out)
}

func pdf(t *testing.T, b *paper.Book, size paper.Size) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, paper.PDF(&out, b, size))
	return out.Bytes()
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	name = filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(name, []byte(got), 0o644))
	}
	want, err := os.ReadFile(name)
	assert.NoError(t, err, "%s; it is not as expected, see -update", name)
	assert.Equal(t, string(want), got, "%s; it is not as expected, see -update", name)
}

func TestBookGolden(t *testing.T) {
	b := paper.NewBook(evening(t), paper.Options{})
	var page bytes.Buffer
	require.NoError(t, paper.HTML(&page, b))
	golden(t, "book.html.golden", page.String())
	for _, bad := range []string{"<script", "http", "src=", "<link", "<b>"} {
		assert.NotContains(t, page.String(), bad, "in the page")
	}
	file := pdf(t, b, paper.A4)
	assert.True(t, bytes.Equal(pdf(t, b, paper.A4), file), "the same book gave other bytes")
	// Words and lines; how wide the spaces are is poppler's own.
	var text strings.Builder
	for line := range strings.Lines(poppler(t, file, "pdftotext", "-layout", "FILE", "-")) {
		if words := strings.Join(strings.Fields(line), " "); words != "" {
			fmt.Fprintln(&text, words)
		}
	}
	golden(t, "book.pdf.golden", text.String())
	assert.Contains(t, text.String(), "Ελπίδα, Заря, Čaj, □", "letters are lost")
	info := poppler(t, file, "pdfinfo", "FILE")
	assert.True(t, regexp.MustCompile(`Pages: +9\n`).MatchString(info))
	assert.Contains(t, info, "A4")
	assert.Contains(t, poppler(t, pdf(t, b, paper.Letter), "pdfinfo", "FILE"), "letter")
}

// word is what poppler found on a page, and where, in points.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

type popplerPage struct {
	Width  float64 `xml:"width,attr"`
	Height float64 `xml:"height,attr"`
	Words  []word  `xml:"word"`
}

// pagesOf reads every word's place, and holds it to the margins.
func pagesOf(t *testing.T, file []byte) (pages []popplerPage) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(poppler(t, file, "pdftotext", "-bbox", "FILE", "-")))
	d.Strict = false
	d.Entity = xml.HTMLEntity
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		start, ok := token.(xml.StartElement)
		if !ok || start.Name.Local != "page" {
			continue
		}
		var p popplerPage
		require.NoError(t, d.DecodeElement(&p, &start))
		pages = append(pages, p)
	}
	const edge, slack = 12 / 25.4 * 72, 2 // margins of 12 mm, in points
	for n, p := range pages {
		for _, w := range p.Words {
			assert.GreaterOrEqual(t, w.XMin, edge-slack, "page %d: %q lies outside the margins: %+v", n+1, w.Text, w)
			assert.GreaterOrEqual(t, w.YMin, edge-slack, "page %d: %q lies outside the margins: %+v", n+1, w.Text, w)
			assert.LessOrEqual(t, w.XMax, p.Width-edge+slack, "page %d: %q lies outside the margins: %+v", n+1, w.Text, w)
			assert.LessOrEqual(t, w.YMax, p.Height-edge+slack, "page %d: %q lies outside the margins: %+v", n+1, w.Text, w)
		}
	}
	return pages
}

// Sixty songs, the first of 128 sections: every row is whole, on one page, with its head.
func TestRowsAreNeverParted(t *testing.T) {
	s := show(t, powered)
	first := s.Program.Songs[0]
	first.Cues, first.Sections = nil, nil
	length := s.Program.Songs[0].Meter.Bar()
	for i := range 128 {
		first.Sections = append(first.Sections, engine.Section{Name: fmt.Sprintf("R%d with a name that takes many lines ends E%d", i, i), Start: length * 2 * clock.Beat(i), Length: 2 * length, Note: 255})
	}
	s.Program.Songs, s.Program.SetList = nil, nil
	for i := range 60 {
		song := first
		song.Name = fmt.Sprintf("Song %d", i)
		if i > 0 {
			song.Sections = first.Sections[:24]
		}
		s.Program.Songs = append(s.Program.Songs, song)
		s.Program.SetList = append(s.Program.SetList, int32(i))
	}
	pages := pagesOf(t, pdf(t, paper.NewBook(s, paper.Options{Only: true}), paper.A4))
	require.GreaterOrEqual(t, len(pages), 62, "pages")
	rows := 0
	for n, p := range pages {
		begun, ended, heads := map[string]bool{}, map[string]bool{}, 0
		for _, w := range p.Words {
			switch {
			case regexp.MustCompile(`^R\d+$`).MatchString(w.Text):
				begun[w.Text[1:]] = true
			case regexp.MustCompile(`^E\d+,?$`).MatchString(w.Text):
				ended[strings.TrimSuffix(w.Text[1:], ",")] = true
			case w.Text == "effects":
				heads++
			}
		}
		rows += len(begun)
		assert.Equal(t, fmt.Sprint(ended), fmt.Sprint(begun), "page %d: rows begin %v and end %v", n+1, begun, ended)
		assert.Equal(t, 1, heads, "page %d: rows begin %v and end %v", n+1, begun, ended)
	}
	assert.Equal(t, 128+59*24, rows)
}

// Whatever is in the cells, poppler opens the book and nothing is cut.
func TestAnyBookOpens(t *testing.T) {
	needTool(t, "pdftotext")
	text := rapid.OneOf(rapid.String(), rapid.StringN(0, 900, -1), rapid.Just(strings.Repeat("W", 700)), rapid.Just(""), rapid.SampledFrom([]string{"für", "Ωμέγα ЖЩ", "𝄞\u202e\ufeff", "a\nb\tc\x00"}))
	book := rapid.Custom(func(t *rapid.T) *paper.Book {
		b := &paper.Book{Show: text.Draw(t, "show"), Set: text.Draw(t, "set"), Venue: text.Draw(t, "venue")}
		for range rapid.IntRange(1, 4).Draw(t, "sheets") {
			sheet := paper.Leaf{Title: text.Draw(t, "title"), Under: text.Draw(t, "under"), Words: []string{text.Draw(t, "words")}}
			g := paper.Grid{Name: text.Draw(t, "name"), Heads: []string{text.Draw(t, "head"), "b", "c"}, Share: []float64{.1, .3, .6}, Bold: 2}
			for range rapid.IntRange(0, 40).Draw(t, "rows") {
				g.Rows = append(g.Rows, paper.Line{Cells: []string{text.Draw(t, "1"), text.Draw(t, "2"), text.Draw(t, "3")}, Strong: rapid.Bool().Draw(t, "strong"), Energy: rapid.IntRange(-1, 10).Draw(t, "energy")})
			}
			sheet.Tables = []paper.Grid{g}
			b.Sheets = append(b.Sheets, sheet)
		}
		return b
	})
	for seed := range 12 {
		b := book.Example(seed)
		assert.GreaterOrEqual(t, len(pagesOf(t, pdf(t, b, []paper.Size{paper.A4, paper.Letter}[seed%2]))), len(b.Sheets), "seed %d: pages, one a sheet", seed)
		assert.NoError(t, paper.HTML(io.Discard, b))
	}
}

// TestWordsStayWhole: on the set list, no word is parted, and a section stays beside its
// bars; poppler reads every one of them back.
func TestWordsStayWhole(t *testing.T) {
	s := show(t, nil)
	const long = "Hafenlichterspielzeit"
	s.Program.Songs[s.Program.SetList[0]].Name = long
	b := paper.NewBook(s, paper.Options{})
	b.Sheets = b.Sheets[:1]
	pages := pagesOf(t, pdf(t, b, paper.A4))
	require.Len(t, pages, 1)
	printed := map[string]float64{}
	for _, w := range pages[0].Words {
		text := strings.Trim(w.Text, ",")
		printed[text] = max(printed[text], w.YMax-w.YMin)
	}
	assert.Contains(t, printed, long)
	for _, i := range s.Program.SetList {
		for _, word := range strings.Fields(s.Program.Songs[i].Name) {
			assert.Greater(t, printed[word], 16.0, "%q: type of points", word)
		}
	}
}

func TestNotices(t *testing.T) {
	s := show(t, nil)
	night := func(flashes, strobe float64) *plan.Night {
		return &plan.Night{Songs: []plan.Song{{Strobe: plan.Strobe{Hertz: strobe}, Flashes: []plan.Flashes{{General: flash.Second{Flashes: flashes}}}}}}
	}
	for _, c := range []struct {
		night *plan.Night
		state int8
		due   bool
	}{{nil, 0, false}, {nil, 5, true}, {night(3, 0), 0, false}, {night(3.5, 0), 0, true}, {night(0, 3), 0, false}, {night(0, 4), 0, true}} {
		s.Program.Songs[s.Program.SetList[1]].Flashes = c.state
		var titles []string
		for _, sheet := range paper.NewBook(s, paper.Options{Night: c.night}).Sheets {
			titles = append(titles, sheet.Title)
		}
		all := strings.Join(titles, ", ")
		assert.Equal(t, c.due, strings.Contains(all, "Flashing lights"), "%+v: %s", c, all)
		assert.True(t, strings.HasSuffix(all, "Haze"), "%+v: %s", c, all)
	}
}

func TestWatch(t *testing.T) {
	b := paper.NewBook(evening(t), paper.Options{Only: true})
	all := fmt.Sprint(b.Sheets)
	for _, want := range []string{"pickup into bridge", "stage all but dark for 1 beat", "fade lands on the downbeat of chorus", "someone speaks", "loops until another", "no note: follows the song position", "stage all but dark to the end", "C2 (36)", "on channel 1 it enters the section at once"} {
		assert.Contains(t, all, want)
	}
}
