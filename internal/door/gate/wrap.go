package gate

import (
	"context"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
	"time"
)

// policy is what a page of ours may load: what this server sends, and pictures and
// workers that the page itself makes. No script and no style stands in the page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; " +
	"worker-src 'self' blob:; font-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// permissions leaves a page the camera, for photos of parts, and nothing else.
const permissions = "camera=(self), microphone=(), geolocation=(), display-capture=(), usb=(), serial=(), hid=(), midi=(), payment=()"

const halfYear = "max-age=15552000"

// A body that comes slower than this is given up; handlers that take large files
// ask for more with [Steady].
const (
	bodyGrace = 20 * time.Second
	bodyRate  = 512 // bytes/s
)

// Wrap puts the gate before a handler. Every answer has the security headers, which
// the handler may set otherwise, and is not stored unless the handler sets
// Cache-Control. A request that calls the shop by a foreign name is refused with
// 421, one that changes something for another site's page with 403. All others come
// through, with who asks in their context ([From]); nobody comes through too. A
// panic becomes a 500 without its text.
func (g *Gate) Wrap(next http.Handler) http.Handler {
	return http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		began := time.Now()
		w := &answer{ResponseWriter: rw}
		g.headers(w.Header(), r)
		var who Who
		defer func() {
			g.log.DebugContext(r.Context(), "request", "method", r.Method, "path", r.URL.Path, "status", w.status,
				"bytes", w.bytes, "ms", time.Since(began).Milliseconds(), "role", who.Role, "from", r.RemoteAddr)
		}()
		defer g.catch(w, r)
		if !g.called(r) {
			problem(w, http.StatusMisdirectedRequest, "this shop does not go by the name that it was called by; use the address that the desk shows, or add the name to the shop's own")
			return
		}
		if g.cross.Check(r) != nil {
			problem(w, http.StatusForbidden, "this was asked for by a page of another site, and was not done; do it in the shop's own page")
			return
		}
		who, err := g.who(r)
		if err != nil {
			g.log.ErrorContext(r.Context(), "who asks could not be told", "error", err)
			problem(w, http.StatusInternalServerError, "something went wrong in the shop's own program; its log says what")
			return
		}
		r = r.WithContext(context.WithValue(r.Context(), whoKey{}, who))
		if r.Body != nil && r.Body != http.NoBody {
			r.Body = body{Reader: Steady(w, r.Body, bodyGrace, bodyRate), Closer: r.Body}
		}
		next.ServeHTTP(w, r)
		if w.status == 0 {
			w.WriteHeader(http.StatusOK)
		}
	})
}

// who asks. Sessions count at an open gate too, away from the machine itself.
func (g *Gate) who(r *http.Request) (Who, error) {
	if g.open && g.besides(r) {
		// Asked every time: a passcode closes the gate at once, whoever sets it.
		if set, err := g.anyPasscode(r.Context()); err != nil || !set {
			return Who{Role: Owner}, err
		}
	}
	return g.find(r.Context(), g.TokenOf(r))
}

func (g *Gate) headers(h http.Header, r *http.Request) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", permissions)
	h.Set("Cache-Control", "no-store")
	if g.hsts {
		// Browsers pay no heed to it under an address (RFC 6797, section 8.1.1).
		if _, err := netip.ParseAddrPort(r.Host); err != nil && !strings.HasPrefix(r.Host, "[") {
			h.Set("Strict-Transport-Security", halfYear)
		}
	}
}

// catch turns a panic into an answer. One that has begun is broken off, so that
// the browser does not take half of it for the whole.
func (g *Gate) catch(w *answer, r *http.Request) {
	v := recover()
	if v == nil {
		return
	}
	if v == http.ErrAbortHandler {
		panic(v)
	}
	g.log.ErrorContext(r.Context(), "panic in a handler", "panic", v, "method", r.Method, "path", r.URL.Path, "stack", string(debug.Stack()))
	if w.status != 0 {
		panic(http.ErrAbortHandler)
	}
	for _, h := range []string{"Content-Encoding", "Content-Length", "Content-Disposition", "Etag", "Last-Modified", "Set-Cookie"} {
		w.Header().Del(h)
	}
	w.Header().Set("Cache-Control", "no-store")
	problem(w, http.StatusInternalServerError, "something went wrong in the shop's own program; its log says what")
}
