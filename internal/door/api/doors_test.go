package api

import (
	"bufio"
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/gate"
)

// told is a queue whose one task is told by the test.
type told struct {
	Tasks
	task  fettle.Task
	tells chan fettle.Task
	left  chan error
}

func (q *told) Task(context.Context, string) (fettle.Task, error) { return q.task, nil }

func (q *told) Watch(ctx context.Context, _ string, tell func(fettle.Task) error) error {
	for {
		select {
		case t := <-q.tells:
			if err := tell(t); err != nil {
				q.left <- err
				return err
			}
			if t.State.Over() {
				q.left <- nil
				return nil
			}
		case <-ctx.Done():
			q.left <- ctx.Err()
			return ctx.Err()
		}
	}
}

// TestEvents reads a stream line by line: a change, silence, a change, the end.
func TestEvents(t *testing.T) {
	at := time.Date(2026, 3, 31, 12, 0, 0, 0, time.UTC)
	q := &told{tells: make(chan fettle.Task), left: make(chan error, 1), task: fettle.Task{ID: "t", State: fettle.Running, Changed: at}}
	h := open(t, 0, func(o *Options) { q.Tasks = o.Tasks; o.Tasks, o.Heartbeat = q, 60*time.Millisecond })
	resp := h.open("hand", "GET /api/tasks/t/events", nil, "Last-Event-ID", "whatever")
	lines := bufio.NewScanner(resp.Body)
	next := func() string {
		for lines.Scan() {
			if s := lines.Text(); s != "" {
				return s
			}
		}
		return ""
	}
	want := func(prefix string) string {
		t.Helper()
		s := next()
		if !strings.HasPrefix(s, prefix) {
			t.Fatalf("%q, want %q", s, prefix)
		}
		return s
	}
	want("retry: ")
	q.tells <- fettle.Task{ID: "t", State: fettle.Running, Doing: "measuring\nit", Done: 1, Total: 3, Changed: at}
	want("id: running-")
	want("event: task")
	if s := want("data: {"); !strings.Contains(s, `"doing":"measuring\nit"`) {
		t.Errorf("%s", s)
	}
	want(": still here")
	want(": still here")
	over := fettle.Task{ID: "t", State: fettle.Done, Changed: at.Add(time.Second)}
	q.tells <- over
	var s string
	for s = next(); s == ": still here"; s = next() { // a beat may come first
	}
	if s != "id: "+eventID(over) {
		t.Errorf("%q", s)
	}
	want("event: task")
	want("data: ")
	if s := next(); s != "" {
		t.Errorf("after the end comes %q", s)
	}
	<-q.left

	// Who comes back for more of what is over is told that there is none.
	q.task = over
	h.as("hand", "GET /api/tasks/t/events", nil, "Last-Event-ID", eventID(over)).want(http.StatusNoContent)

	// Who goes away ends the watch, and that is not an error.
	q.task.State = fettle.Running
	resp = h.open("hand", "GET /api/tasks/t/events", nil)
	resp.Body.Close()
	select {
	case <-q.left:
	case <-time.After(5 * time.Second):
		t.Error("the watch goes on for nobody")
	}
	if s := h.log.String(); s != "" {
		t.Errorf("in the log: %s", s)
	}
}

// broken is a shop that fails as the test says.
type broken struct {
	Shop
	list func(ctx context.Context) error
}

func (b *broken) List(ctx context.Context, _ fettle.Query) (fettle.RecordPage, error) {
	return fettle.RecordPage{}, b.list(ctx)
}

