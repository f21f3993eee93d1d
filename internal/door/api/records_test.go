package api

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"fettle"
)

var brief = m{"material": "naval brass", "finish": "satin", "lot": 12}

// TestRecord follows one record from its making to its undoing.
func TestRecord(t *testing.T) {
	h := open(t, 0)
	made := h.ask("POST /api/customers", m{"body": m{"name": "Harbour joinery"}}).want(http.StatusCreated)
	c := made.record()
	at := "/api/customers/" + c.ID
	if made.header.Get("Location") != at || made.header.Get("ETag") != `"1"` || c.Rev != 1 || c.Name != "Harbour joinery" || c.By != "owner" {
		t.Fatalf("%v %+v", made.header, c)
	}

	if got := h.ask("GET "+at, nil).want(200); got.header.Get("ETag") != `"1"` || string(got.body) != string(made.body) {
		t.Errorf("%v %s", got.header, got.body)
	}
	for _, seen := range []string{`"1"`, `W/"1"`, `"7", "1"`, "*"} {
		if got := h.ask("GET "+at, nil, "If-None-Match", seen).want(http.StatusNotModified); len(got.body) != 0 || got.header.Get("ETag") != `"1"` {
			t.Errorf("If-None-Match %s: %v %s", seen, got.header, got.body)
		}
	}
	h.ask("GET "+at, nil, "If-None-Match", `"2"`).want(200)

	next := m{"body": m{"name": "Harbour joinery", "contact": "at the quay"}}
	h.ask("PUT "+at, next).problem(http.StatusPreconditionRequired, "header.If-Match")
	h.ask("PUT "+at, next, "If-Match", "*").problem(http.StatusPreconditionRequired, "header.If-Match")
	h.ask("PUT "+at, next, "If-Match", `W/"1"`).problem(http.StatusPreconditionFailed, "header.If-Match")
	h.ask("PUT "+at, next, "If-Match", "1").problem(http.StatusPreconditionFailed, "header.If-Match")
	h.ask("PUT "+at, next, "If-Match", `"2"`).problem(http.StatusPreconditionFailed, "header.If-Match")
	if got := h.ask("PUT "+at, next, "If-Match", `"1"`).want(200); got.header.Get("ETag") != `"2"` || got.header.Get("Location") != "" {
		t.Errorf("%v", got.header)
	}
	stale := h.ask("PUT "+at, next, "If-Match", `"1"`)
	if stale.problem(http.StatusPreconditionFailed, "header.If-Match"); stale.header.Get("ETag") != `"2"` {
		t.Errorf("the last revision is not told: %v", stale.header)
	}

	h.ask("DELETE "+at, nil).want(http.StatusPreconditionRequired)
	h.ask("DELETE "+at, nil, "If-Match", `"1"`).want(http.StatusPreconditionFailed)
	if gone := h.ask("DELETE "+at, nil, "If-Match", `"2"`).want(200).record(); gone.Deleted == nil || gone.Rev != 3 {
		t.Errorf("%+v", gone)
	}
	var page Page[fettle.Customer]
	if h.ask("GET /api/customers", nil).want(200).into(&page); len(page.Records) != 0 {
		t.Errorf("deleted, and still listed: %+v", page)
	}
	if h.ask("GET /api/customers?deleted=true", nil).want(200).into(&page); len(page.Records) != 1 {
		t.Errorf("deleted, and not among the deleted: %+v", page)
	}
	if back := h.ask("POST "+at+"/undo", nil, "If-Match", `"3"`).want(200).record(); back.Deleted != nil || back.Rev != 4 || !strings.Contains(string(back.Body), "quay") {
		t.Errorf("%+v", back)
	}
	var history []Kept[fettle.Customer]
	h.ask("GET "+at+"/history", nil).want(200).into(&history)
	if len(history) != 4 || history[0].Body.Contact != "" || history[1].Body.Contact != "at the quay" || history[3].Rev != 4 {
		t.Errorf("%+v", history)
	}

	h.ask("GET /api/customers/"+c.ID[1:]+"0", nil).problem(http.StatusNotFound, "")
	h.ask("GET /api/parts/"+c.ID, nil).problem(http.StatusNotFound, "")
	h.ask("DELETE /api/customers/0", nil, "If-Match", `"1"`).problem(http.StatusNotFound, "")
}

