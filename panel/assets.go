package panel

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"strings"

	"tactus/engine/commands"
)

//go:embed page openapi.yaml
var embedded embed.FS

// described answers with the OpenAPI 3.0 description of the interface.
func described(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/yaml")
	http.ServeFileFS(w, r, embedded, "openapi.yaml")
}

// button is a command's button on the page.
type button struct {
	ID, Class, Path, Undo, Label, UndoLabel string
	Twice                                   bool
}

// group returns the buttons of a group of commands, in the order of the table.
func group(name string) (list []button) {
	for _, r := range commands.Table() {
		if r.Button.Group != name {
			continue
		}
		b := button{ID: strings.ReplaceAll(r.Path, "/", "-"), Path: r.Path, Label: r.Button.Label, Twice: r.Button.NeedsSecondTap}
		var classes []string
		if r.Button.Large {
			classes = append(classes, "big")
		}
		if r.Button.NeedsSecondTap {
			classes = append(classes, "grave")
		}
		b.Class = strings.Join(classes, " ")
		if undo, ok := commands.Lookup(r.Button.Undo); ok {
			b.Undo, b.UndoLabel = undo.Path, undo.Button.Label
		}
		list = append(list, b)
	}
	return list
}

// index returns the page's HTML, with the rooms of Compose and the buttons of the command
// table.
func index(root fs.FS) []byte {
	t := template.Must(template.New("index.html").Funcs(template.FuncMap{"group": group}).ParseFS(root, "index.html", "room-*.html"))
	var out bytes.Buffer
	if err := t.Execute(&out, nil); err != nil {
		panic(err) // the page is embedded and tested
	}
	return out.Bytes()
}

// assets serves the page from the binary; it needs no network access.
func assets() http.Handler {
	root, err := fs.Sub(embedded, "page")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	files, page := http.FileServerFS(root), index(root)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-cache") // a new binary has a new page
		if r.URL.Path == "/" {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			_, _ = w.Write(page) // the client may have disconnected
			return
		}
		if !fs.ValidPath(strings.Trim(r.URL.Path, "/")) { // net/http answers 500 for some of these
			refuse(w, http.StatusNotFound, fmt.Errorf("no page has the path %.60q", r.URL.Path))
			return
		}
		files.ServeHTTP(w, r)
	})
}
