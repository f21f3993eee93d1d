package web

import (
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
	parts := regexp.MustCompile(`(?:src|href)="([^":/]+)"`).FindAllStringSubmatch(text, -1)
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
	}{{"POST", "/", 405}, {"GET", "/embed.go", 404}, {"GET", "/../embed.go", 404}, {"GET", "/nothing", 404}, {"HEAD", "/", 200}} {
		if w := get(c.method, c.path); w.Code != c.want {
			t.Errorf("%s %s: %d, want %d", c.method, c.path, w.Code, c.want)
		}
	}
}