// TestOnce asks for the same twice under one key.
func TestOnce(t *testing.T) {
	h := open(t, 0)
	ask := m{"body": m{"name": "Harbour joinery"}}
	one := h.ask("POST /api/customers", ask, "Idempotency-Key", "k1").want(http.StatusCreated).record()
	two := h.ask("POST /api/customers", ask, "Idempotency-Key", "k1").want(http.StatusCreated).record()
	if one.ID != two.ID {
		t.Error("made twice")
	}
	h.ask("POST /api/customers", m{"body": m{"name": "Another"}}, "Idempotency-Key", "k1").problem(http.StatusConflict, "")
	if three := h.ask("POST /api/customers", ask).want(http.StatusCreated).record(); three.ID == one.ID {
		t.Error("without a key it is another")
	}
	h.ask("POST /api/customers", ask, "Idempotency-Key", strings.Repeat("k", 201)).problem(http.StatusUnprocessableEntity, "header.Idempotency-Key")
}

// TestPages walks through more records than a page holds.
func TestPages(t *testing.T) {
	h := open(t, 0)
	owner := h.make("customers", nil, m{"name": "Harbour joinery"})
	var ids []string
	for i := range 12 {
		links := m{}
		if i%3 == 0 {
			links["customer"] = owner.ID
		}
		ids = append(ids, h.make("parts", links, m{"name": fmt.Sprintf("Plate %d", i)}).ID)
	}
	walk := func(query string) (got []string) {
		after := ""
		for range 20 {
			var page Page[fettle.Part]
			h.ask("GET /api/parts?"+query+after, nil).want(200).into(&page)
			for _, r := range page.Records {
				got = append(got, r.ID)
			}
			if page.Next == "" {
				return got
			}
			after = "&after=" + page.Next
		}
		t.Fatal("the pages do not end")
		return nil
	}
	back := slices.Clone(ids)
	slices.Reverse(back)
	for query, want := range map[string][]string{
		"":                     ids,
		"limit=5":              ids,
		"limit=4":              ids,
		"limit=5&newest=true":  back,
		"name=PLATE-7":         {ids[7]},
		"name=nothing+of+that": nil,
		"limit=2&role=customer&target=" + owner.ID: {ids[0], ids[3], ids[6], ids[9]},
	} {
		if got := walk(query); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", query, got, want)
		}
	}
}

