package gate

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"fettle"
)

func withToken(s *shop, token string) func(*http.Request) {
	return func(r *http.Request) { r.AddCookie(s.Cookie(token)) }
}

func TestCookies(t *testing.T) {
	for _, secure := range []bool{false, true} {
		s := newShop(t, func(o *Options) { o.Secure = secure })
		w := httptest.NewRecorder()
		token := newToken(tokenBytes)
		http.SetCookie(w, s.Cookie(token))
		line := w.Header().Get("Set-Cookie")
		name := "fettle_session"
		if secure {
			name = "__Host-fettle_session"
		}
		// RFC 6265bis, section 4.1.3.2: Secure, Path=/, no Domain.
		parts := strings.Split(line, "; ")
		has := map[string]bool{}
		for _, p := range parts[1:] {
			has[p] = true
		}
		if parts[0] != name+"="+token || !has["HttpOnly"] || !has["SameSite=Strict"] || !has["Path=/"] || has["Secure"] != secure ||
			strings.Contains(strings.ToLower(line), "domain=") || !has["Max-Age=7776000"] {
			t.Errorf("secure %v: %s", secure, line)
		}
		if c := s.ClearCookie(); c.Name != name || c.Value != "" || c.MaxAge >= 0 || c.Path != "/" || c.Secure != secure {
			t.Errorf("cleared by %v", c)
		}
	}
}

// A browser that comes over TLS and has a plain cookie too is known by the one
// that nobody else can have set.
func TestPlainCookieOverTLS(t *testing.T) {
	s := locked(t, func(o *Options) { o.Secure = true })
	token := s.in(t, owners)
	who, _ := s.ask(func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "fettle_session", Value: token}) })
	if who.Role != "" {
		t.Errorf("a plain cookie lets in %q", who.Role)
	}
	if r := s.asToken(token); r != Owner {
		t.Errorf("the right cookie lets in %q", r)
	}
}

func TestSessions(t *testing.T) {
	ctx := t.Context()
	s := locked(t, nil)
	a, b := s.in(t, owners), s.in(t, hands)
	if a == b || len(a) != 43 {
		t.Fatalf("tokens %q, %q", a, b)
	}
	for sha, v := range s.keep.sessions {
		if strings.Contains(sha, a) || v.Token != sha || len(sha) != 64 || v.Ends.Sub(v.Made) != lastsFor {
			t.Errorf("kept as %+v", v)
		}
	}
	if strings.Contains(s.log.String(), a) {
		t.Error("a token stands in the log")
	}
	for _, c := range []struct {
		token string
		want  Role
	}{
		{a, Owner}, {b, Hand},
		{"", ""}, {a[:42], ""}, {a + "A", ""}, {strings.ToLower(a), ""}, {digest(a), ""}, {newToken(tokenBytes), ""},
		{a[:10] + flip(a[10]) + a[11:], ""},
		{flip(a[0]) + a[1:], ""},
	} {
		if got := s.asToken(c.token); got != c.want {
			t.Errorf("token %q is %q's, want %q", c.token, got, c.want)
		}
	}
	// Two cookies of one name: one of them another service's.
	for _, v := range [][2]string{{a, b}, {b, a}, {a, a}, {"x", a}} {
		who, _ := s.ask(func(r *http.Request) { r.AddCookie(s.Cookie(v[0])); r.AddCookie(s.Cookie(v[1])) })
		if who.Role != "" {
			t.Errorf("two cookies let in %q", who.Role)
		}
	}
	// Replay after log-out.
	if err := s.LogOut(ctx, a); err != nil {
		t.Fatal(err)
	}
	if s.asToken(a) != "" || s.asToken(b) != Hand {
		t.Errorf("after log-out %q, and the other %q", s.asToken(a), s.asToken(b))
	}
	if err := s.LogOut(ctx, a); err != nil {
		t.Errorf("logging out twice: %v", err)
	}
	who, _ := s.ask(withToken(s, b))
	if err := s.LogOut(With(ctx, who), ""); err != nil || s.asToken(b) != "" {
		t.Errorf("log-out of the request's own: %v, then %q", err, s.asToken(b))
	}
	if err := s.LogOut(ctx, ""); err != nil {
		t.Errorf("log-out of nobody: %v", err)
	}
}

func flip(c byte) string {
	if c == 'A' {
		return "B"
	}
	return "A"
}

// Whatever the browser held before, it holds another token after logging in, and
// what it held lets nobody in.
func TestFixation(t *testing.T) {
	s := locked(t, nil)
	planted := newToken(tokenBytes)
	if s.asToken(planted) != "" {
		t.Fatal("a planted token lets in")
	}
	r := With(t.Context(), Who{})
	token, _, err := s.LogIn(r, "127.0.0.1:1", owners, "")
	if err != nil || token == planted || s.asToken(planted) != "" {
		t.Errorf("after log-in the planted token is %q's: %v", s.asToken(planted), err)
	}
	again, _, err := s.LogIn(r, "127.0.0.1:1", owners, "")
	if err != nil || again == token {
		t.Errorf("two log-ins have one token: %v", err)
	}
}

