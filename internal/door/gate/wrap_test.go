package gate

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"
)

// directives reads a policy as Content Security Policy Level 3, section 2.2.1,
// says: the first of a name counts.
func directives(t *testing.T, policy string) map[string][]string {
	t.Helper()
	d := map[string][]string{}
	for part := range strings.SplitSeq(policy, ";") {
		f := strings.Fields(part)
		if len(f) == 0 {
			continue
		}
		if _, twice := d[strings.ToLower(f[0])]; twice {
			t.Errorf("%s stands twice", f[0])
			continue
		}
		d[strings.ToLower(f[0])] = f[1:]
	}
	return d
}

// fallback is where a directive looks when it is not there (section 6.8.3).
var fallback = map[string][]string{
	"script-src-elem": {"script-src", "default-src"}, "script-src-attr": {"script-src", "default-src"},
	"style-src-elem": {"style-src", "default-src"}, "style-src-attr": {"style-src", "default-src"},
	"worker-src": {"child-src", "script-src", "default-src"}, "frame-src": {"child-src", "default-src"},
	"connect-src": {"default-src"}, "font-src": {"default-src"}, "img-src": {"default-src"}, "manifest-src": {"default-src"},
	"media-src": {"default-src"}, "object-src": {"default-src"},
}

func sources(d map[string][]string, name string) []string {
	for _, n := range append([]string{name}, fallback[name]...) {
		if s, ok := d[n]; ok {
			return s
		}
	}
	return []string{"*"}
}

func TestPolicy(t *testing.T) {
	s := newShop(t, nil)
	_, res := s.ask(nil)
	d := directives(t, res.Header.Get("Content-Security-Policy"))
	for name, want := range map[string]string{
		"script-src-elem": "'self'", "script-src-attr": "'self'", "style-src-elem": "'self'", "style-src-attr": "'self'",
		"img-src": "'self' blob: data:", "connect-src": "'self'", "worker-src": "'self' blob:", "font-src": "'self'", "manifest-src": "'self'",
		"form-action": "'self'", "base-uri": "'none'", "frame-ancestors": "'none'",
		"frame-src": "'none'", "object-src": "'none'", "media-src": "'none'",
	} {
		if got := strings.Join(sources(d, name), " "); got != want {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
	}
	for name, list := range d {
		for _, src := range list {
			if slices.Contains([]string{"*", "'unsafe-inline'", "'unsafe-eval'", "http:", "https:"}, src) {
				t.Errorf("%s allows %s", name, src)
			}
		}
	}
}

var always = map[string]string{
	"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin", "Cache-Control": "no-store",
}

// Every answer has the headers: those of handlers, errors, refusals and panics.
func TestHeadersOnEveryAnswer(t *testing.T) {
	s := locked(t, nil)
	for name, c := range map[string]struct {
		h      http.HandlerFunc
		host   string
		method string
		site   string
		want   int
	}{
		"silent":     {h: func(http.ResponseWriter, *http.Request) {}, want: 200},
		"writes":     {h: func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "x") }, want: 200},
		"http.Error": {h: func(w http.ResponseWriter, _ *http.Request) { http.Error(w, "no", 404) }, want: 404},
		"not found":  {h: http.NotFound, want: 404},
		"content": {h: func(w http.ResponseWriter, r *http.Request) {
			http.ServeContent(w, r, "a.txt", time.Time{}, strings.NewReader("x"))
		}, want: 200},
		"bad range": {h: func(w http.ResponseWriter, r *http.Request) {
			r.Header.Set("Range", "bytes=9-")
			http.ServeContent(w, r, "a.txt", time.Time{}, strings.NewReader("x"))
		}, want: 416},
		"panic":       {h: func(http.ResponseWriter, *http.Request) { panic("secret words") }, want: 500},
		"nil":         {h: func(http.ResponseWriter, *http.Request) { _ = []int{}[len(always)] }, want: 500},
		"wrong host":  {h: func(http.ResponseWriter, *http.Request) { t.Error("came through") }, host: "evil.example", want: 421},
		"cross site":  {h: func(http.ResponseWriter, *http.Request) { t.Error("came through") }, method: "POST", site: "cross-site", want: 403},
		"early hints": {h: func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(103); w.WriteHeader(204) }, want: 204},
	} {
		r := httptest.NewRequest("GET", "http://shop-pc.local/", nil)
		if c.method != "" {
			r.Method = c.method
		}
		if c.host != "" {
			r.Host = c.host
		}
		r.Header.Set("Sec-Fetch-Site", c.site)
		w := &last{ResponseRecorder: httptest.NewRecorder()}
		s.Wrap(c.h).ServeHTTP(w, r)
		if w.status != c.want {
			t.Errorf("%s: %d, want %d", name, w.status, c.want)
		}
		for h, want := range always {
			if got := w.Header().Values(h); len(got) != 1 || got[0] != want {
				t.Errorf("%s: %s is %q", name, h, got)
			}
		}
		if w.Header().Get("Content-Security-Policy") == "" || !strings.HasPrefix(w.Header().Get("Permissions-Policy"), "camera=(self), ") {
			t.Errorf("%s: %v", name, w.Header())
		}
		if w.Header().Get("Strict-Transport-Security") != "" {
			t.Errorf("%s: HSTS", name)
		}
		if strings.Contains(w.Body.String(), "secret words") {
			t.Errorf("%s: the panic's text is told", name)
		}
		if c.want == 500 || c.want == 421 || c.want == 403 {
			var p struct {
				Title, Detail string
				Status        int
			}
			if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil || p.Status != c.want || p.Detail == "" || p.Title == "" || w.Header().Get("Content-Type") != "application/problem+json" {
				t.Errorf("%s: %s, %v", name, w.Body, err)
			}
		}
	}
	if log := s.log.String(); !strings.Contains(log, "secret words") || !strings.Contains(log, "wrap_test.go") {
		t.Error("the log does not say where the panic was")
	}
}

