package panel

import (
	"bytes"
	"cmp"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tactus/shows"
	"tactus/shows/paper"
	"tactus/shows/plan"
	"tactus/shows/plot"
	"tactus/shows/sheet"
)

// paperPolicy lets a sheet for print show its own styles, and nothing else (W3C Content
// Security Policy Level 3). The page itself may not have styles in its HTML.
const paperPolicy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// oneOf returns the value of a key of a query: the first of those that are allowed, if it
// is missing.
func oneOf(query url.Values, key string, allowed ...string) (string, error) {
	v := query.Get(key)
	if v == "" {
		return allowed[0], nil
	}
	if !slices.Contains(allowed, v) {
		return "", fmt.Errorf("%s=%.60q: want %s", key, v, strings.Join(allowed, " or "))
	}
	return v, nil
}

// paper answers with the night on paper, of the show as it is edited.
func (p *Panel) paper(w http.ResponseWriter, r *http.Request) {
	v, show, set := p.nightAsked(w, r)
	if show == nil {
		return
	}
	format, err := oneOf(r.URL.Query(), "format", "pdf", "html")
	size, err2 := oneOf(r.URL.Query(), "paper", "a4", "letter")
	if err = cmp.Or(err, err2); err != nil {
		refuse(w, http.StatusUnprocessableEntity, err)
		return
	}
	measured, err := p.measureNight(r.Context(), w, v, show, set)
	if err != nil {
		refuse(w, http.StatusServiceUnavailable, errGone)
		return
	}
	book := paper.NewBook(show, paper.Options{Night: measured, Usual: p.c.Usual, Unsaved: v.State.Unsaved})
	var out bytes.Buffer
	kind := "application/pdf"
	if format == "html" {
		kind, err = "text/html; charset=utf-8", paper.HTML(&out, book)
	} else {
		err = paper.PDF(&out, book, map[string]paper.Size{"a4": paper.A4, "letter": paper.Letter}[size])
	}
	if err != nil {
		refuse(w, http.StatusInternalServerError, err)
		return
	}
	w.Header().Set("Content-Security-Policy", paperPolicy)
	deliver(w, kind, stemOf(set, "night")+"-sheets."+format, out.Bytes())
}

// plot answers with a picture of the show as it is edited: a song's score, the night on
// one page, or the stage from above.
func (p *Panel) plot(w http.ResponseWriter, r *http.Request) {
	v, show, set := p.nightAsked(w, r)
	if show == nil {
		return
	}
	query := r.URL.Query()
	what, err := oneOf(query, "what", "night", "song", "stage")
	format, err2 := oneOf(query, "format", "svg", "png")
	size, err3 := oneOf(query, "paper", "a4", "letter")
	if err = cmp.Or(err, err2, err3); err != nil {
		refuse(w, http.StatusUnprocessableEntity, err)
		return
	}
	page := sheet.Papers()[slices.IndexFunc(sheet.Papers(), func(p sheet.Paper) bool { return p.Name == size })]
	name, drawn := "stage", (*sheet.Sheet)(nil)
	if what == "stage" {
		drawn = plot.Stage(show, page)
	} else {
		measured, err := p.measureNight(r.Context(), w, v, show, set)
		if err != nil {
			refuse(w, http.StatusServiceUnavailable, errGone)
			return
		}
		if name, drawn, err = drawNight(measured, what, query.Get("song"), set, page); err != nil {
			refuse(w, http.StatusUnprocessableEntity, err)
			return
		}
	}
	src, kind := drawn.SVG(), "image/svg+xml"
	if format == "png" {
		if src, err = drawn.PNG(sheet.DPI); err != nil {
			refuse(w, http.StatusInternalServerError, err)
			return
		}
		kind = "image/png"
	}
	deliver(w, kind, name+"."+format, src)
}

// drawNight draws a measured night, or the song of a file in it.
func drawNight(n *plan.Night, what, file, set string, page sheet.Paper) (name string, drawn *sheet.Sheet, err error) {
	if what == "night" {
		return stemOf(set, "night"), plot.Overview(n, page), nil
	}
	i := slices.IndexFunc(n.Songs, func(s plan.Song) bool { return n.Show.Files[s.Index] == file })
	if i < 0 {
		return "", nil, fmt.Errorf("song=%.60q: want the file of a song of the set, such as songs/lanterns.yaml", file)
	}
	return "song-" + shows.StemOf(file), plot.Score(n, i, page), nil
}

// stemOf returns the name of a set's file without its ending, or other if there is none.
func stemOf(set, other string) string {
	if set == "" {
		return other
	}
	return shows.StemOf(set)
}

// deliver answers with a file that a browser shows, and saves under a name.
func deliver(w http.ResponseWriter, kind, name string, src []byte) {
	name = strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`<>:"/\|?*`, r) {
			return '-'
		}
		return r
	}, name)
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": name}))
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write(src) // the client may have disconnected
}
