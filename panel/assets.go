package panel

import (
	"embed"
	"io/fs"
	"net/http"
)

//go:embed page openapi.yaml
var embedded embed.FS

// described answers with the description of the interface (OpenAPI 3.0).
func described(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/yaml")
	http.ServeFileFS(w, r, embedded, "openapi.yaml")
}

// assets serves the page. It is in the binary: no network is asked for anything.
func assets() http.Handler {
	root, err := fs.Sub(embedded, "page")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	files := http.FileServerFS(root)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "no-cache") // a new binary has a new page
		files.ServeHTTP(w, r)
	})
}