// TestFaults sends what cannot be taken: each is refused with the place.
func TestFaults(t *testing.T) {
	h := open(t, 0)
	for _, c := range []struct {
		call  string
		body  any
		at    int
		where string
	}{
		{"POST /api/customers", m{"body": m{"name": "x", "nmae": "x"}}, 422, "body.body.nmae"},
		{"POST /api/customers", m{"body": m{"name": 7}}, 422, "body.body.name"},
		{"POST /api/customers", m{"body": m{"name": "x"}, "nmae": 1}, 422, "body.nmae"},
		{"POST /api/customers", m{"body": m{}}, 422, ""},
		{"POST /api/customers", m{}, 422, "body"},
		{"POST /api/customers", []int{1}, 422, "body"},
		{"POST /api/parts", m{"body": m{"name": "x"}, "links": m{"customer": 1}}, 422, "body.links.customer"},
		{"POST /api/parts", m{"body": m{"name": "x"}, "links": m{"customer": "nobody"}}, 422, "body.links.customer"},
		{"POST /api/parts", m{"body": m{"name": "x"}, "links": m{"run": "x"}}, 422, "body.links.run"},
		{"POST /api/jobs", m{"body": m{"title": "x", "brief": m{"material": "naval brass", "finish": "satin", "lot": "twelve"}}}, 422, "body.body.brief.lot"},
		{"POST /api/jobs", m{"body": m{"title": "x", "brief": m{"material": "naval brass", "finish": "satin", "lot": 1.5}}}, 422, "body.body.brief.lot"},
		{"POST /api/jobs", m{"body": m{"title": "x", "brief": m{"material": "naval brass", "finish": "satin", "lot": 1, "ra_max_um": -1}}}, 422, "body.body.brief.ra_max_um"},
		{"POST /api/jobs", m{"body": m{"title": "x", "brief": brief, "due": "soon"}}, 422, "body.body.due"},
		{"POST /api/runs", m{"body": m{"day": "2026-03-31", "material": "naval brass", "kind": "tumble", "hours_run": -2}}, 422, "body.body.hours_run"},
		{"POST /api/shelf/cutters", m{"body": m{"name": "ball-9", "diameter_mm": 0}}, 422, "body.body.diameter_mm"},
		{"POST /api/files", m{"body": m{}}, 405, ""},
		{"PATCH /api/customers/x", m{}, 405, ""},
		{"GET /api/nothing", nil, 404, ""},
		{"GET /api/customers?limit=1001", nil, 422, "query.limit"},
		{"GET /api/customers?limit=x", nil, 422, "query.limit"},
		{"GET /api/customers?colour=red", nil, 422, "query.colour"},
		{"GET /api/customers?role=job", nil, 422, "query.role"},
		{"GET /api/stored/abc", nil, 422, "path.sha256"},
		{"GET /api/stored/" + strings.Repeat("0", 64), nil, 404, ""},
		{"GET /api/tasks?state=lazy", nil, 422, "query.state[0]"},
		{"GET /api/tasks/none", nil, 404, ""},
		{"POST /api/runs/none/readings", m{"kind": "ra", "value": 0.4}, 404, "path.id"},
		{"POST /api/jobs/none/offers", m{}, 404, ""},
		{"GET /api/plans/none/sheet/plan.json", nil, 404, ""},
		{"PUT /api/shelf", m{"cutters": []m{{"name": "x", "diametre_mm": 3}}}, 422, "body.cutters[0].diametre_mm"},
	} {
		h.ask(c.call, c.body).problem(c.at, c.where)
	}

	raw := func(body, kind string) *reply {
		return h.ask("POST /api/customers", strings.NewReader(body), "Content-Type", kind)
	}
	raw(`{"body": {"name": "x"}`, "application/json").problem(http.StatusBadRequest, "body")
	raw(`{"body": {"name": "x"}} {}`, "application/json").problem(http.StatusBadRequest, "body")
	raw(``, "application/json").problem(http.StatusBadRequest, "")
	raw(`{"body": {"name": "x"}}`, "text/plain").problem(http.StatusUnsupportedMediaType, "body")
	raw(`{"body": {"name": "`+strings.Repeat("x", mostJSON)+`"}}`, "application/json").problem(http.StatusRequestEntityTooLarge, "")
	if allow := h.ask("POST /api/files", nil).header.Get("Allow"); allow != "GET" {
		t.Errorf("Allow: %q", allow)
	}
	if s := h.log.String(); s != "" {
		t.Errorf("what others did wrong is in the log: %s", s)
	}
}

// TestNothingSentBack looks that a passcode that is refused does not come back.
func TestNothingSentBack(t *testing.T) {
	h := open(t, 0)
	got := h.as("", "POST /api/session", m{"passcode": 12345678, "passkode": "secret-word"})
	got.want(http.StatusUnprocessableEntity)
	for _, s := range []string{"12345678", "secret-word"} {
		if strings.Contains(string(got.body), s) {
			t.Errorf("%s", got.body)
		}
	}
}

