package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"fettle"
)

// askAtRandom makes requests from the description: what it allows, what it nearly
// allows, and what it does not.
type askAtRandom struct {
	d   description
	rng *rand.Rand
	ids []string          // of records that there are
	of  map[string]string // the id of a record by the beginning of its path
}

// hints are values by the name of a key that the shop would take.
var hints = map[string]any{
	"material": "naval brass", "finish": "satin", "lot": 3, "title": "Plate", "name": "plate", "kind": "tumble", "media": "ceramic-fine-5",
	"vessel": "wet barrel", "state": "asked", "due": "2026-12-01", "day": "2026-11-30", "value": 0.5, "at_h": 1, "basis": "starting guess",
	"started": "2026-11-30T12:00:00Z", "hours": 4, "low": 0.4, "high": 0.7, "currency": "USD", "file": "plate.stl", "units": "mm", "paper": "A4",
}

// odd are texts that have broken programs before.
var odd = []string{"", " ", "\x00", "../../etc", "..%2f..", "%00", "'; DROP TABLE record; --", "\u202eabc", "\xff\xfe", "🪛", strings.Repeat("long ", 300), "null", "NaN", "-1", "1e999", "0190", "naval brass", "satin", "ball-6", "2026-03-31"}

func (a *askAtRandom) text(s map[string]any) string {
	if e, ok := s["enum"].([]any); ok && a.rng.IntN(6) > 0 {
		return fmt.Sprint(e[a.rng.IntN(len(e))])
	}
	switch a.rng.IntN(4) {
	case 0:
		return a.ids[a.rng.IntN(len(a.ids))]
	case 1:
		return []string{"plate", "naval brass", "satin", "tumble", "ra", "2026-03-31", "asked", "ball-6"}[a.rng.IntN(8)]
	case 2:
		return odd[a.rng.IntN(len(odd))]
	}
	return strings.Repeat("a", a.rng.IntN(40))
}

func (a *askAtRandom) number() any {
	return []any{0, 1, -1, 2, 0.5, 1e-9, 1e9, 1e308, -1e308, math.MaxInt64, "7", nil, 12}[a.rng.IntN(13)]
}

// value is something for a schema, or, now and then, for none.
func (a *askAtRandom) value(s map[string]any, depth int) any {
	if depth > 9 {
		return nil
	}
	if ref, ok := s["$ref"].(string); ok {
		return a.value(a.d.schemas[ref[strings.LastIndex(ref, "/")+1:]], depth+1)
	}
	if a.rng.IntN(120) == 0 {
		return []any{nil, true, "x", 3, []any{}, map[string]any{}, []any{[]any{[]any{}}}}[a.rng.IntN(7)]
	}
	for _, k := range []string{"oneOf", "anyOf"} {
		if l, ok := s[k].([]any); ok && len(l) > 0 {
			if m, ok := l[a.rng.IntN(len(l))].(map[string]any); ok {
				return a.value(m, depth+1)
			}
		}
	}
	kind, _ := s["type"].(string)
	if l, ok := s["type"].([]any); ok && len(l) > 0 {
		kind, _ = l[a.rng.IntN(len(l))].(string)
	}
	switch kind {
	case "object":
		out := map[string]any{}
		props, _ := s["properties"].(map[string]any)
		required, _ := s["required"].([]any)
		for _, k := range sortedKeys(props) {
			p, _ := props[k].(map[string]any)
			must := slices.Contains(required, any(k))
			if p["readOnly"] == true || must && a.rng.IntN(30) == 0 || !must && a.rng.IntN(2) == 0 {
				continue
			}
			if v, ok := hints[k]; ok && a.rng.IntN(4) > 0 {
				out[k] = v
				continue
			}
			out[k] = a.value(p, depth+1)
		}
		if m, ok := s["additionalProperties"].(map[string]any); ok {
			for range a.rng.IntN(3) {
				out[a.text(nil)] = a.value(m, depth+1)
			}
		} else if a.rng.IntN(25) == 0 {
			out["colour"] = "blue"
		}
		return out
	case "array":
		items, _ := s["items"].(map[string]any)
		n := a.rng.IntN(4)
		if v, ok := s["minItems"].(float64); ok && a.rng.IntN(10) > 0 {
			n = max(n, int(v))
		}
		if v, ok := s["maxItems"].(float64); ok && a.rng.IntN(10) > 0 {
			n = min(n, int(v))
		}
		out := []any{}
		for range n {
			out = append(out, a.value(items, depth+1))
		}
		return out
	case "string":
		return a.text(s)
	case "integer", "number":
		return a.number()
	case "boolean":
		return a.rng.IntN(2) == 0
	}
	return a.text(s)
}

