package api

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"fettle"
	"fettle/internal/door/gate"
	"fettle/internal/door/queue"
	"fettle/internal/door/store"
	"fettle/internal/shop"
)

// The rooms that the command wires together fit.
var (
	_ Shop      = (*shop.Shop)(nil)
	_ Tasks     = (*queue.Queue)(nil)
	_ Safe      = (*store.Store)(nil)
	_ gate.Keep = (*store.Store)(nil)
)

// house is a shop on a real store, without workers, that is asked over real HTTP.
type house struct {
	t    testing.TB
	api  *API
	url  string
	http *http.Client
	shop *shop.Shop
	log  *logged
}

// logged is a log that may be read while it is written.
type logged struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logged) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// open opens a house; change may put other things in place of the real ones.
func open(t testing.TB, workers int, change ...func(*Options)) *house {
	t.Helper()
	st, err := store.Open(t.Context(), store.Options{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	s := shop.New(shop.Options{Store: st, Program: "test"})
	handlers := map[fettle.TaskKind]queue.Handler{}
	for kind, h := range s.Handlers() {
		handlers[kind] = func(ctx context.Context, args json.RawMessage, say func(string, int, int)) (json.RawMessage, error) {
			return h(ctx, args, say)
		}
	}
	handlers[fettle.TaskSurvey] = quickSurvey(st)
	q, err := queue.Open(t.Context(), st.DB(), queue.Options{Dialect: string(st.Dialect()), Workers: workers, Handlers: handlers, Alone: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { q.Close(context.Background()) })
	s = s.Queued(q)
	if err := s.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	log := new(logged)
	o := Options{Shop: s, Tasks: q, Safe: st, Gate: anyGate(), Scratch: st.Scratch(), Program: "test", Log: slog.New(slog.NewTextHandler(log, nil))}
	for _, c := range change {
		c(&o)
	}
	return serve(t, s, New(o), log)
}

// quickSurvey stands for the shop's own, which takes seconds and is tested there:
// what is asked for here is the way to it and back.
func quickSurvey(st *store.Store) queue.Handler {
	return func(ctx context.Context, args json.RawMessage, say func(string, int, int)) (json.RawMessage, error) {
		if bytes.Contains(args, []byte("bad.stl")) {
			return nil, fettle.Errorf(fettle.BadFile, "there are no facets in it; export it again")
		}
		say("measuring", 1, 2)
		var a shop.SurveyAnswer
		for text, to := range map[string]*string{`{"volume_mm3": 6000}`: &a.Survey, "FETTLE1\n": &a.Mesh} {
			b, err := st.PutBlob(ctx, strings.NewReader(text), 1000)
			if err != nil {
				return nil, err
			}
			*to = b.SHA256
		}
		return json.Marshal(a)
	}
}

// anyGate is one gate for all tests that say themselves who asks: each new one takes
// the time of a hash.
var anyGate = sync.OnceValue(func() *gate.Gate {
	g, err := gate.New(gate.Options{Keep: newMemory()})
	if err != nil {
		panic(err)
	}
	return g
})

// asRole is a header by which a test says who asks.
const asRole = "Test-Role"

func serve(t testing.TB, s *shop.Shop, a *API, log *logged) *house {
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx := gate.With(r.Context(), gate.Who{Role: gate.Role(r.Header.Get(asRole))})
		a.ServeHTTP(w, r.WithContext(ctx))
	}))
	t.Cleanup(srv.Close)
	return &house{t: t, api: a, url: srv.URL, http: srv.Client(), shop: s, log: log}
}

// reply is an answer that was read.
type reply struct {
	t      testing.TB
	call   string
	status int
	header http.Header
	body   []byte
}

// ask asks as the owner, with headers as pairs. A body that is no reader is JSON.
func (h *house) ask(call string, body any, headers ...string) *reply {
	return h.as("owner", call, body, headers...)
}

func (h *house) as(role, call string, body any, headers ...string) *reply {
	h.t.Helper()
	resp := h.open(role, call, body, headers...)
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatalf("%s: %v", call, err)
	}
	return &reply{h.t, call, resp.StatusCode, resp.Header, b}
}

func (h *house) open(role, call string, body any, headers ...string) *http.Response {
	h.t.Helper()
	method, path, _ := strings.Cut(call, " ")
	var r io.Reader
	kind := ""
	switch v := body.(type) {
	case nil:
	case io.Reader:
		r, kind = v, bytesType
	default:
		b, err := json.Marshal(v)
		if err != nil {
			h.t.Fatal(err)
		}
		r, kind = bytes.NewReader(b), "application/json"
	}
	req, err := http.NewRequestWithContext(h.t.Context(), method, h.url+path, r)
	if err != nil {
		h.t.Fatal(err)
	}
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	req.Header.Set(asRole, role)
	for i := 0; i < len(headers); i += 2 {
		req.Header.Set(headers[i], headers[i+1])
	}
	resp, err := h.http.Do(req)
	if err != nil {
		h.t.Fatal(err)
	}
	return resp
}

// want fails the test where the status is another.
func (r *reply) want(status int) *reply {
	r.t.Helper()
	if r.status != status {
		r.t.Fatalf("%s: %d, want %d: %s", r.call, r.status, status, r.body)
	}
	if status >= 400 {
		if ct := r.header.Get("Content-Type"); ct != "application/problem+json" {
			r.t.Errorf("%s: a %d of type %q", r.call, status, ct)
		}
	}
	return r
}

// into reads the answer's JSON.
func (r *reply) into(v any) {
	r.t.Helper()
	dec := json.NewDecoder(bytes.NewReader(r.body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		r.t.Fatalf("%s: %v in %s", r.call, err, r.body)
	}
}

// problem reads a problem and wants it to name a place.
func (r *reply) problem(status int, where string) Problem {
	r.t.Helper()
	r.want(status)
	var p Problem
	r.into(&p)
	at := ""
	if len(p.Errors) > 0 {
		at = p.Errors[0].Location
	}
	if at != where || p.Status != status || p.Detail == "" || p.Title == "" || p.Code == "" {
		r.t.Errorf("%s: at %q, want %q: %s", r.call, at, where, r.body)
	}
	return p
}

// a record as the tests read it.
type rec = Kept[json.RawMessage]

func (r *reply) record() rec {
	r.t.Helper()
	var k rec
	r.into(&k)
	return k
}

// m is a JSON object.
type m = map[string]any

func (h *house) make(path string, links m, body any) rec {
	h.t.Helper()
	ask := m{"body": body}
	if links != nil {
		ask["links"] = links
	}
	return h.ask("POST /api/"+path, ask).want(http.StatusCreated).record()
}
