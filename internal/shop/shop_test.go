package shop_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle"
	"fettle/demo"
	"fettle/internal/door/store"
	"fettle/internal/shop"
	"fettle/internal/trade/stock"
	"fettle/internal/work"

	"github.com/google/go-cmp/cmp"
)

// noon is when these tests happen.
var noon = time.Date(2026, 3, 31, 12, 0, 0, 0, time.UTC)

// open begins a shop in a folder of its own.
func open(t *testing.T) *shop.Shop {
	t.Helper()
	st, err := store.Open(t.Context(), store.Options{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	s := shop.New(shop.Options{Store: st, Program: "test", Now: func() time.Time { return noon }})
	if err := s.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	return s
}

func body(t *testing.T, v any) json.RawMessage {
	t.Helper()
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A new shop stands on the trade's starting guesses, in their order, and is not begun
// twice.
func TestBegin(t *testing.T) {
	s := open(t)
	if err := s.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	got, err := s.Shelf(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(onPaper(t, stock.Shelf()), onPaper(t, got)); d != "" {
		t.Error(d)
	}
}

// onPaper is a shelf as JSON has it, where an empty list is as good as none.
func onPaper(t *testing.T, s *fettle.Shelf) map[string]any {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal(body(t, s), &m); err != nil {
		t.Fatal(err)
	}
	for k, v := range m {
		if l, ok := v.([]any); ok && len(l) == 0 {
			m[k] = nil
		}
	}
	return m
}

func TestTakeShelf(t *testing.T) {
	s := open(t)
	shelf := stock.Shelf()
	if n, err := s.TakeShelf(t.Context(), "owner", shelf, nil); err != nil || n != 0 {
		t.Fatalf("the same shelf changed %d things, %v", n, err)
	}
	gone := shelf.Cutters[0].Name
	shelf.Cutters = shelf.Cutters[1:]
	shelf.Media[0].HoursRun = 33
	extra := shelf.Vessels[0]
	extra.Name = "barrel by the window"
	shelf.Vessels = append(shelf.Vessels, extra)
	if n, err := s.TakeShelf(t.Context(), "owner", shelf, nil); err != nil || n != 3 {
		t.Fatalf("%d things changed, %v; want 3", n, err)
	}
	got, err := s.Shelf(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(onPaper(t, shelf), onPaper(t, got)); d != "" {
		t.Error(d)
	}
	// The change of a number that plans rest on can be traced.
	m, err := s.Named(t.Context(), fettle.KeptMedia, shelf.Media[0].Name)
	if err != nil {
		t.Fatal(err)
	}
	h, err := s.History(t.Context(), fettle.KeptMedia, m.ID)
	if err != nil || len(h) != 2 || h[0].By != "fettle" || h[1].By != "owner" || !strings.Contains(string(h[1].Body), `"hours_run":33`) {
		t.Errorf("history %v, %v", h, err)
	}
	if _, err := s.Named(t.Context(), fettle.KeptCutter, gone); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("%s is still there: %v", gone, err)
	}
	bad := stock.Shelf()
	bad.Cutters[1].Name = strings.ToUpper(bad.Cutters[0].Name)
	if _, err := s.TakeShelf(t.Context(), "owner", bad, nil); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("two cutters of one name: %v", err)
	}
}

// A thing is judged beside the rest of the shelf, under an old name and a new.
func TestThings(t *testing.T) {
	s := open(t)
	r, err := s.Named(t.Context(), fettle.KeptCutter, stock.Shelf().Cutters[0].Name)
	if err != nil {
		t.Fatal(err)
	}
	c := stock.Shelf().Cutters[0]
	c.Name = "the worn one"
	r.Body = body(t, c)
	r, err = s.Alter(t.Context(), "owner", r)
	if err != nil || r.Name != c.Name {
		t.Fatalf("%q, %v", r.Name, err)
	}
	c.DiameterMM = -1
	r.Body = body(t, c)
	if _, err := s.Alter(t.Context(), "owner", r); fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "diameter_mm") {
		t.Errorf("a cutter without a diameter: %v", err)
	}
	c = stock.Shelf().Cutters[1] // its name is taken
	if _, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: fettle.KeptCutter, Body: body(t, c)}); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("a second cutter of one name: %v", err)
	}
	if r, err = s.Undo(t.Context(), "owner", r.Kind, r.ID, r.Rev); err != nil || r.Name != stock.Shelf().Cutters[0].Name {
		t.Errorf("undone to %q, %v", r.Name, err)
	}
	if _, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: fettle.KeptEnvelope, Body: body(t, fettle.Envelope{MaxMM: [3]float64{100, 80, 60}})}); err != nil {
		t.Error(err)
	}
	if env, err := s.Envelope(t.Context()); err != nil || env.MaxMM[0] != 100 {
		t.Errorf("envelope %v, %v", env, err)
	}
}