// last keeps the last status: the recorder takes early hints for the answer.
type last struct {
	*httptest.ResponseRecorder
	status int
}

func (l *last) WriteHeader(status int) {
	l.status = status
	l.ResponseRecorder.WriteHeader(status)
}

func TestHandlersSetTheirOwn(t *testing.T) {
	s := newShop(t, nil)
	w := httptest.NewRecorder()
	s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	})).ServeHTTP(w, httptest.NewRequest("GET", "http://localhost/assets/a.js", nil))
	if got := w.Header().Values("Cache-Control"); len(got) != 1 || !strings.HasSuffix(got[0], "immutable") {
		t.Errorf("%q", got)
	}
}

func TestHSTS(t *testing.T) {
	for _, c := range []struct {
		secure, hsts bool
		host         string
		want         bool
	}{
		{true, true, "shop.example", true}, {true, true, "shop.example:8443", true}, {true, false, "shop.example", false},
		{false, true, "shop.example", false}, {true, true, "127.0.0.1:8443", false}, {true, true, "[::1]:8443", false},
	} {
		s := newShop(t, func(o *Options) { o.Secure, o.HSTS, o.Hosts = c.secure, c.hsts, []string{"shop.example"} })
		_, res := s.ask(func(r *http.Request) { r.Host = c.host })
		if got := res.Header.Get("Strict-Transport-Security") != ""; got != c.want || res.StatusCode != 200 {
			t.Errorf("%+v: %v, %d", c, got, res.StatusCode)
		}
	}
}

// A torn answer is broken off: the reader must not take half for the whole.
func TestPanicInTheMiddle(t *testing.T) {
	s := newShop(t, nil)
	srv := httptest.NewServer(s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		io.WriteString(w, "half")
		w.(http.Flusher).Flush()
		panic("in the middle")
	})))
	defer srv.Close()
	res, err := http.Get(srv.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if b, err := io.ReadAll(res.Body); err == nil {
		t.Errorf("%q came as if it were whole", b)
	}
}

// Events are sent as they happen, through the gate.
func TestEventsFlow(t *testing.T) {
	s := newShop(t, nil)
	next := make(chan string)
	srv := httptest.NewServer(s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		if err := c.SetWriteDeadline(time.Now().Add(time.Minute)); err != nil {
			t.Error(err)
		}
		for e := range next {
			io.WriteString(w, e)
			if err := c.Flush(); err != nil {
				t.Error(err)
			}
		}
	})))
	defer srv.Close()
	defer close(next)
	go func() { next <- "data: one\n\n" }()
	res, err := http.Get(srv.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	for _, want := range []string{"data: one\n\n", "data: two\n\n"} {
		b := make([]byte, len(want))
		if _, err := io.ReadFull(res.Body, b); err != nil || string(b) != want {
			t.Fatalf("%q, %v", b, err)
		}
		if want == "data: one\n\n" {
			next <- "data: two\n\n"
		}
	}
}

