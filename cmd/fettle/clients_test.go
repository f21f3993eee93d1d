package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"slices"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
)

// client makes and changes records through the web door, and has the ledger keep what
// it was answered. Records that it made are changed by it alone, so that it knows what
// must become of them.
type client struct {
	t    *testing.T
	l    *ledger
	name string
	n    int
	own  []*line
	at   *child
	rng  *rand.Rand
	// surveys: it may ask for one, which takes seconds.
	surveys bool
	runs    bool // it logs runs; one does, for their hours add up on one record
}

// work does one thing after another until an answer is lost or it is time to rest.
func (c *client) work(at *child, rng *rand.Rand) {
	c.at, c.rng = at, rng
	for !c.l.rest.Load() && c.step() && !c.t.Failed() {
	}
}

// step does one thing. False: no answer came.
func (c *client) step() bool {
	c.n++
	mark := fmt.Sprintf("%s-%d", c.name, c.n)
	if c.runs && c.rng.IntN(3) > 0 {
		return c.logRun(mark)
	}
	switch k := c.rng.IntN(20); {
	case k < 3:
		return c.make(c.record(fettle.KeptCustomer, "/api/customers", mark, fettle.Customer{Name: mark, Contact: "by telephone"}, nil))
	case k < 5:
		return c.make(c.record(fettle.KeptPart, "/api/parts", mark, fettle.Part{Name: mark, Number: "7"}, nil))
	case k < 8:
		var links map[string]string
		if p := c.pick(fettle.KeptPart, false); p != nil {
			links = map[string]string{"part": p.id}
		}
		job := fettle.Job{Title: mark, State: fettle.JobAsked, Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 1 + c.rng.IntN(40)}}
		return c.make(c.record(fettle.KeptJob, "/api/jobs", mark, job, links))
	case k < 12:
		return c.alter(mark)
	case k < 14:
		return c.change("DELETE", "", c.pick([]fettle.RecordKind{fettle.KeptCustomer, fettle.KeptJob}[c.rng.IntN(2)], false), true)
	case k < 15:
		return c.change("POST", "/undo", c.pick([]fettle.RecordKind{fettle.KeptCustomer, fettle.KeptJob}[c.rng.IntN(2)], true), false)
	case k < 18:
		size := 100 << c.rng.IntN(12)
		if c.rng.IntN(25) == 0 {
			size = 1<<20 + c.rng.IntN(2<<20)
		}
		data := make([]byte, size)
		for i := range data {
			data[i] = byte(c.rng.Uint32())
		}
		return c.upload(mark, data)
	case c.surveys:
		c.surveys = false
		return c.survey(mark)
	default:
		return c.proof(mark)
	}
}

// pick is one of its own records.
func (c *client) pick(kind fettle.RecordKind, deleted bool) *line {
	var may []*line
	for _, ln := range c.own {
		if ln.kind == kind && ln.deleted == deleted && ln.lost == nil {
			may = append(may, ln)
		}
	}
	if len(may) == 0 {
		return nil
	}
	return may[c.rng.IntN(len(may))]
}

// record is a record to be made as JSON.
func (c *client) record(kind fettle.RecordKind, path, mark string, body any, links map[string]string) *making {
	b, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	send, err := json.Marshal(map[string]any{"links": links, "body": json.RawMessage(b)})
	if err != nil {
		panic(err)
	}
	return &making{kind: kind, post: path, path: path, key: c.key(mark), mark: `"` + mark + `"`, name: mark, body: canonical(b), send: send}
}

// key names every other making.
func (c *client) key(mark string) string {
	if c.rng.IntN(2) == 0 {
		return ""
	}
	return "key " + mark
}

// head is what a making is sent with.
func (m *making) head() map[string]string {
	h := map[string]string{"Content-Type": "application/json"}
	if m.model {
		h["Content-Type"] = "application/octet-stream"
	}
	if m.key != "" {
		h["Idempotency-Key"] = m.key
	}
	return h
}

// told is a record as an answer tells of it.
type told struct {
	ID      string            `json:"id"`
	Rev     int64             `json:"rev"`
	Links   map[string]string `json:"links"`
	Files   map[string]string `json:"files"`
	Deleted *string           `json:"deleted"`
	Body    json.RawMessage   `json:"body"`
}