// TestWork goes the way of a job, as far as it goes without a plan.
func TestWork(t *testing.T) {
	h := open(t, 0)
	part := h.make("parts", nil, m{"name": "Escutcheon plate"})
	job := h.make("jobs", m{"part": part.ID}, m{"title": "Escutcheon plates", "brief": brief})
	if !strings.Contains(string(job.Body), `"state":"asked"`) {
		t.Errorf("%s", job.Body)
	}
	run := h.as("hand", "POST /api/runs", m{"links": m{"job": job.ID}, "body": m{
		"day": "2026-03-31", "material": "naval brass", "kind": "rub", "grit": "P400", "area_mm2": 2000, "size_mm": 60,
	}}).want(http.StatusCreated).record()
	if run.By != "hand" {
		t.Errorf("by %q", run.By)
	}
	reading := m{"kind": "ra", "at_h": 0, "value": 0.4}
	r1 := h.as("hand", "POST /api/runs/"+run.ID+"/readings", reading, "Idempotency-Key", "r").want(http.StatusCreated)
	r2 := h.as("hand", "POST /api/runs/"+run.ID+"/readings", reading, "Idempotency-Key", "r").want(http.StatusCreated)
	if r1.record().ID != r2.record().ID || !strings.HasPrefix(r1.header.Get("Location"), "/api/readings/") {
		t.Errorf("%s %s", r1.body, r2.body)
	}
	h.as("hand", "POST /api/runs/"+run.ID+"/readings", m{"kind": "loudness", "value": 1}).want(http.StatusUnprocessableEntity)
	var log fettle.Logbook
	if h.as("hand", "GET /api/logbook", nil).want(200).into(&log); len(log.Runs) != 1 || len(log.Runs[0].Readings) != 1 {
		t.Errorf("%+v", log)
	}
	var learned fettle.Learned
	if h.as("hand", "GET /api/logbook/learned", nil).want(200).into(&learned); learned.Readings != 1 {
		t.Errorf("%+v", learned)
	}
	h.as("hand", "GET /api/today", nil).want(200)
	h.as("hand", "GET /api/jobs/"+job.ID+"/story", nil).want(200)
	h.as("hand", "POST /api/jobs/"+job.ID+"/runs", m{"kind": "wash"}).want(http.StatusCreated)
	h.as("hand", "POST /api/runs/"+run.ID+"/end", m{"hours": 0.5}).want(200)
	h.as("hand", "POST /api/runs/"+run.ID+"/end", m{"hours": 0.5}).problem(http.StatusConflict, "")
	h.as("hand", "POST /api/jobs/"+job.ID+"/plan", nil).problem(http.StatusUnprocessableEntity, "")
	h.ask("POST /api/jobs/"+job.ID+"/offers", m{"until": "2026-04-30"}).problem(http.StatusNotFound, "")
}

// TestShelf reads and replaces the shelf, as a whole and thing by thing.
func TestShelf(t *testing.T) {
	h := open(t, 0)
	got := h.ask("GET /api/shelf", nil).want(200)
	tag := got.header.Get("ETag")
	h.ask("GET /api/shelf", nil, "If-None-Match", tag).want(http.StatusNotModified)
	var s fettle.Shelf
	got.into(&s)
	s.Media[0].HoursRun += 10
	s.Cutters = s.Cutters[1:]
	var taken Taken
	if h.ask("PUT /api/shelf", s, "If-Match", tag).want(200).into(&taken); taken.Changed != 2 {
		t.Errorf("%+v", taken)
	}
	h.ask("PUT /api/shelf", s, "If-Match", tag).problem(http.StatusPreconditionFailed, "header.If-Match")
	if h.ask("PUT /api/shelf", s).want(200).into(&taken); taken.Changed != 0 {
		t.Errorf("%+v", taken)
	}
	s.Vessels[0].VolumeL = -1
	h.ask("PUT /api/shelf", s).want(http.StatusUnprocessableEntity)

	var page Page[fettle.Cutter]
	h.ask("GET /api/shelf/cutters?limit=1", nil).want(200).into(&page)
	c := page.Records[0]
	at := "/api/shelf/cutters/" + c.ID
	c.Body.UsedH = 3
	h.ask("PUT "+at, m{"body": c.Body}, "If-Match", revTag(c.Rev)).want(200)
	h.ask("POST /api/shelf/cutters", m{"body": c.Body}).problem(http.StatusConflict, "")
	if made := h.ask("POST /api/shelf/envelope", m{"body": m{"max_kg": 2}}).want(http.StatusCreated); !strings.HasPrefix(made.header.Get("Location"), "/api/shelf/envelope/") {
		t.Errorf("%v", made.header)
	}
}

// TestRoles asks for every operation as who may not.
func TestRoles(t *testing.T) {
	h := open(t, 0)
	for _, r := range h.api.routes {
		call := strings.NewReplacer("{id}", "x", "{sha256}", strings.Repeat("0", 64), "{name...}", "x/y").Replace(r.call)
		switch r.least {
		case owner:
			h.as("hand", call, nil).problem(http.StatusForbidden, "")
			fallthrough
		case hand:
			if got := h.as("", call, nil); got.problem(http.StatusUnauthorized, "").Code != fettle.Denied || got.header.Get("WWW-Authenticate") == "" {
				t.Errorf("%s: %v", call, got.header)
			}
			h.as("customer", call, nil).problem(http.StatusUnauthorized, "")
		}
	}
	for _, call := range []string{"GET /api/health", "GET /api/session", "GET /api/openapi.json", "GET /api/openapi.yaml"} {
		h.as("", call, nil).want(200)
	}
}
