package bench

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/api"
	"fettle/internal/door/gate"
	"fettle/internal/door/queue"
	"fettle/internal/door/store"
	"fettle/internal/door/store/storetest"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/shop"

	"gonum.org/v1/gonum/spatial/r3"
)

// served is a shop behind its whole web door on this machine, wired as fettle serve
// does it.
type served struct {
	url   string
	store *store.Store
	http  *http.Client // shared by all who ask, one connection for each
	jobs  []string     // ids of what all work on
	runs  []string
	file  string // a model
	log   int    // readings that the shop begins with
	// surveyed says that the model's survey is there.
	surveyed bool
}

const servedJobs = 12

// serveShop opens a shop on one of the databases and serves it. It is one that has
// begun, or one of some years: then it has a log to learn from and a model that was
// surveyed, and takes seconds to open.
func serveShop(t testing.TB, database string, years bool) *served {
	t.Helper()
	o := store.Options{Dir: t.TempDir()}
	if database == "postgres" {
		o.URL, o.Schema = storetest.Postgres(t), storetest.Schema(t)
	}
	ctx := context.Background()
	st, err := store.Open(ctx, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	sh := shop.New(shop.Options{Store: st, Program: "bench"})
	if err := sh.Begin(ctx); err != nil {
		t.Fatal(err)
	}
	q, err := queue.Open(ctx, st.DB(), queue.Options{
		Dialect: string(st.Dialect()), Schema: o.Schema, Read: st.Read(), Workers: 1, Handlers: sh.Handlers(), Alone: st.Dialect() == store.SQLite, Limit: time.Hour,
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { q.Close(ctx) })
	sh = sh.Queued(q)
	g, err := gate.New(gate.Options{Keep: st})
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := gate.Server(g.Wrap(api.New(api.Options{Shop: sh, Tasks: q, Safe: st, Gate: g, Scratch: st.Scratch(), Program: "bench", Healthy: st.Healthy})), nil)
	go srv.Serve(ln)
	t.Cleanup(func() { srv.Close() })
	s := &served{url: "http://" + ln.Addr().String(), store: st, http: manyConnections(t), log: 24, surveyed: years}
	if years {
		s.log = 300
	}
	s.furnish(t, sh)
	return s
}

// manyConnections is a client that lets everyone keep a connection.
func manyConnections(t testing.TB) *http.Client {
	tr := &http.Transport{MaxIdleConns: 1000, MaxIdleConnsPerHost: 1000, DisableCompression: true}
	t.Cleanup(tr.CloseIdleConnections)
	return &http.Client{Transport: tr}
}

// furnish gives the shop its jobs, each with a run, and a log to look back on.
func (s *served) furnish(t testing.TB, sh *shop.Shop) {
	t.Helper()
	ctx := context.Background()
	keep := func(r fettle.Record, err error) fettle.Record {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	for i := range servedJobs {
		part := keep(sh.Make(ctx, "owner", "", fettle.Record{Kind: fettle.KeptPart, Body: asJSON(fettle.Part{Name: fmt.Sprintf("escutcheon %d", i)})}))
		file := keep(sh.AddFile(ctx, "owner", "", part.ID, "escutcheon.stl", bytes.NewReader(stlOf(form.Box(30, 20, 10+float64(i))))))
		job := keep(sh.Make(ctx, "owner", "", fettle.Record{Kind: fettle.KeptJob, Links: map[string]string{"part": part.ID, "file": file.ID}, Body: asJSON(fettle.Job{
			Title: fmt.Sprintf("escutcheons, lot %d", i), Due: "2026-06-30", Notes: strings.Repeat("as last time ", 20),
			Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 10},
		})}))
		run := keep(sh.StartRun(ctx, "hand", "", job.ID, fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel"}))
		s.jobs, s.runs, s.file = append(s.jobs, job.ID), append(s.runs, run.ID), file.ID
	}
	e := fettle.Edit{By: "hand"}
	for i := range s.log {
		h := float64(i % 24)
		e.Changes = append(e.Changes, fettle.Change{Act: fettle.Make, Record: fettle.Record{
			Kind: fettle.KeptReading, Name: string(fettle.ReadRa), Links: map[string]string{"run": s.runs[i%len(s.runs)]},
			Body: asJSON(fettle.Reading{Kind: fettle.ReadRa, AtH: h, Value: 0.2 + math.Exp(-h/8)}),
		}})
	}
	if _, err := s.store.Apply(ctx, e); err != nil {
		t.Fatal(err)
	}
	if !s.surveyed {
		return
	}
	task, err := sh.AskSurvey(ctx, "owner", s.file, "mm", "")
	for until := time.Now().Add(time.Minute); err == nil && task.State != fettle.Done; {
		if task.State.Over() || time.Now().After(until) {
			t.Fatalf("the survey is %s: %s", task.State, task.Why)
		}
		time.Sleep(5 * time.Millisecond)
		task, err = sh.AskSurvey(ctx, "owner", s.file, "mm", "")
	}
	if err != nil {
		t.Fatal(err)
	}
}

// session lets somebody in without the slow hash of a passcode, of which only a few
// are worked out at a time. It is the cookie.
func (s *served) session(t testing.TB, role gate.Role) string {
	t.Helper()
	var b [32]byte
	rand.Read(b[:])
	token := base64.RawURLEncoding.EncodeToString(b[:])
	sum := sha256.Sum256([]byte(token))
	now := time.Now()
	err := s.store.SaveSession(context.Background(), fettle.Session{
		Token: hex.EncodeToString(sum[:]), Role: string(role), Made: now, Seen: now, Ends: now.Add(time.Hour), Agent: "bench",
	})
	if err != nil {
		t.Fatal(err)
	}
	return "fettle_session=" + token
}

// ask sends one request and reads the whole answer.
func (s *served) ask(cookie, method, path string, body []byte, kind string, headers ...string) (int, http.Header, []byte, error) {
	var r io.Reader
	if body != nil {
		r = bytes.NewReader(body)
	}
	req, err := http.NewRequest(method, s.url+path, r)
	if err != nil {
		return 0, nil, nil, err
	}
	req.Header.Set("Cookie", cookie)
	if kind != "" {
		req.Header.Set("Content-Type", kind)
	}
	for i := 0; i < len(headers); i += 2 {
		if headers[i+1] != "" {
			req.Header.Set(headers[i], headers[i+1])
		}
	}
	resp, err := s.http.Do(req)
	if err != nil {
		return 0, nil, nil, err
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	return resp.StatusCode, resp.Header, b, err
}

// smallModel is a ball of a radius as binary STL of 50 kB.
func smallModel(radius float64) []byte { return stlOf(form.Sphere(radius, 32, 17)) }

// stlOf is a mesh as binary STL.
func stlOf(m *mesh.Mesh) []byte {
	b := make([]byte, 84, 84+50*len(m.Tri))
	binary.LittleEndian.PutUint32(b[80:], uint32(len(m.Tri)))
	for t := range m.Tri {
		n, _ := m.Normal(t)
		p, q, r := m.Corners(t)
		for _, v := range []r3.Vec{n, p, q, r} {
			for _, x := range []float64{v.X, v.Y, v.Z} {
				b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(x)))
			}
		}
		b = append(b, 0, 0)
	}
	return b
}

func asJSON(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return b
}