// TestOurFault looks that what went wrong here is logged and not told, and that a
// client who went away is neither.
func TestOurFault(t *testing.T) {
	b := &broken{}
	h := open(t, 0, func(o *Options) { b.Shop = o.Shop; o.Shop = b })
	b.list = func(context.Context) error { return errors.New("disk of /srv/secret on fire") }
	p := h.ask("GET /api/jobs", nil).problem(http.StatusInternalServerError, "")
	if strings.Contains(p.Detail, "fire") || p.Instance == "" || p.Code != fettle.Internal {
		t.Errorf("%+v", p)
	}
	if log := h.log.String(); !strings.Contains(log, "on fire") || !strings.Contains(log, p.Instance) || !strings.Contains(log, "list-jobs") {
		t.Errorf("log: %s", log)
	}
	for code, status := range map[fettle.Code]int{
		fettle.Full: 507, fettle.BadFile: 422, fettle.Conflict: 409, fettle.Denied: 403, fettle.Invalid: 422, fettle.No: 422, fettle.Internal: 500,
	} {
		b.list = func(context.Context) error { return fettle.Errorf(code, "so it is") }
		if p := h.ask("GET /api/jobs", nil).problem(status, ""); p.Code != code || (code != fettle.Internal) != (p.Detail == "so it is") {
			t.Errorf("%s: %+v", code, p)
		}
	}

	before := h.log.String()
	began, ended := make(chan bool), make(chan error)
	b.list = func(ctx context.Context) error {
		close(began)
		<-ctx.Done()
		ended <- ctx.Err()
		return ctx.Err()
	}
	ctx, cancel := context.WithCancel(t.Context())
	go func() { <-began; cancel() }()
	req, _ := http.NewRequestWithContext(ctx, "GET", h.url+"/api/jobs", nil)
	req.Header.Set(asRole, "owner")
	if _, err := h.http.Do(req); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	<-ended
	h.ask("GET /api/health", nil).want(200)
	if log := h.log.String(); log != before {
		t.Errorf("a client who went away is in the log: %s", log[len(before):])
	}
}

// brittle writes backups that break off.
type brittle struct {
	Safe
	bytes int64
	err   error
}

func (s *brittle) WriteBackup(_ context.Context, w io.Writer, _ func(string, int, int)) (fettle.BackupReport, error) {
	io.CopyN(w, zeros{}, s.bytes)
	return fettle.BackupReport{}, s.err
}

// TestBackup downloads one, and what breaks off is not taken for one.
func TestBackup(t *testing.T) {
	s := &brittle{bytes: 1 << 20}
	var real Safe
	h := open(t, 0, func(o *Options) { real, o.Safe = o.Safe, s })
	if got := h.ask("GET /api/backup", nil).want(200); len(got.body) != 1<<20 || !strings.HasPrefix(got.header.Get("Content-Disposition"), "attachment") {
		t.Errorf("%d bytes, %v", len(got.body), got.header)
	}
	s.err = errors.New("the disk is gone")
	resp := h.open("owner", "GET /api/backup", nil)
	if n, err := io.Copy(io.Discard, resp.Body); err == nil {
		t.Errorf("half a backup of %d bytes ends as if it were whole", n)
	}
	resp.Body.Close()
	s.bytes = 0
	h.ask("GET /api/backup", nil).problem(http.StatusInternalServerError, "")
	s.err = fettle.Errorf(fettle.Full, "no room")
	h.ask("GET /api/backup", nil).problem(http.StatusInsufficientStorage, "")

	s.Safe = real
	var r fettle.CheckReport
	if h.ask("POST /api/check", nil).want(200).into(&r); !r.Sound || r.Records == 0 {
		t.Errorf("%+v", r)
	}
	h.ask("POST /api/packs", strings.NewReader("no pack")).want(http.StatusUnprocessableEntity)
}