func sortedKeys(m map[string]any) []string {
	var ks []string
	for k := range m {
		ks = append(ks, k)
	}
	slices.Sort(ks)
	return ks
}

// request is one request for an operation.
func (a *askAtRandom) request(ctx context.Context, base string, op described) (*http.Request, error) {
	path := op.Path
	query := url.Values{}
	header := http.Header{}
	for _, p := range op.Parameters {
		switch {
		case p.In == "path":
			v := a.ids[a.rng.IntN(len(a.ids))]
			for at, id := range a.of {
				if strings.HasPrefix(op.Path, at) {
					v = id
				}
			}
			if a.rng.IntN(6) == 0 {
				v = a.text(p.Schema)
			}
			path = strings.ReplaceAll(path, "{"+p.Name+"}", url.PathEscape(v))
		case p.Required || p.Name == "If-Match" || a.rng.IntN(5) == 0:
			v := fmt.Sprint(a.value(p.Schema, 0))
			if hint, ok := hints[p.Name]; ok && a.rng.IntN(3) > 0 {
				v = fmt.Sprint(hint)
			}
			if p.In == "query" {
				query.Set(p.Name, v)
			} else if p.In == "header" && !strings.ContainsAny(v, "\x00\r\n") {
				if p.Name == "If-Match" && a.rng.IntN(6) > 0 {
					v = `"` + fmt.Sprint(1+a.rng.IntN(3)) + `"`
				}
				header.Set(p.Name, v)
			}
		}
	}
	if a.rng.IntN(30) == 0 {
		query.Set(a.text(nil), a.text(nil))
	}
	var body io.Reader
	if op.Body != nil {
		types := sortedKeys(anyKeys(op.Body.Content))
		kind := types[a.rng.IntN(len(types))]
		data, err := json.Marshal(a.value(op.Body.Content[kind].Schema, 0))
		if err != nil {
			return nil, err
		}
		switch {
		case kind != "application/json":
			data = []byte(a.text(nil))
		case a.rng.IntN(20) == 0:
			data = data[:a.rng.IntN(len(data)+1)]
		}
		body = bytes.NewReader(data)
		if a.rng.IntN(30) == 0 {
			kind = "text/plain"
		}
		header.Set("Content-Type", kind)
	}
	req, err := http.NewRequestWithContext(ctx, op.Method, base+path+"?"+query.Encode(), body)
	if err != nil {
		return nil, err
	}
	req.Header = header
	return req, nil
}

func anyKeys[V any](m map[string]V) map[string]any {
	out := map[string]any{}
	for k := range m {
		out[k] = nil
	}
	return out
}

// furnish makes a record of each kind that can be made without a model, and
// returns ids.
func furnish(h *house) map[string]string {
	c := h.make("customers", nil, m{"name": "Harbour Doors"})
	p := h.make("parts", m{"customer": c.ID}, m{"name": "Plate"})
	j := h.make("jobs", m{"part": p.ID}, m{"title": "Plate", "brief": m{"material": "naval brass", "finish": "satin", "lot": 3}})
	r := h.make("runs", m{"job": j.ID}, m{"kind": "tumble", "material": "naval brass", "media": "ceramic-fine-5", "vessel": "wet barrel"})
	rd := h.ask("POST /api/runs/"+r.ID+"/readings", m{"kind": "ra", "at_h": 1, "value": 0.5}).want(http.StatusCreated).record()
	f := h.ask("POST /api/parts/"+p.ID+"/files?name=plate.stl", strings.NewReader("solid x")).want(http.StatusCreated).record()
	of := map[string]string{
		"/api/customers/": c.ID, "/api/parts/": p.ID, "/api/jobs/": j.ID, "/api/runs/": r.ID, "/api/readings/": rd.ID, "/api/files/": f.ID,
		"/api/stored/": strings.Repeat("0", 64),
	}
	for _, kind := range []string{"cutters", "media", "vessels", "materials", "looks", "grits", "machines", "rates", "mops", "softs", "jaws"} {
		var page struct {
			Records []rec `json:"records"`
			Next    string
		}
		if json.Unmarshal(h.ask("GET /api/shelf/"+kind, nil).want(200).body, &page) == nil && len(page.Records) > 0 {
			of["/api/shelf/"+kind+"/"] = page.Records[0].ID
		}
	}
	return of
}

