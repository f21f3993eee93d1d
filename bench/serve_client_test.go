package bench

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/api"
	"fettle/internal/door/gate"
)

// somebody is one person at a screen. What they were answered stands in their
// ledger, to be compared with what the shop then has.
type somebody struct {
	*served
	n      int
	owner  bool
	cookie string
	dice   *rand.Rand
	tags   map[string]string // ETags of what they have seen, by path
	seq    int

	reads, writes []time.Duration
	clashes       int // changes refused because another was faster
	watched       int
	readings      []string            // ids of what was made
	files         []string            //
	notes         map[string][]string // what was written into a job, by its id
}

type job = api.Kept[fettle.Job]

// newcomer lets somebody in; every second one is an owner.
func (s *served) newcomer(t testing.TB, n int) *somebody {
	role := gate.Hand
	if n%2 == 0 {
		role = gate.Owner
	}
	return &somebody{
		served: s, n: n, owner: role == gate.Owner, cookie: s.session(t, role), dice: rand.New(rand.NewPCG(uint64(n), 7)),
		tags: map[string]string{}, notes: map[string][]string{},
	}
}

// work opens one page after the other until it is time, with a pause between two of
// so long on average.
func (p *somebody) work(until time.Time, pause time.Duration) error {
	for time.Now().Before(until) {
		if err := p.page(); err != nil {
			return err
		}
		if pause > 0 {
			time.Sleep(min(time.Duration(p.dice.ExpFloat64()*float64(pause)), time.Until(until)))
		}
	}
	return nil
}

// page is what one page or form asks of the shop.
func (p *somebody) page() error {
	at := p.dice.IntN(100)
	if p.n%10 == 0 && at%5 == 0 {
		return p.watch()
	}
	id := p.jobs[p.dice.IntN(len(p.jobs))]
	switch {
	case at < 30: // the board
		return p.get("/api/today", "/api/jobs?newest=true&limit=50", "/api/shelf")
	case at < 60: // a job
		model := "/api/files/" + p.file
		if p.surveyed {
			model += "/survey?units=mm"
		}
		return p.get("/api/jobs/"+id, "/api/jobs/"+id+"/story", model)
	case at < 72: // a run
		run := p.runs[p.dice.IntN(len(p.runs))]
		return p.get("/api/runs/"+run, "/api/readings?role=run&target="+run+"&newest=true&limit=20")
	case at < 84 && p.owner:
		return p.alter(id)
	case at < 97:
		return p.read()
	case !p.owner:
		return p.get("/api/logbook")
	}
	return p.upload()
}

// get reads; what was seen before is asked about by its tag.
func (p *somebody) get(paths ...string) error {
	for _, path := range paths {
		began := time.Now()
		status, h, body, err := p.ask(p.cookie, "GET", path, nil, "", "If-None-Match", p.tags[path])
		if err != nil {
			return err
		}
		p.reads = append(p.reads, time.Since(began))
		if status != http.StatusOK && (status != http.StatusNotModified || p.tags[path] == "") {
			return fmt.Errorf("GET %s: %d %s", path, status, body)
		}
		p.tags[path] = h.Get("ETag")
	}
	return nil
}

// send writes. It returns the status and the answer.
func (p *somebody) send(method, path string, body []byte, kind string, headers ...string) (int, []byte, error) {
	began := time.Now()
	status, _, answer, err := p.ask(p.cookie, method, path, body, kind, headers...)
	p.writes = append(p.writes, time.Since(began))
	if err == nil && (status < 200 || status > 299) && (method != "PUT" || status != http.StatusConflict && status != http.StatusPreconditionFailed) {
		err = fmt.Errorf("%s %s: %d %s", method, path, status, answer)
	}
	return status, answer, err
}

// alter writes a line into a job, and reads it again where another was faster.
func (p *somebody) alter(id string) error {
	p.seq++
	note := fmt.Sprintf("seen by %d, the %d. time", p.n, p.seq)
	for range 20 {
		began := time.Now()
		status, h, body, err := p.ask(p.cookie, "GET", "/api/jobs/"+id, nil, "")
		if err != nil {
			return err
		}
		p.reads = append(p.reads, time.Since(began))
		var j job
		if err := json.Unmarshal(body, &j); err != nil || status != http.StatusOK {
			return fmt.Errorf("job %s: %d %s", id, status, body)
		}
		j.Body.Notes = note
		status, _, err = p.send("PUT", "/api/jobs/"+id, asJSON(map[string]any{"links": j.Links, "body": j.Body}), "application/json", "If-Match", h.Get("ETag"))
		if err != nil {
			return err
		}
		if status == http.StatusOK {
			p.notes[id] = append(p.notes[id], note)
			return nil
		}
		p.clashes++
	}
	return fmt.Errorf("job %s: others were faster twenty times in a row", id)
}

// read adds a reading to a run; one in ten is sent twice, as by a poor connection.
func (p *somebody) read() error {
	p.seq++
	run := p.runs[p.dice.IntN(len(p.runs))]
	body := asJSON(fettle.Reading{Kind: fettle.ReadRa, AtH: 24 * p.dice.Float64(), Value: 0.2 + 0.5*p.dice.Float64()})
	id := ""
	for range 1 + (9+p.dice.IntN(10))/18 {
		_, answer, err := p.send("POST", "/api/runs/"+run+"/readings", body, "application/json", "Idempotency-Key", fmt.Sprintf("bench %d %d", p.n, p.seq))
		if err != nil {
			return err
		}
		var r api.Kept[fettle.Reading]
		if err := json.Unmarshal(answer, &r); err != nil || r.ID == "" || id != "" && r.ID != id {
			return fmt.Errorf("a reading that was %q is %s", id, answer)
		}
		id = r.ID
	}
	p.readings = append(p.readings, id)
	return nil
}