// make makes a record.
func (c *client) make(m *making) bool {
	_, ok := c.made(m)
	return ok
}

func (c *client) made(m *making) (*line, bool) {
	a, err := c.at.ask("POST", m.post, m.head(), m.send)
	if err != nil {
		c.l.mu.Lock()
		defer c.l.mu.Unlock()
		c.l.lost = append(c.l.lost, m)
		return nil, false
	}
	ln := c.l.answered(c.t, m, a)
	if ln == nil {
		return nil, false
	}
	c.own = append(c.own, ln)
	return ln, true
}

// answered writes down that a making was answered.
func (l *ledger) answered(t *testing.T, m *making, a answer) *line {
	var r told
	if err := json.Unmarshal(a.body, &r); a.status != http.StatusCreated || err != nil || r.ID == "" || r.Rev != 1 && m.key == "" {
		t.Errorf("POST %s %.200q: %d %s", m.post, m.send, a.status, a.body)
		return nil
	}
	ln := &line{kind: m.kind, path: m.path, id: r.ID, rev: r.Rev, body: canonical(r.Body), links: r.Links, sha: r.Files["model"], fresh: true}
	if m.body != "" && ln.body != m.body {
		t.Errorf("%s %s was made as %s; asked for was %s", m.kind, m.mark, ln.body, m.body)
	}
	if m.model {
		if sum := sha256.Sum256(m.send); ln.sha != hex.EncodeToString(sum[:]) {
			t.Errorf("%s %s has the file %s; sent was %x", m.kind, m.mark, ln.sha, sum)
		}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.lines = append(l.lines, ln)
	return ln
}

// alter changes a record's notes.
func (c *client) alter(mark string) bool {
	ln := c.pick([]fettle.RecordKind{fettle.KeptCustomer, fettle.KeptPart, fettle.KeptJob}[c.rng.IntN(3)], false)
	if ln == nil {
		return true
	}
	var body map[string]any
	if err := json.Unmarshal([]byte(ln.body), &body); err != nil {
		panic(err)
	}
	body["notes"] = "as of " + mark
	b, err := json.Marshal(map[string]any{"links": ln.links, "body": body})
	if err != nil {
		panic(err)
	}
	want, err := json.Marshal(body)
	if err != nil {
		panic(err)
	}
	return c.changed("PUT", "", ln, b, state{canonical(want), false})
}

// change deletes a record or brings it back.
func (c *client) change(method, path string, ln *line, deleted bool) bool {
	if ln == nil {
		return true
	}
	return c.changed(method, path, ln, nil, state{ln.body, deleted})
}

// changed asks for a change that must make this of a record.
func (c *client) changed(method, path string, ln *line, body []byte, want state) bool {
	a, err := c.at.ask(method, ln.path+"/"+ln.id+path, map[string]string{"Content-Type": "application/json", "If-Match": fmt.Sprintf(`"%d"`, ln.rev)}, body)
	c.l.mu.Lock()
	defer c.l.mu.Unlock()
	if err != nil {
		ln.lost = &want
		return false
	}
	var r told
	if err := json.Unmarshal(a.body, &r); !a.ok() || err != nil || r.Rev != ln.rev+1 || canonical(r.Body) != want.body || (r.Deleted != nil) != want.deleted {
		c.t.Errorf("%s %s/%s%s with %s: %d %s", method, ln.path, ln.id, path, body, a.status, a.body)
		return false
	}
	ln.rev, ln.body, ln.deleted, ln.fresh = r.Rev, want.body, want.deleted, true
	return true
}

// upload adds a model to one of its parts.
func (c *client) upload(mark string, data []byte) bool {
	_, ok := c.uploaded(mark, data)
	return ok
}

func (c *client) uploaded(mark string, data []byte) (*line, bool) {
	part := c.pick(fettle.KeptPart, false)
	if part == nil {
		return nil, true
	}
	name := mark + ".stl"
	return c.made(&making{
		kind: fettle.KeptFile, post: "/api/parts/" + part.id + "/files?name=" + name, path: "/api/files",
		key: c.key(mark), mark: `"` + name + `"`, name: name, send: data, model: true,
	})
}

// survey uploads a block and asks what it is.
func (c *client) survey(mark string) bool {
	block := [3]float64{float64(2 + c.rng.IntN(40)), float64(2 + c.rng.IntN(40)), float64(2 + c.rng.IntN(40))}
	ln, ok := c.uploaded(mark, stl(c.t, form.Box(block[0], block[1], block[2])))
	if !ok || ln == nil {
		return ok
	}
	a, err := c.at.ask("GET", ln.path+"/"+ln.id+"/survey", nil, nil)
	return c.asked(a, err, &asked{file: ln.id, block: block})
}

// proof asks what a program does whose feed moves are as long as their words say.
func (c *client) proof(mark string) bool {
	far := float64(10 + c.rng.IntN(400))
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	part, err := w.CreateFormFile("program", mark+".nc")
	if err != nil {
		panic(err)
	}
	fmt.Fprintf(part, "%%\n(%s)\nG21 G90 G17 G94\nT1 M6\nS9000 M3\nG0 X0 Y0 Z5\nG1 Z1 F100\nG1 X%v F200\nM30\n%%\n", mark, far)
	w.Close()
	a, err := c.at.ask("POST", "/api/proofs", map[string]string{"Content-Type": w.FormDataContentType()}, b.Bytes())
	return c.asked(a, err, &asked{feed: 4 + far})
}

// asked notes a task that was promised.
func (c *client) asked(a answer, err error, of *asked) bool {
	if err != nil {
		return false
	}
	var task fettle.Task
	if err := json.Unmarshal(a.body, &task); a.status != http.StatusAccepted || err != nil || task.ID == "" {
		c.t.Errorf("a task was asked for: %d %s", a.status, a.body)
		return false
	}
	c.l.mu.Lock()
	c.l.tasks[task.ID] = of
	c.l.mu.Unlock()
	return true
}

// logRun begins a run, reads something of it, or ends it.
func (c *client) logRun(mark string) bool {
	open := slices.DeleteFunc(slices.Clone(c.own), func(ln *line) bool { return ln.kind != fettle.KeptRun || ln.rev > 1 || ln.lost != nil })
	if len(open) == 0 {
		run := fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: wornMedia, Vessel: "wet barrel", Notes: mark}
		m := c.record(fettle.KeptRun, "/api/runs", mark, run, nil)
		// The shop says when it began.
		job := c.pick(fettle.KeptJob, false)
		if job == nil {
			return true
		}
		m.post, m.name, m.body = "/api/jobs/"+job.id+"/runs", "", ""
		var err error
		if m.send, err = json.Marshal(run); err != nil {
			panic(err)
		}
		return c.make(m)
	}
	run := open[0]
	if c.rng.IntN(3) > 0 {
		value := 0.3 + float64(c.n)*1e-6
		m := c.record(fettle.KeptReading, "/api/readings", mark, nil, nil)
		m.post, m.name, m.mark = "/api/runs/"+run.id+"/readings", "", fmt.Sprintf(`"value":%v}`, value)
		send, err := json.Marshal(fettle.Reading{Kind: fettle.ReadRa, AtH: float64(1 + c.rng.IntN(8)), Value: value})
		if err != nil {
			panic(err)
		}
		m.send, m.body = send, canonical(send)
		return c.make(m)
	}
	hours := float64(1+c.rng.IntN(40)) / 8
	a, err := c.at.ask("POST", "/api/runs/"+run.id+"/end", map[string]string{"Content-Type": "application/json"}, fmt.Appendf(nil, `{"hours": %v, "ended": "2026-03-31T14:05:00Z"}`, hours))
	c.l.mu.Lock()
	defer c.l.mu.Unlock()
	var want map[string]any
	if err := json.Unmarshal([]byte(run.body), &want); err != nil {
		panic(err)
	}
	want = maps.Clone(want)
	want["ended"], want["hours_run"] = "2026-03-31T14:05:00Z", hours
	b, _ := json.Marshal(want)
	if err != nil {
		c.l.maybe += hours
		run.lost = &state{canonical(b), false}
		return false
	}
	var r told
	if err := json.Unmarshal(a.body, &r); a.status != http.StatusOK || err != nil || r.Rev != 2 || canonical(r.Body) != canonical(b) {
		c.t.Errorf("the end of run %s: %d %s", run.id, a.status, a.body)
		return false
	}
	c.l.hours += hours
	run.rev, run.body, run.fresh = r.Rev, canonical(b), true
	return true
}
