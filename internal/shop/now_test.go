package shop_test

import (
	"context"
	"encoding/json"
	"os"
	"sync"
	"testing"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/door/store/storetest"
	"fettle/internal/shop"
	"fettle/internal/trade/stock"

	"github.com/google/go-cmp/cmp"
)

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

// TestOthersShelf changes the shelf in one shop and finds it changed in another that has
// read it before, as two processes on one database do.
func TestOthersShelf(t *testing.T) {
	url, schema := storetest.Postgres(t), storetest.Schema(t)
	dir := t.TempDir()
	var shops [2]*shop.Shop
	for i := range shops {
		st, err := store.Open(t.Context(), store.Options{Dir: dir, URL: url, Schema: schema})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { st.Close() })
		shops[i] = shop.New(shop.Options{Store: st})
		if err := shops[i].Begin(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	see := func(s *shop.Shop) *fettle.Shelf {
		t.Helper()
		shelf, err := s.Shelf(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return shelf
	}
	see(shops[1])
	r, err := shops[0].Named(t.Context(), fettle.KeptMedia, stock.Shelf().Media[0].Name)
	if err != nil {
		t.Fatal(err)
	}
	worn := stock.Shelf()
	worn.Media[0].HoursRun = 12
	r.Body = body(t, worn.Media[0])
	if r, err = shops[0].Alter(t.Context(), "owner", r); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(onPaper(t, worn), onPaper(t, see(shops[1]))); d != "" {
		t.Error(d)
	}
	gone := stock.Shelf()
	gone.Media = gone.Media[1:]
	if r, err = shops[0].Delete(t.Context(), "owner", r.Kind, r.ID, r.Rev); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(onPaper(t, gone), onPaper(t, see(shops[1]))); d != "" {
		t.Error(d)
	}
	if _, err = shops[0].Undo(t.Context(), "owner", r.Kind, r.ID, r.Rev); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(onPaper(t, worn), onPaper(t, see(shops[1]))); d != "" {
		t.Error(d)
	}
}

// A shelf that was lent out is the borrower's: what is done to its lists stays there.
func TestShelfIsLent(t *testing.T) {
	s := open(t)
	for range 2 {
		shelf, err := s.Shelf(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(onPaper(t, stock.Shelf()), onPaper(t, shelf)); d != "" {
			t.Fatal(d)
		}
		shelf.Cutters[0].Name = "mine"
		shelf.Media = append(shelf.Media[:1], shelf.Media[2:]...)
		shelf.Looks = nil
		shelf.Rates = fettle.Rates{}
	}
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			shelf, err := s.Shelf(t.Context())
			if err != nil {
				t.Error(err)
				return
			}
			shelf.Cutters[0].Name = "mine"
			shelf.Grits = append(shelf.Grits, shelf.Grits[0])
		})
	}
	all.Wait()
}

// asked is a queue that keeps what it is asked.
type asked struct{ fettle.Question }

func (a *asked) Ask(_ context.Context, q fettle.Question) (fettle.Task, error) {
	a.Question = q
	return fettle.Task{State: fettle.Waiting}, nil
}

// Learning is asked for anew after each reading and after a change of the shelf, and
// is of the log as it is when it is done.
func TestLearnsWhatIsThere(t *testing.T) {
	s := open(t)
	q := new(asked)
	s = s.Queued(q)
	run, err := s.StartRun(t.Context(), "hand", "", "", fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel"})
	if err != nil {
		t.Fatal(err)
	}
	keys := map[string]bool{}
	next := func(what string) {
		t.Helper()
		if q.Kind != fettle.TaskLearn || !q.Now || keys[q.Key] {
			t.Errorf("%s asks %+v", what, q.Question)
		}
		keys[q.Key] = true
	}
	read := func(atH, value float64) {
		t.Helper()
		if _, err := s.AddReading(t.Context(), "hand", "", run.ID, fettle.Reading{Kind: fettle.ReadRa, AtH: atH, Value: value}); err != nil {
			t.Fatal(err)
		}
	}
	read(0, 1.2)
	next("a reading")
	first := q.Question
	if _, err := s.AskLearn(t.Context(), "hand"); err != nil || q.Key != first.Key {
		t.Errorf("nothing changed, and it is asked anew (%v)", err)
	}
	read(8, 0.4)
	next("another reading")
	m, err := s.Named(t.Context(), fettle.KeptMedia, "ceramic-fine-5")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Alter(t.Context(), "owner", m); err != nil {
		t.Fatal(err)
	}
	if _, err := s.AskLearn(t.Context(), "hand"); err != nil {
		t.Fatal(err)
	}
	next("a change of the shelf")

	// The first question, answered only now, is answered by both readings.
	result, err := s.Handlers()[fettle.TaskLearn](t.Context(), first.Args, func(string, int, int) {})
	if err != nil {
		t.Fatal(err)
	}
	want, err := s.Learned(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	page, err := s.List(t.Context(), fettle.Query{Kind: fettle.KeptLearned, Limit: 1000})
	if err != nil || len(page.Records) == 0 || len(page.Records) != len(want.Parameters) {
		t.Fatalf("%d numbers kept of %d: %s, %v", len(page.Records), len(want.Parameters), result, err)
	}
	kept := map[string]string{}
	for _, r := range page.Records {
		kept[r.Name] = string(r.Body)
	}
	for _, p := range want.Parameters {
		found := false
		for _, b := range kept {
			var k fettle.Parameter
			if json.Unmarshal([]byte(b), &k) == nil && cmp.Equal(k, p) {
				found = true
			}
		}
		if !found {
			t.Errorf("%s of %s is not kept", p.Name, p.Media)
		}
	}
}