// upload sends a model that nobody has sent before.
func (p *somebody) upload() error {
	p.seq++
	var part job
	status, _, body, err := p.ask(p.cookie, "GET", "/api/jobs/"+p.jobs[p.dice.IntN(len(p.jobs))], nil, "")
	if err == nil {
		err = json.Unmarshal(body, &part)
	}
	if err != nil || status != http.StatusOK {
		return fmt.Errorf("a job to send a model for: %d, %w", status, err)
	}
	model := smallModel(10 + float64(p.n) + float64(p.seq)/1e4)
	_, answer, err := p.send("POST", "/api/parts/"+part.Links["part"]+"/files?name=ball.stl", model, "application/octet-stream")
	if err != nil {
		return err
	}
	var f api.Kept[fettle.ModelFile]
	if err := json.Unmarshal(answer, &f); err != nil || f.Body.Bytes != int64(len(model)) {
		return fmt.Errorf("a model of %d bytes is kept as %s", len(model), answer)
	}
	p.files = append(p.files, f.ID)
	return nil
}

// watch has the log learned from, and watches until that is done.
func (p *somebody) watch() error {
	_, body, err := p.send("POST", "/api/logbook/learn", nil, "")
	if err != nil {
		return err
	}
	var t fettle.Task
	if err := json.Unmarshal(body, &t); err != nil {
		return fmt.Errorf("learning: %w in %s", err, body)
	}
	req, err := http.NewRequest("GET", p.url+"/api/tasks/"+t.ID+"/events", nil)
	if err != nil {
		return err
	}
	req.Header.Set("Cookie", p.cookie)
	resp, err := p.http.Do(req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	lines := bufio.NewScanner(resp.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		if data, is := bytes.CutPrefix(lines.Bytes(), []byte("data: ")); is {
			if err := json.Unmarshal(data, &t); err != nil {
				return err
			}
		}
	}
	if lines.Err() != nil || t.State != fettle.Done {
		return fmt.Errorf("watched a task (%d) until it was %s %s: %w", resp.StatusCode, t.State, t.Why, lines.Err())
	}
	p.watched++
	return nil
}

// compare looks that the shop has what everyone was told that it has: nothing lost,
// nothing twice, nothing else.
func (s *served) compare(t testing.TB, crowd []*somebody) {
	t.Helper()
	cookie := s.session(t, gate.Owner)
	var readings, files []string
	notes := map[string][]string{}
	for _, p := range crowd {
		readings, files = append(readings, p.readings...), append(files, p.files...)
		for id, l := range p.notes {
			notes[id] = append(notes[id], l...)
		}
	}
	if has := s.count(t, cookie, "/api/readings", readings); has != s.log+len(readings) {
		t.Errorf("%d readings, want %d and the %d of before", has, len(readings), s.log)
	}
	if has := s.count(t, cookie, "/api/files", files); has != servedJobs+len(files) {
		t.Errorf("%d models, want %d and the %d of before", has, len(files), servedJobs)
	}
	for _, id := range s.jobs {
		var all []job
		if err := s.json(cookie, "/api/jobs/"+id+"/history", &all); err != nil {
			t.Fatal(err)
		}
		var wrote []string
		for i, j := range all {
			if j.Rev != int64(i+1) {
				t.Errorf("revision %d of %s at place %d", j.Rev, id, i+1)
			}
			if i > 0 {
				wrote = append(wrote, j.Body.Notes)
			}
		}
		slices.Sort(wrote)
		slices.Sort(notes[id])
		if !slices.Equal(wrote, notes[id]) {
			t.Errorf("%d changes of job %s were answered and %d are kept", len(notes[id]), id, len(wrote))
		}
	}
}

// count is how many records a list holds, each once and these among them.
func (s *served) count(t testing.TB, cookie, path string, these []string) int {
	t.Helper()
	seen := map[string]bool{}
	for after := ""; ; {
		var page api.Page[json.RawMessage]
		if err := s.json(cookie, path+"?limit=1000&after="+after, &page); err != nil {
			t.Fatal(err)
		}
		for _, r := range page.Records {
			if seen[r.ID] {
				t.Errorf("%s lists %s twice", path, r.ID)
			}
			seen[r.ID] = true
		}
		if after = page.Next; after == "" {
			break
		}
	}
	for i, id := range these {
		if !seen[id] || slices.Contains(these[:i], id) {
			t.Errorf("%s: %s was answered, and is lost or was answered twice", path, id)
		}
	}
	return len(seen)
}

func (s *served) json(cookie, path string, v any) error {
	status, _, body, err := s.ask(cookie, "GET", path, nil, "")
	if err == nil && status != http.StatusOK {
		err = fmt.Errorf("%s", strings.TrimSpace(string(body)))
	}
	if err != nil {
		return fmt.Errorf("GET %s: %d, %w", path, status, err)
	}
	return json.Unmarshal(body, v)
}