func TestSessionsEnd(t *testing.T) {
	const day = 24 * time.Hour
	for _, c := range []struct {
		every, in time.Duration // used so often for so long
		rest      time.Duration // and then left alone
		want      Role
	}{
		{0, 0, 13 * day, Hand},
		{0, 0, 14 * day, ""},
		{day, 60 * day, 13 * day, Hand},
		{day, 60 * day, 14 * day, ""},
		{13 * day, 78 * day, 11 * day, Hand},
		{day, 89 * day, 23 * time.Hour, Hand},
		{day, 89 * day, day, ""}, // a quarter of a year, used or not
	} {
		s := locked(t, nil)
		token := s.in(t, hands)
		if c.every > 0 {
			for d := time.Duration(0); d < c.in; d += c.every {
				s.clock.pass(c.every)
				if s.asToken(token) != Hand {
					t.Fatalf("used every %v it ended after %v", c.every, d)
				}
			}
		}
		s.clock.pass(c.rest)
		if got := s.asToken(token); got != c.want {
			t.Errorf("used every %v for %v, left for %v: %q, want %q", c.every, c.in, c.rest, got, c.want)
		}
		if _, there := s.keep.sessions[digest(token)]; there != (c.want != "") {
			t.Errorf("used every %v for %v, left for %v: still kept is %v", c.every, c.in, c.rest, there)
		}
	}
}

func TestUseIsWrittenEveryTenMinutes(t *testing.T) {
	s := locked(t, nil)
	token := s.in(t, hands)
	for range 60 * 6 { // an hour, six times a minute
		s.clock.pass(10 * time.Second)
		for range 3 {
			s.asToken(token)
		}
	}
	if s.keep.seen != 6 {
		t.Errorf("written %d times in an hour", s.keep.seen)
	}
	// A page that opens asks for many things at once, and all find the old time.
	s.clock.pass(time.Hour)
	old := s.keep.sessions[digest(token)]
	for range 8 {
		s.keep.sessions[digest(token)] = old
		s.asToken(token)
	}
	if s.keep.seen != 7 {
		t.Errorf("written %d times at once", s.keep.seen-6)
	}
}

func TestRolesThatAreNone(t *testing.T) {
	s := locked(t, nil)
	token := s.in(t, hands)
	v := s.keep.sessions[digest(token)]
	v.Role = "king"
	s.keep.sessions[digest(token)] = v
	if r := s.asToken(token); r != "" {
		t.Errorf("a role that is none is %q", r)
	}
	for _, f := range []func(){
		func() { s.Invite(t.Context(), "king") },
		func() { s.SetPasscode(t.Context(), "", owners) },
		func() { s.HasPasscode(t.Context(), "king") },
		func() { Who{}.May("") },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a role that is none is no mistake")
				}
			}()
			f()
		}()
	}
}

func TestMay(t *testing.T) {
	for _, c := range []struct {
		who, may Role
		want     bool
	}{{Owner, Owner, true}, {Owner, Hand, true}, {Hand, Hand, true}, {Hand, Owner, false}, {"", Hand, false}, {"", Owner, false}, {"king", Hand, false}} {
		if got := (Who{Role: c.who}).May(c.may); got != c.want {
			t.Errorf("%q may what %q may: %v", c.who, c.may, got)
		}
	}
	if (From(t.Context()) != Who{}) {
		t.Error("without a gate there is somebody")
	}
}

func TestAgents(t *testing.T) {
	s := locked(t, nil)
	s.clock.pass(time.Minute)
	token, _, err := s.LogIn(t.Context(), "127.0.0.1:1", owners, "phone\r\n\x1b[2J\xff"+strings.Repeat("é", 300))
	if err != nil {
		t.Fatal(err)
	}
	a := s.keep.sessions[digest(token)].Agent
	if len(a) > agentBytes || !utf8.ValidString(a) || !strings.HasPrefix(a, "phone[2Jéé") {
		t.Errorf("%q", a)
	}
}

func FuzzCookie(f *testing.F) {
	s := locked(f, nil)
	token := s.in(f, owners)
	f.Add("fettle_session=" + token)
	f.Add("fettle_session=\"" + token + "\"; a=b")
	f.Add("fettle_session=" + token + "; fettle_session=" + token)
	f.Add("fettle_session=;;;=,")
	f.Fuzz(func(t *testing.T, header string) {
		who, res := s.ask(func(r *http.Request) { r.Header.Set("Cookie", header) })
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%q: %d", header, res.StatusCode)
		}
		if who.Role != "" && strings.Count(header, token) != 1 {
			t.Fatalf("%q lets in %q", header, who.Role)
		}
		if (who.Session != fettle.Session{}) != (who.Role != "") {
			t.Fatalf("%q: %+v", header, who)
		}
	})
}
