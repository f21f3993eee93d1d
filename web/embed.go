// Package web holds the page that browsers get from the binary: who is there,
// what needs a hand now, and a code that opens it on a phone. [Handler] serves it.
package web

import (
	"embed"
	"io/fs"
	"net/http"
)

//go:embed front
var front embed.FS

// Handler serves the page at / and what it is made of. It knows nothing of the
// shop: the page asks the API.
func Handler() http.Handler {
	root, err := fs.Sub(front, "front")
	if err != nil {
		panic("web: " + err.Error())
	}
	files := http.FileServerFS(root)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "this page can only be read", http.StatusMethodNotAllowed)
			return
		}
		w.Header().Set("Cache-Control", "private, no-cache")
		files.ServeHTTP(w, r)
	})
}
