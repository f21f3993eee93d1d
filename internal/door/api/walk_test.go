package api

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"fettle/internal/door/gate"
)

// A described operation, as whoever reads /api/openapi.json sees it.
type described struct {
	Method, Path string
	ID           string                     `json:"operationId"`
	Least        string                     `json:"x-least-role"`
	Parameters   []parameter                `json:"parameters"`
	Body         *content                   `json:"requestBody"`
	Responses    map[string]json.RawMessage `json:"responses"`
}

type parameter struct {
	Name     string         `json:"name"`
	In       string         `json:"in"`
	Required bool           `json:"required"`
	Schema   map[string]any `json:"schema"`
}

type content struct {
	Content map[string]struct {
		Schema map[string]any `json:"schema"`
	} `json:"content"`
}

// description is what the page at /api/openapi.json says, read as plain JSON.
type description struct {
	ops     []described
	schemas map[string]map[string]any
}

func describe(t testing.TB, data []byte) description {
	t.Helper()
	var doc struct {
		Paths      map[string]map[string]json.RawMessage `json:"paths"`
		Components struct {
			Schemas map[string]map[string]any `json:"schemas"`
		} `json:"components"`
	}
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	d := description{schemas: doc.Components.Schemas}
	for path, item := range doc.Paths {
		for method, raw := range item {
			if !slices.Contains([]string{"get", "put", "post", "delete", "patch"}, method) {
				continue
			}
			op := described{Method: strings.ToUpper(method), Path: path}
			if err := json.Unmarshal(raw, &op); err != nil {
				t.Fatal(err)
			}
			d.ops = append(d.ops, op)
		}
	}
	slices.SortFunc(d.ops, func(a, b described) int { return strings.Compare(a.Path+a.Method, b.Path+b.Method) })
	if len(d.ops) < 150 {
		t.Fatalf("only %d operations are described", len(d.ops))
	}
	return d
}

// door is the API behind its gate, with passcodes set, as it is on a network.
func door(t testing.TB) (*house, *gate.Gate, *http.Client, string) {
	t.Helper()
	g, err := gate.New(gate.Options{Keep: newMemory()}) // tries are counted by each gate
	if err != nil {
		t.Fatal(err)
	}
	h := open(t, 0, func(o *Options) { o.Gate = g })
	srv := httptest.NewServer(g.Wrap(h.api))
	t.Cleanup(srv.Close)
	for role, code := range map[gate.Role]string{gate.Owner: "eleven green barrels"} {
		if err := g.SetPasscode(t.Context(), role, code); err != nil {
			t.Fatal(err)
		}
	}
	if err := g.SetPasscode(t.Context(), gate.Hand, "nine wet fingers here"); err != nil {
		t.Fatal(err)
	}
	return h, g, srv.Client(), srv.URL
}

// TestWalk asks for every operation that is described, through the gate: as
// nobody, as a hand and as the owner who logged in with their passcodes.
func TestWalk(t *testing.T) {
	_, g, client, url := door(t)
	ask := func(method, path, session string) (int, []byte) {
		ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
		defer stop()
		req, err := http.NewRequestWithContext(ctx, method, url+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		if session != "" {
			req.AddCookie(g.Cookie(session))
		}
		resp, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		if err != nil {
			t.Fatal(err)
		}
		return resp.StatusCode, body
	}
	login := func(passcode string) string {
		resp, err := client.Post(url+"/api/session", "application/json", strings.NewReader(`{"passcode":"`+passcode+`"}`))
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		for _, c := range resp.Cookies() {
			if c.Value != "" {
				return c.Value
			}
		}
		t.Fatalf("no session for %q: %d", passcode, resp.StatusCode)
		return ""
	}
	sessions := map[string]string{"nobody": "", "hand": login("nine wet fingers here"), "owner": login("eleven green barrels")}
	_, text := ask("GET", "/api/openapi.json", "")
	rank := map[string]int{"nobody": 0, "hand": 1, "owner": 2}
	let, refused := 0, 0
	for _, op := range describe(t, text).ops {
		least, ok := rank[op.Least]
		if !ok {
			t.Errorf("%s %s is for %q", op.Method, op.Path, op.Least)
			continue
		}
		path := strings.NewReplacer("{id}", "0190", "{sha256}", strings.Repeat("0", 64), "{name}", "x/y").Replace(op.Path)
		for who, session := range sessions {
			if op.ID == "log-out" { // it would end the walk
				session = ""
			}
			status, body := ask(op.Method, path, session)
			switch {
			case status >= 500:
				t.Errorf("%s %s as %s: %d %s", op.Method, path, who, status, body)
			case rank[who] >= least:
				if let++; op.Least != "nobody" && (status == http.StatusUnauthorized || status == http.StatusForbidden) {
					t.Errorf("%s %s as %s: %d %s", op.Method, path, who, status, body)
				}
			default:
				want := http.StatusUnauthorized
				if who == "hand" {
					want = http.StatusForbidden
				}
				if refused++; status != want || bytes.Contains(body, []byte(`"records"`)) {
					t.Errorf("%s %s as %s: %d, want %d: %s", op.Method, path, who, status, want, body)
				}
			}
		}
	}
	t.Logf("let in %d times, refused %d times", let, refused)
	if let < 250 || refused < 150 {
		t.Errorf("let in %d times and refused %d: the walk is broken", let, refused)
	}
	// Every kind of cookie that is none.
	for _, bad := range []string{"x", strings.Repeat("A", 43), sessions["owner"] + "x", strings.ToLower(sessions["owner"]), "../owner"} {
		if status, _ := ask("GET", "/api/jobs", bad); status != http.StatusUnauthorized {
			t.Errorf("session %q: %d", bad, status)
		}
	}
}
