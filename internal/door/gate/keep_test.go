package gate

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle"
)

// weak costs nothing: what is tested is not argon2's strength.
var weak = cost{kib: 8, passes: 1, threads: 1}

const (
	owners = "burr under the relief"
	hands  = "wet sink, dry towel"
)

// memory is a Keep.
type memory struct {
	mu       sync.Mutex
	sessions map[string]fettle.Session
	secrets  map[string]string
	seen     int   // how often a use was written down
	err      error // of everything, where set
	onSecret func(name string)
}

func newMemory() *memory {
	return &memory{sessions: map[string]fettle.Session{}, secrets: map[string]string{}}
}

func (m *memory) SaveSession(_ context.Context, s fettle.Session) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.sessions[s.Token] = s
	return m.err
}

func (m *memory) SessionOf(_ context.Context, sha string) (fettle.Session, bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	s, ok := m.sessions[sha]
	return s, ok, m.err
}

func (m *memory) SeenSession(_ context.Context, sha string, at time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	s := m.sessions[sha]
	s.Seen = at
	m.sessions[sha] = s
	m.seen++
	return m.err
}

func (m *memory) DropSession(_ context.Context, sha string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.sessions, sha)
	return m.err
}

func (m *memory) DropSessions(_ context.Context, role string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for k, s := range m.sessions {
		if s.Role == role {
			delete(m.sessions, k)
		}
	}
	return m.err
}

func (m *memory) Secret(_ context.Context, name string) (string, error) {
	m.mu.Lock()
	s, err, call := m.secrets[name], m.err, m.onSecret
	m.mu.Unlock()
	if call != nil {
		call(name)
	}
	return s, err
}

func (m *memory) SetSecret(_ context.Context, name, value string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.secrets[name] = value
	return m.err
}

// clock stands until it is moved.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func newClock() *clock { return &clock{t: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)} }

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// shop is a gate with all that is around it.
type shop struct {
	*Gate
	keep  *memory
	clock *clock
	log   *lines
}

// lines is a log to look into.
type lines struct {
	mu sync.Mutex
	b  strings.Builder
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lines) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func newShop(t testing.TB, change func(*Options)) *shop {
	t.Helper()
	s := &shop{keep: newMemory(), clock: newClock(), log: &lines{}}
	o := Options{
		Keep: s.keep, Now: s.clock.now, Hosts: []string{"shop-pc.local"},
		Log: slog.New(slog.NewTextHandler(s.log, &slog.HandlerOptions{Level: slog.LevelDebug})),
	}
	if change != nil {
		change(&o)
	}
	g, err := newGate(o, weak)
	if err != nil {
		t.Fatal(err)
	}
	s.Gate = g
	return s
}

// locked is a shop with both passcodes.
func locked(t testing.TB, change func(*Options)) *shop {
	t.Helper()
	s := newShop(t, change)
	if err := s.SetPasscode(t.Context(), Owner, owners); err != nil {
		t.Fatal(err)
	}
	if err := s.SetPasscode(t.Context(), Hand, hands); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *shop) in(t testing.TB, passcode string) string {
	t.Helper()
	s.clock.pass(10 * time.Second)
	token, _, err := s.LogIn(t.Context(), "192.168.1.7:5000", passcode, "test")
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// ask sends a request through the gate and returns who the handler behind it saw.
func (s *shop) ask(change func(*http.Request)) (Who, *http.Response) {
	var who Who
	h := s.Wrap(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { who = From(r.Context()) }))
	r := httptest.NewRequest("GET", "http://shop-pc.local:8080/api/things", nil)
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return who, w.Result()
}

// asToken asks with a session's cookie.
func (s *shop) asToken(token string) Role {
	who, _ := s.ask(func(r *http.Request) { r.AddCookie(s.Cookie(token)) })
	return who.Role
}

func wantCode(t testing.TB, err error, code fettle.Code) {
	t.Helper()
	var e *fettle.Error
	if !errors.As(err, &e) || e.Code != code {
		t.Fatalf("error %v, want one of code %s", err, code)
	}
	if strings.ContainsAny(e.Message, "\n") || len(e.Message) < 20 || strings.HasSuffix(e.Message, ".") {
		t.Errorf("%q is no sentence as they are written here", e.Message)
	}
}