// TestSession goes through the real gate, with cookies, as browsers do.
func TestSession(t *testing.T) {
	keep := newMemory()
	g, err := gate.New(gate.Options{Keep: keep, Open: true})
	if err != nil {
		t.Fatal(err)
	}
	a := New(Options{Shop: struct{ Shop }{}, Tasks: struct{ Tasks }{}, Safe: struct{ Safe }{}, Gate: g, Base: "https://shop.example:8443/"})
	// Where a request comes from decides at an open gate.
	var far atomic.Bool
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if far.Load() {
			r.RemoteAddr = "192.0.2.7:1234"
		}
		g.Wrap(a).ServeHTTP(w, r)
	}))
	t.Cleanup(srv.Close)
	browser := func() *house {
		jar, err := cookiejar.New(nil)
		if err != nil {
			t.Fatal(err)
		}
		return &house{t: t, api: a, url: srv.URL, http: &http.Client{Jar: jar}}
	}
	desk, phone := browser(), browser()
	who := func(h *house) (me Me) {
		t.Helper()
		h.ask("GET /api/session", nil).want(200).into(&me)
		return me
	}
	if me := who(desk); me != (Me{"owner", false, false}) {
		t.Fatalf("at an open gate: %+v", me)
	}
	const code, handCode = "four short words say", "rinse and dry it well"
	desk.ask("POST /api/session/passcode", m{"role": "owner", "passcode": "1234"}).want(http.StatusUnprocessableEntity)
	desk.ask("POST /api/session/passcode", m{"role": "owner", "passcode": code}).want(200)
	if me := who(desk); me != (Me{"owner", false, true}) {
		t.Errorf("who set the passcode: %+v", me)
	}
	far.Store(true)
	if me := who(phone); me != (Me{"nobody", true, true}) {
		t.Errorf("nobody: %+v", me)
	}
	phone.ask("GET /api/shelf", nil).problem(http.StatusUnauthorized, "")
	if !testing.Short() {
		phone.ask("POST /api/session", m{"passcode": "not that one at all"}).problem(http.StatusUnauthorized, "")
	}

	var inv Invite
	desk.ask("POST /api/session/invite", m{}).want(200).into(&inv)
	token, ok := strings.CutPrefix(inv.URL, "https://shop.example:8443/#invite=")
	if !ok || !strings.HasPrefix(inv.QR, "<svg") {
		t.Fatalf("%+v", inv)
	}
	phone.ask("POST /api/session/accept", m{"token": token}).want(200)
	if me := who(phone); me.Role != "hand" {
		t.Errorf("by the invite: %+v", me)
	}
	browser().ask("POST /api/session/accept", m{"token": token}).problem(http.StatusUnauthorized, "")
	phone.ask("POST /api/session/invite", m{}).problem(http.StatusForbidden, "")
	if got := phone.ask("GET /api/qr.svg?text=https://shop.example/jobs/1", nil).want(200); got.header.Get("Content-Type") != "image/svg+xml" || !strings.Contains(got.header.Get("Content-Security-Policy"), "sandbox") {
		t.Errorf("%v", got.header)
	}
	phone.ask("DELETE /api/session", nil).want(200)
	if me := who(phone); me.Role != "nobody" {
		t.Errorf("logged out: %+v", me)
	}
	if !testing.Short() { // each is hashed, which is meant to take time
		desk.ask("POST /api/session/passcode", m{"role": "hand", "passcode": handCode}).want(200)
		phone.ask("POST /api/session", m{"passcode": handCode}).want(200)
		if me := who(phone); me.Role != "hand" {
			t.Errorf("by the passcode: %+v", me)
		}
		desk.ask("POST /api/session/passcode", m{"role": "owner", "passcode": ""}).problem(http.StatusConflict, "")
		desk.ask("POST /api/session/passcode", m{"role": "hand", "passcode": ""}).want(200)
		if me := who(phone); me.Role != "nobody" {
			t.Errorf("after the hand's passcode went: %+v", me)
		}
	}
	var last *reply
	for range 30 { // an invite takes no hashing to be refused, and counts as a try too
		if last = browser().ask("POST /api/session/accept", m{"token": "guess"}); last.status == http.StatusTooManyRequests {
			break
		}
	}
	if last.problem(http.StatusTooManyRequests, ""); last.header.Get("Retry-After") == "" || last.header.Get("Retry-After") == "0" {
		t.Errorf("%v", last.header)
	}
}