func TestLogOfRequests(t *testing.T) {
	s := locked(t, nil)
	token := s.in(t, owners)
	s.ask(func(r *http.Request) { withToken(s, token)(r); r.URL.RawQuery = "q=confidential" })
	log := s.log.String()
	for _, want := range []string{"level=DEBUG msg=request method=GET path=/api/things status=200", "role=owner"} {
		if !strings.Contains(log, want) {
			t.Errorf("the log has no %q: %s", want, log)
		}
	}
	if strings.Contains(log, token) || strings.Contains(log, "confidential") {
		t.Errorf("the log tells too much: %s", log)
	}
}

func TestOpenGate(t *testing.T) {
	ctx := t.Context()
	s := newShop(t, func(o *Options) { o.Open = true })
	here := func(r *http.Request) {
		r.Host, r.RemoteAddr = "localhost:8080", "127.0.0.1:50000"
		*r = *r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8080}))
	}
	for name, c := range map[string]struct {
		change func(*http.Request)
		want   Role
	}{
		"the machine itself": {func(*http.Request) {}, Owner},
		"its own page":       {func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-origin") }, Owner},
		"an address typed":   {func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "none") }, Owner},
		"an old browser":     {func(r *http.Request) { r.Header.Set("Origin", "http://localhost:8080") }, Owner},
		"another site":       {func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, ""},
		"another port":       {func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-site") }, ""},
		"another origin":     {func(r *http.Request) { r.Header.Set("Origin", "http://evil.example") }, ""},
		"a sandboxed page":   {func(r *http.Request) { r.Header.Set("Origin", "null") }, ""},
		"another machine":    {func(r *http.Request) { r.RemoteAddr = "192.168.1.9:4000" }, ""},
		"a proxy":            {func(r *http.Request) { r.Header.Set("X-Forwarded-For", "203.0.113.5") }, ""},
		"a proxy by the RFC": {func(r *http.Request) { r.Header.Set("Forwarded", "for=203.0.113.5") }, ""},
		"a socket": {func(r *http.Request) {
			*r = *r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, &net.UnixAddr{Name: "/run/x"}))
		}, ""},
		"another way in": {func(r *http.Request) {
			*r = *r.WithContext(context.WithValue(r.Context(), http.LocalAddrContextKey, &net.TCPAddr{IP: net.IPv4(192, 168, 1, 20), Port: 8080}))
		}, ""},
	} {
		who, res := s.ask(func(r *http.Request) { here(r); c.change(r) })
		if who.Role != c.want || res.StatusCode != 200 {
			t.Errorf("%s is %q with %d, want %q", name, who.Role, res.StatusCode, c.want)
		}
	}
	if err := s.SetPasscode(ctx, Owner, owners); err != nil {
		t.Fatal(err)
	}
	if who, _ := s.ask(here); who.Role != "" {
		t.Errorf("with a passcode set it is still open: %q", who.Role)
	}
	again, err := New(Options{Keep: s.keep, Open: true})
	if err != nil {
		t.Fatal(err)
	}
	if who, _ := (&shop{Gate: again}).ask(func(r *http.Request) { here(r) }); who.Role != "" {
		t.Errorf("after a restart it is open again: %q", who.Role)
	}
	if err := s.RemovePasscode(ctx, Owner); err != nil {
		t.Fatal(err)
	}
	if who, _ := s.ask(here); who.Role != Owner {
		t.Errorf("without the passcode it is not open again: %q", who.Role)
	}
	s.keep.err = errors.New("disk on fire")
	if who, res := s.ask(here); who.Role != "" || res.StatusCode != 500 {
		t.Errorf("not knowing whether there is a passcode: %q, %d", who.Role, res.StatusCode)
	}
	if who, _ := newShop(t, nil).ask(here); who.Role != "" {
		t.Errorf("a gate that is not open lets in %q", who.Role)
	}
}