// Runs that end at once on one kind of media all put their hours on it, and a shelf
// that was seen before them does not take them off again.
func TestHoursAreNotLost(t *testing.T) {
	s := open(t)
	before, err := s.Shelf(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	seen := string(body(t, before))
	var ids []string
	for range 6 {
		r, err := s.StartRun(t.Context(), "hand", "", "", fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel"})
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, r.ID)
	}
	var wg sync.WaitGroup
	for _, id := range ids {
		wg.Go(func() {
			if _, err := s.EndRun(t.Context(), "hand", id, 2, noon); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	_, err = s.TakeShelf(t.Context(), "owner", before, func(now *fettle.Shelf) error {
		if string(body(t, now)) != seen {
			return fettle.Errorf(fettle.Conflict, "changed meanwhile")
		}
		return nil
	})
	if fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("an old shelf was taken: %v", err)
	}
	m, err := s.Named(t.Context(), fettle.KeptMedia, "ceramic-fine-5")
	if err != nil || !strings.Contains(string(m.Body), `"hours_run":12`) {
		t.Errorf("%s, %v", m.Body, err)
	}
}

func TestBadBodies(t *testing.T) {
	s := open(t)
	run, err := s.StartRun(t.Context(), "hand", "", "", fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel"})
	if err != nil {
		t.Fatal(err)
	}
	toRun := map[string]string{"run": run.ID}
	for _, c := range []struct {
		r    fettle.Record
		want string
	}{
		{fettle.Record{Kind: "ghost"}, "are not kept"},
		{fettle.Record{Kind: fettle.KeptCustomer, Body: []byte(`{}`)}, "has no name"},
		{fettle.Record{Kind: fettle.KeptCustomer, Body: []byte(`{"name":"A","phone":1}`)}, `the key "phone" is not known`},
		{fettle.Record{Kind: fettle.KeptCustomer, Body: []byte(`{"name":3}`)}, `"name" holds a number`},
		{fettle.Record{Kind: fettle.KeptCustomer, Body: []byte(`{"name":"A"`)}, "ends too early"},
		{fettle.Record{Kind: fettle.KeptCustomer, Body: []byte(`{"name":"A"} 2`)}, "behind its end"},
		{fettle.Record{Kind: fettle.KeptCustomer, Body: []byte(`{"name":"A"}`), Links: toRun}, "links.run"},
		{fettle.Record{Kind: fettle.KeptFile, Body: []byte(`{"file":"a.stl"}`)}, "links.part is missing"},
		{fettle.Record{Kind: fettle.KeptJob, Body: []byte(`{"title":"t","brief":{"material":"naval brass"}}`)}, "names no finish"},
		{fettle.Record{Kind: fettle.KeptJob, Body: []byte(`{"title":"t","due":"soon","brief":{"material":"naval brass","finish":"satin"}}`)}, "no date"},
		{fettle.Record{Kind: fettle.KeptJob, Body: []byte(`{"title":"t","brief":{"material":"naval brass","finish":"satin"}}`), Links: map[string]string{"part": "0190"}}, "links.part"},
		{fettle.Record{Kind: fettle.KeptRun, Body: []byte(`{"kind":"dance","material":"naval brass"}`)}, "dance"},
		{fettle.Record{Kind: fettle.KeptRun, Body: []byte(`{"kind":"tumble","material":"naval brass","media":"sand","vessel":"wet barrel"}`)}, "sand"},
		{fettle.Record{Kind: fettle.KeptRun, Body: []byte(`{"kind":"wash","started":"noon"}`)}, "no time"},
		{fettle.Record{Kind: fettle.KeptReading, Links: toRun, Body: []byte(`{"kind":"ra","value":500}`)}, "must lie between"},
		{fettle.Record{Kind: fettle.KeptReading, Links: toRun, Body: []byte(`{"kind":"taste","value":5}`)}, "is not known"},
		{fettle.Record{Kind: fettle.KeptReading, Links: toRun, Body: []byte(`{"kind":"mark gone","value":1}`)}, "depth_um"},
		{fettle.Record{Kind: fettle.KeptOffer, Body: []byte(`{"offers":[]}`)}, "links.job"},
		{fettle.Record{Kind: fettle.KeptRates, Body: []byte(`{"currency":""}`)}, "rates"},
		{fettle.Record{Kind: fettle.KeptMedia, Body: body(t, withLot(fettle.MediaLot{Kg: 5}))}, "needs a name"},
		{fettle.Record{Kind: fettle.KeptMedia, Body: body(t, withLot(fettle.MediaLot{Name: "bag 2", HoursRun: -1}))}, "hours_run"},
		{fettle.Record{Kind: fettle.KeptEnvelope, Body: []byte(`{"max_mm":[-1,0,0]}`)}, "max_mm"},
	} {
		_, err := s.Make(t.Context(), "owner", "", c.r)
		if code := fettle.CodeOf(err); err == nil || code == fettle.Internal || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %s: %v (%s); want a sentence with %q", c.r.Kind, c.r.Body, err, code, c.want)
		}
	}
}

// withLot is media on the shelf that came in one more bag.
func withLot(l fettle.MediaLot) fettle.Media {
	m := stock.Shelf().Media[0]
	m.Name = "another bag"
	m.Lots = append(m.Lots, l)
	return m
}

// What the workspace learns of a log is what the log alone teaches, and taking it
// twice adds nothing.
func TestLogTeaches(t *testing.T) {
	s := open(t)
	file := filepath.Join(t.TempDir(), "log.json")
	if err := os.WriteFile(file, body(t, demo.Logbook()), 0o600); err != nil {
		t.Fatal(err)
	}
	first, err := s.TakeLog(t.Context(), "owner", file)
	if err != nil || first.Runs == 0 {
		t.Fatalf("%+v, %v", first, err)
	}
	again, err := s.TakeLog(t.Context(), "owner", file)
	if err != nil || again.Runs != 0 || again.Known != first.Runs {
		t.Fatalf("taken again: %+v, %v", again, err)
	}
	want, err := work.Learn(t.Context(), work.LearnRequest{Log: file})
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Learned(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want.Parameters, got.Parameters); d != "" {
		t.Error(d)
	}
	page, err := s.List(t.Context(), fettle.Query{Kind: fettle.KeptLearned})
	if err != nil || len(page.Records) != len(want.Parameters) {
		t.Fatalf("%d numbers kept of %d, %v", len(page.Records), len(want.Parameters), err)
	}
	// A further reading moves a number, and its history tells from what to what.
	log, err := s.Logbook(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var run string
	for _, r := range log.Runs {
		if r.Media == "ceramic-fine-5" {
			run = r.ID
		}
	}
	if _, err := s.AddReading(t.Context(), "hand", "", run, fettle.Reading{Kind: fettle.ReadRa, AtH: 30, Value: 0.2}); err != nil {
		t.Fatal(err)
	}
	moved := 0
	for _, r := range page.Records {
		h, err := s.History(t.Context(), fettle.KeptLearned, r.ID)
		if err != nil {
			t.Fatal(err)
		}
		if len(h) == 2 && h[1].By == "hand" {
			moved++
		}
	}
	if moved == 0 {
		t.Error("a reading moved nothing")
	}
	// Taken away again, it teaches nothing any more.
	all, err := s.List(t.Context(), fettle.Query{Kind: fettle.KeptReading, Role: "run", Target: run, Newest: true, Limit: 1})
	if err != nil || len(all.Records) != 1 {
		t.Fatalf("%v, %v", all, err)
	}
	if _, err := s.Delete(t.Context(), "hand", fettle.KeptReading, all.Records[0].ID, all.Records[0].Rev); err != nil {
		t.Fatal(err)
	}
	for _, r := range page.Records {
		now, err := s.Get(t.Context(), fettle.KeptLearned, r.ID)
		if err != nil || string(now.Body) != string(r.Body) {
			t.Errorf("%s is still moved: %v", r.Name, err)
		}
	}
}

// The end of a run puts its hours on the media that it wore, together with it.
func TestEndRunWearsMedia(t *testing.T) {
	s := open(t)
	r, err := s.StartRun(t.Context(), "hand", "k", "", fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic fine 5", Vessel: "wet barrel"})
	if err != nil {
		t.Fatal(err)
	}
	now, err := s.Today(t.Context())
	if err != nil || len(now.Running) != 1 {
		t.Fatalf("%+v, %v", now, err)
	}
	if _, err := s.EndRun(t.Context(), "hand", r.ID, 0, noon.Add(90*time.Minute)); err != nil {
		t.Fatal(err)
	}
	m, err := s.Named(t.Context(), fettle.KeptMedia, "ceramic-fine-5")
	if err != nil || !strings.Contains(string(m.Body), `"hours_run":1.5`) {
		t.Errorf("%s, %v", m.Body, err)
	}
	if _, err := s.EndRun(t.Context(), "hand", r.ID, 3, noon); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("ended twice: %v", err)
	}
	if now, err = s.Today(t.Context()); err != nil || len(now.Running) != 0 {
		t.Errorf("still running: %+v, %v", now, err)
	}
}
