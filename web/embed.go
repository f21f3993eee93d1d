// Package web holds the shop's page, which browsers get from the binary. [Handler]
// serves it. It is written in web/face and built by make face into web/front.
package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
	"sync"
	"time"
)

//go:embed front
var front embed.FS

// file is one file of the page, as it is sent.
type file struct {
	kind   string // its media type
	tag    string // ETag
	plain  []byte
	packed []byte // by gzip; nil where that does not make it smaller
	cache  string
}

// files are all of the page, by their address. They are packed once, when first asked for.
var files = sync.OnceValue(func() map[string]*file {
	all := map[string]*file{}
	err := fs.WalkDir(front, "front", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		at := strings.TrimPrefix(name, "front")
		if at == "/README.md" {
			return nil
		}
		data, err := front.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(data)
		f := &file{kind: kindOf(name), tag: `"` + hex.EncodeToString(sum[:12]) + `"`, plain: data, packed: pack(data), cache: "private, no-cache"}
		// What is built has a hash of its content in its name.
		if strings.HasPrefix(at, "/assets/") {
			f.cache = "private, max-age=31536000, immutable"
		}
		all[at] = f
		return nil
	})
	if err != nil {
		panic("web: " + err.Error())
	}
	if f := all["/index.html"]; f != nil {
		all["/"] = f
	}
	return all
})

func kindOf(name string) string {
	switch path.Ext(name) {
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".woff2":
		return "font/woff2"
	}
	return mime.TypeByExtension(path.Ext(name))
}

func pack(data []byte) []byte {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err == nil {
		_, err = w.Write(data)
		err = errors.Join(err, w.Close())
	}
	if err != nil {
		panic("web: " + err.Error()) // a buffer takes everything
	}
	if b.Len() > len(data)*9/10 {
		return nil
	}
	return b.Bytes()
}

// Handler serves the page at / and what it is made of. It knows nothing of the
// shop: the page asks the API.
func Handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "this page can only be read", http.StatusMethodNotAllowed)
			return
		}
		f := files()[r.URL.Path]
		switch {
		case f == nil && r.URL.Path == "/":
			http.Error(w, "this program was built without its page; build it with make build", http.StatusNotFound)
			return
		case f == nil:
			http.NotFound(w, r)
			return
		}
		h := w.Header()
		h.Set("Content-Type", f.kind)
		h.Set("Cache-Control", f.cache)
		h.Set("ETag", f.tag)
		body := f.plain
		if f.packed != nil {
			h.Set("Vary", "Accept-Encoding")
			if takesGzip(r.Header.Get("Accept-Encoding")) {
				h.Set("Content-Encoding", "gzip")
				h.Set("ETag", strings.TrimSuffix(f.tag, `"`)+`-gz"`)
				body = f.packed
			}
		}
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(body))
	})
}

// takesGzip tells whether an Accept-Encoding names gzip and does not refuse it
// (RFC 9110, section 12.5.3).
func takesGzip(accept string) bool {
	for one := range strings.SplitSeq(accept, ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(one), ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			q = strings.ReplaceAll(strings.ToLower(q), " ", "")
			return q != "q=0" && q != "q=0.0" && q != "q=0.00" && q != "q=0.000"
		}
	}
	return false
}
