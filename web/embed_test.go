package web

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
)

// The page and all that it is made of come from the binary, and nothing in it would be
// refused by a policy that allows neither scripts nor styles within the page.
func TestPage(t *testing.T) {
	get := func(method, path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		Handler().ServeHTTP(w, httptest.NewRequest(method, path, nil))
		return w
	}
	page := get(http.MethodGet, "/")
	text := page.Body.String()
	if page.Code != 200 || !strings.HasPrefix(page.Header().Get("Content-Type"), "text/html") {
		t.Fatalf("%d %v", page.Code, page.Header())
	}
	if found := regexp.MustCompile(`<script>|<style|style="|\son\w+="|https?:`).FindString(text); found != "" {
		t.Errorf("the page holds %q", found)
	}
	parts := regexp.MustCompile(`(?:src|href)="\./([^":]+)"`).FindAllStringSubmatch(text, -1)
	if len(parts) < 2 {
		t.Errorf("the page is made of %v", parts)
	}
	for _, p := range parts {
		if w := get(http.MethodGet, "/"+p[1]); w.Code != 200 || w.Body.Len() == 0 {
			t.Errorf("%s: %d", p[1], w.Code)
		}
	}
	for _, c := range []struct {
		method, path string
		want         int
	}{{"POST", "/", 405}, {"GET", "/embed.go", 404}, {"GET", "/../embed.go", 404}, {"GET", "/nothing", 404}, {"GET", "/README.md", 404}, {"GET", "/assets/", 404}, {"HEAD", "/", 200}} {
		if w := get(c.method, c.path); w.Code != c.want {
			t.Errorf("%s %s: %d, want %d", c.method, c.path, w.Code, c.want)
		}
	}
}

// What browsers take packed is sent so, and is the same when unpacked; the names of
// built files hold their hash, so they stay for ever.
func TestPacked(t *testing.T) {
	page := httptest.NewRecorder()
	Handler().ServeHTTP(page, httptest.NewRequest(http.MethodGet, "/", nil))
	script := regexp.MustCompile(`src="\.(/assets/[^"]+\.js)"`).FindStringSubmatch(page.Body.String())
	if script == nil {
		t.Fatal("the page has no script")
	}
	get := func(accept string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(http.MethodGet, script[1], nil)
		r.Header.Set("Accept-Encoding", accept)
		w := httptest.NewRecorder()
		Handler().ServeHTTP(w, r)
		return w
	}
	plain, packed := get("br, gzip;q=0"), get("br, gzip")
	if plain.Header().Get("Content-Encoding") != "" || packed.Header().Get("Content-Encoding") != "gzip" || packed.Header().Get("Vary") != "Accept-Encoding" {
		t.Fatalf("plain %v, packed %v", plain.Header(), packed.Header())
	}
	if plain.Header().Get("ETag") == packed.Header().Get("ETag") {
		t.Error("both have one ETag")
	}
	if c := packed.Header().Get("Cache-Control"); !strings.Contains(c, "immutable") {
		t.Errorf("kept by %q", c)
	}
	z, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(z)
	if err != nil || !bytes.Equal(got, plain.Body.Bytes()) {
		t.Errorf("unpacked %d bytes, %v; want %d", len(got), err, plain.Body.Len())
	}
}