// fuzzDoor asks for each operation so many times and wants of every answer that it
// is described and no fault of ours.
func fuzzDoor(t *testing.T, h *house, d description, of map[string]string, seed uint64, times int) map[int]int {
	a := &askAtRandom{d: d, rng: rand.New(rand.NewPCG(seed, 1)), of: of}
	for _, at := range slices.Sorted(maps.Keys(of)) {
		a.ids = append(a.ids, of[at])
	}
	got := map[int]int{}
	for _, op := range d.ops {
		for range times {
			limit := 30 * time.Second
			if op.ID == "watch-task" || strings.HasSuffix(op.Path, "/events") {
				limit = 50 * time.Millisecond // a stream ends with its task
			}
			ctx, stop := context.WithTimeout(t.Context(), limit)
			req, err := a.request(ctx, h.url, op)
			if err != nil {
				stop()
				continue // what no client can send
			}
			req.Header.Set(asRole, "owner")
			resp, err := h.http.Do(req)
			if err != nil {
				stop()
				if limit > time.Second {
					t.Fatalf("%s %s: %v", op.Method, req.URL, err)
				}
				continue
			}
			body, _ := io.ReadAll(io.LimitReader(resp.Body, 1<<20))
			resp.Body.Close()
			stop()
			got[resp.StatusCode]++
			if resp.StatusCode >= 500 {
				t.Errorf("seed %d: %s %s (%s): %d %s\nlog: %s", seed, op.Method, req.URL, op.ID, resp.StatusCode, body, tail(h.log.String()))
			}
			if _, said := op.Responses[fmt.Sprint(resp.StatusCode)]; !said && resp.StatusCode < 500 && resp.StatusCode != 301 && resp.StatusCode != 404 && resp.StatusCode != 400 && resp.StatusCode != 422 && !strings.Contains(req.URL.Path, "//") {
				t.Errorf("%s %s: %d is not described: %s", op.Method, req.URL, resp.StatusCode, body)
			}
			if resp.StatusCode >= 400 {
				var p Problem
				if err := json.Unmarshal(body, &p); err != nil || p.Detail == "" || p.Status != resp.StatusCode {
					t.Errorf("%s %s: %d without a sentence: %s", op.Method, req.URL, resp.StatusCode, body)
				}
			}
		}
	}
	return got
}

func tail(s string) string { return s[max(0, len(s)-600):] }

// TestEveryOperationAtRandom makes requests out of the description: no answer may be
// our fault, and every one must be described and say what is wrong.
func TestEveryOperationAtRandom(t *testing.T) {
	h := open(t, 0)
	d := describe(t, h.ask("GET /api/openapi.json", nil).want(200).body)
	times := 30
	if testing.Short() {
		times = 3
	}
	got := fuzzDoor(t, h, d, furnish(h), 1, times)
	t.Log(got)
	good := got[200] + got[201] + got[202] + got[204]
	if good < len(d.ops)/2 || got[422] < len(d.ops)/2 {
		t.Errorf("answers %v: what is asked is not near enough to what is allowed", got)
	}
	var log fettle.Logbook // and the shop is whole
	h.ask("GET /api/logbook", nil).want(200).into(&log)
	h.ask("GET /api/shelf", nil).want(200)
	h.ask("POST /api/check", nil).want(200)
}

// FuzzDoor is the same from a seed of the fuzzer's.
func FuzzDoor(f *testing.F) {
	f.Add(uint64(2))
	h := open(f, 0)
	d := describe(f, h.ask("GET /api/openapi.json", nil).want(200).body)
	of := furnish(h)
	f.Fuzz(func(t *testing.T, seed uint64) { fuzzDoor(t, h, d, of, seed, 1) })
}
