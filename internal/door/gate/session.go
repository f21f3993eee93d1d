package gate

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"net/http"
	"strings"
	"sync"
	"time"
	"unicode"

	"fettle"
)

// How long a session lasts: two weeks without being used, so that a phone at the
// sink survives a holiday but not a sale, and a quarter of a year in all.
const (
	idleFor  = 14 * 24 * time.Hour
	lastsFor = 90 * 24 * time.Hour
	// seenEvery is how often a use is written down.
	seenEvery = 10 * time.Minute
)

const (
	tokenBytes = 32
	agentBytes = 200
)

// newToken is n random bytes as base64url.
func newToken(n int) string {
	b := make([]byte, n)
	rand.Read(b) // never fails; the program ends instead
	return base64.RawURLEncoding.EncodeToString(b)
}

// digest is what is kept of a token: whoever reads the store cannot come in with
// what is there.
func digest(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

// token reports whether a string has the form of a session's token.
func tokenLike(s string) bool {
	if len(s) != base64.RawURLEncoding.EncodedLen(tokenBytes) || strings.ContainsAny(s, "\r\n") {
		return false
	}
	_, err := base64.RawURLEncoding.Strict().DecodeString(s)
	return err == nil
}

// begin makes a session.
func (g *Gate) begin(ctx context.Context, r Role, agent string) (string, error) {
	token, now := newToken(tokenBytes), g.now()
	err := g.keep.SaveSession(ctx, fettle.Session{
		Token: digest(token), Role: string(r), Made: now, Seen: now, Ends: now.Add(lastsFor), Agent: tidy(agent),
	})
	if err != nil {
		return "", err
	}
	return token, nil
}

// tidy makes what a browser calls itself fit for a line on the screen.
func tidy(agent string) string {
	agent = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return -1
		}
		return r
	}, strings.ToValidUTF8(agent, ""))
	if len(agent) > agentBytes {
		agent = strings.ToValidUTF8(agent[:agentBytes], "")
	}
	return agent
}

func (g *Gate) cookieName() string {
	if g.secure {
		// The prefix makes a browser refuse the cookie from another host under the same
		// domain, or one that came in plain (RFC 6265bis, section 4.1.3.2).
		return "__Host-fettle_session"
	}
	return "fettle_session"
}

// Cookie is what a browser keeps of a session.
func (g *Gate) Cookie(token string) *http.Cookie {
	return &http.Cookie{
		Name: g.cookieName(), Value: token, Path: "/", MaxAge: int(lastsFor / time.Second),
		HttpOnly: true, Secure: g.secure, SameSite: http.SameSiteStrictMode,
	}
}

// ClearCookie makes a browser forget its session.
func (g *Gate) ClearCookie() *http.Cookie {
	c := g.Cookie("")
	c.MaxAge = -1
	return c
}

// TokenOf is the token that a request brings, "" for none. Two under the same name
// are none: cookies know no ports, so that another service on this machine may have
// put one beside ours, and which of them is ours cannot be told.
func (g *Gate) TokenOf(r *http.Request) string {
	c := r.CookiesNamed(g.cookieName())
	if len(c) != 1 || !tokenLike(c[0].Value) {
		return ""
	}
	return c[0].Value
}

// LogOut ends a session, and where token is "" that of the request in ctx. One that
// is not there has ended.
func (g *Gate) LogOut(ctx context.Context, token string) error {
	sha := From(ctx).Session.Token
	if token != "" {
		sha = digest(token)
	}
	if sha == "" {
		return nil
	}
	return g.keep.DropSession(ctx, sha)
}

// find is who holds a token.
func (g *Gate) find(ctx context.Context, token string) (Who, error) {
	if token == "" {
		return Who{}, nil
	}
	s, ok, err := g.keep.SessionOf(ctx, digest(token))
	if err != nil || !ok {
		return Who{}, err
	}
	now := g.now()
	if !now.Before(s.Ends) || !now.Before(s.Seen.Add(idleFor)) || !now.Before(s.Made.Add(lastsFor)) {
		if err := g.keep.DropSession(ctx, s.Token); err != nil {
			g.log.ErrorContext(ctx, "a session that ended was not dropped", "error", err)
		}
		return Who{}, nil
	}
	if !Role(s.Role).known() {
		return Who{}, nil
	}
	if now.Sub(s.Seen) >= seenEvery && g.seen.first(s.Token, now) {
		if err := g.keep.SeenSession(ctx, s.Token, now); err != nil {
			g.log.ErrorContext(ctx, "a session's use was not written down", "error", err)
		} else {
			s.Seen = now
		}
	}
	return Who{Role: Role(s.Role), Session: s}, nil
}

// seen remembers whose use was written down lately: a page that is opened asks for
// many things at once, all of which find the old time.
type seen struct {
	mu sync.Mutex
	at map[string]time.Time
}

func (s *seen) first(token string, now time.Time) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if at, ok := s.at[token]; ok && now.Sub(at) < seenEvery && !now.Before(at) {
		return false
	}
	if s.at == nil || len(s.at) >= 1000 {
		s.at = map[string]time.Time{} // at worst a few uses are written twice
	}
	s.at[token] = now
	return true
}
