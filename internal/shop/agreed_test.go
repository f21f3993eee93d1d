package shop_test

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/png"
	"strings"
	"sync"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/shop"
	"fettle/internal/trade/stock"
)

// plated is a plan of a plate with one charge, by hand.
func plated(t *testing.T, look string) *fettle.Plan {
	t.Helper()
	shelf := stock.Shelf()
	l, err := shelf.Look(look)
	if err != nil {
		t.Fatal(err)
	}
	m, err := shelf.Material("naval brass")
	if err != nil {
		t.Fatal(err)
	}
	sure := func(v float64) fettle.Estimate { return fettle.Exactly(v, "agreed") }
	usd := func(v float64) fettle.Cost { return fettle.CostOf(sure(v), "USD") }
	none := sure(0)
	charge := &fettle.Charge{Vessel: "wet barrel", Media: "ceramic-fine-5", Loads: 1, PartsPerLoad: 4, Hours: sure(20), FirstLookH: 6, LooksH: []float64{6, 12, 20}}
	p := &fettle.Plan{
		Title: "Plate", Brief: fettle.Brief{Material: m.Name, Finish: look, Lot: 4, Shop: "Tern Lane Small Metals", Contact: "hello@example.org"},
		Material: m, Look: l, Meets: true, Mill: shelf.Machines[0],
		Survey: fettle.Survey{File: "plate.stl", SHA256: strings.Repeat("ab", 32), SizeMM: [3]float64{40, 60, 7}, Openings: []fettle.Opening{}},
		Zones:  []fettle.Zone{{ID: "show", Name: "show face", Class: fettle.Show, AreaMM2: 2000}},
		Route: fettle.Route{
			{Key: "tumble", Name: "Tumble", Kind: fettle.StepTumble, Zone: "show", MinutesAttended: sure(20), MinutesAlone: sure(1200), RaUM: l.RaUM, Charge: charge, Cost: usd(5)},
			{Key: "inspect", Name: "Inspect", Kind: fettle.StepInspect, Zone: "show", MinutesAttended: sure(10), MinutesAlone: none, RaUM: l.RaUM, Cost: usd(5)},
		},
		Charges: []fettle.Charge{*charge},
	}
	p.Price = fettle.Price{Currency: "USD", LotPrice: fettle.LotPrice{Lot: 4, Cost: usd(80), Price: usd(100), Each: usd(25), Lines: []fettle.PriceLine{}}}
	p.Offers = []fettle.Offer{{Look: look, Title: l.Title, Asked: true, Each: usd(25), Meets: true}}
	return p
}

// agreeable is a shop with jobs that have been planned: satin, and stonewash beside it.
func agreeable(t *testing.T, jobs int) (*shop.Shop, []fettle.Record) {
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
	put := func(data []byte) string {
		b, err := st.PutBlob(t.Context(), bytes.NewReader(data), 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		return b.SHA256
	}
	satin, stonewash := plated(t, "satin"), plated(t, "stonewash")
	satin.Offers = append(satin.Offers, fettle.Offer{Look: "stonewash", Title: "Stonewashed", Each: stonewash.Price.Each, Meets: true})
	var pic bytes.Buffer
	if err := png.Encode(&pic, image.NewGray(image.Rect(0, 0, 300, 200))); err != nil {
		t.Fatal(err)
	}
	files := map[string]string{
		"plan": put(body(t, satin)), "sheet/others/stonewash.json": put(body(t, stonewash)),
		"sheet/pictures/finish-satin.png": put(pic.Bytes()), "sheet/pictures/part.png": put(pic.Bytes()),
	}
	make := func(r fettle.Record) fettle.Record {
		t.Helper()
		r, err := s.Make(t.Context(), "owner", "", r)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	part := make(fettle.Record{Kind: fettle.KeptPart, Body: body(t, fettle.Part{Name: "plate"})})
	model, err := s.AddFile(t.Context(), "owner", "", part.ID, "plate.stl", strings.NewReader("one"))
	if err != nil {
		t.Fatal(err)
	}
	var out []fettle.Record
	for i := range jobs {
		job := make(fettle.Record{Kind: fettle.KeptJob, Body: body(t, fettle.Job{Title: fmt.Sprintf("plate %d", i), Brief: satin.Brief})})
		make(fettle.Record{
			Kind: fettle.KeptPlan, Name: fmt.Sprintf("plan %d", i), Links: map[string]string{"job": job.ID, "file": model.ID}, Files: files,
			Body: body(t, fettle.PlanSheet{From: fettle.PlanInputs{Paper: "A4"}}),
		})
		out = append(out, job)
	}
	return s, out
}

// An offer goes out with a page and a paper; the word that comes back settles the
// finish, what is right, and the day, all by the plan of the finish that was chosen.
func TestTheCustomersWord(t *testing.T) {
	s, jobs := agreeable(t, 1)
	job := jobs[0]
	offer, err := s.OfferJob(t.Context(), "owner", "", job.ID, "", "Two to choose from.", "")
	if err != nil {
		t.Fatal(err)
	}
	page, err := s.OfferFile(t.Context(), offer.ID, "page")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Tern Lane Small Metals", "Satin", "Stonewashed", "Two to choose from.", "April 2026"} {
		if !bytes.Contains(page, []byte(want)) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if pdf, err := s.OfferFile(t.Context(), offer.ID, "paper"); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("the paper: %.20q, %v", pdf, err)
	}

	run, err := s.Make(t.Context(), "hand", "", fettle.Record{Kind: fettle.KeptRun, Body: body(t, fettle.Run{
		Day: "2026-03-30", Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel", AreaMM2: 5000,
	})})
	if err != nil {
		t.Fatal(err)
	}
	for _, ra := range []float64{0.50, 0.55, 0.60} {
		if _, err := s.AddReading(t.Context(), "hand", "", run.ID, fettle.Reading{Kind: fettle.ReadRa, AtH: 20, Value: ra}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.AnswerOffer(t.Context(), "owner", offer.ID, offer.Rev, fettle.Answer{Accepted: true, Look: "stonewash", Sample: "no such run"}); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a sample of no run: %v", err)
	}
	if _, err := s.AnswerOffer(t.Context(), "owner", offer.ID, offer.Rev, fettle.Answer{Accepted: true, Look: "stonewash", Sample: run.ID}); err != nil {
		t.Fatal(err)
	}
	story, err := s.JobStory(t.Context(), job.ID)
	if err != nil {
		t.Fatal(err)
	}
	j := story.Body
	if j.State != fettle.JobAgreed || j.Brief.Finish != "stonewash" {
		t.Errorf("the job is %s, for %s", j.State, j.Brief.Finish)
	}
	if j.Acceptance == nil || j.Acceptance.Sample != run.ID || len(j.Acceptance.Limits) == 0 || j.Acceptance.Look != "stonewash" {
		t.Fatalf("what is right: %+v", j.Acceptance)
	}
	ra := j.Acceptance.Limits[0]
	if ra.Kind != fettle.ReadRa || ra.N != 3 || ra.Low == nil || ra.High == nil || !(*ra.Low < 0.5 && 0.6 < *ra.High) {
		t.Errorf("Ra: %+v", ra)
	}
	p, _, err := s.Promised(t.Context(), job.ID)
	if err != nil {
		t.Fatal(err)
	}
	if j.Due != p.Day || !p.Safe.After(noon) {
		t.Errorf("due %s, promised %s, safe %s", j.Due, p.Day, p.Safe)
	}
	if ics, err := s.Calendar(t.Context(), job.ID); err != nil || !bytes.HasPrefix(ics, []byte("BEGIN:VCALENDAR\r\n")) {
		t.Errorf("the calendar: %.30q, %v", ics, err)
	}
	if pdf, err := s.FirstArticlePaper(t.Context(), job.ID, shop.Papers{Size: "Letter"}); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("the first article's paper: %.20q, %v", pdf, err)
	}
}

// The word is kept where the finish that was chosen has no plan of its own, as with
// offers that were made before such plans were kept.
func TestAnswerWithoutAPlan(t *testing.T) {
	s, jobs := agreeable(t, 1)
	offer, err := s.Make(t.Context(), "owner", "", fettle.Record{
		Kind: fettle.KeptOffer, Links: map[string]string{"job": jobs[0].ID},
		Body: body(t, fettle.Proposal{Offers: []fettle.Offer{{Look: "bright", Title: "Bright"}}}),
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AnswerOffer(t.Context(), "owner", offer.ID, offer.Rev, fettle.Answer{Accepted: true, Look: "bright"}); err != nil {
		t.Fatal(err)
	}
	story, err := s.JobStory(t.Context(), jobs[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	if j := story.Body; j.State != fettle.JobAgreed || j.Brief.Finish != "bright" || j.Acceptance != nil {
		t.Errorf("the job is %s, for %s, held to %+v", j.State, j.Brief.Finish, j.Acceptance)
	}
	if _, err := s.OfferFile(t.Context(), offer.ID, "page"); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a page that never was: %v", err)
	}
}

// A finish that cannot be met is not offered.
func TestNothingToOffer(t *testing.T) {
	s := open(t)
	job, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: fettle.KeptJob, Body: body(t, fettle.Job{Title: "plate", Brief: plated(t, "satin").Brief})})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.OfferJob(t.Context(), "owner", "", job.ID, "", "", ""); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a job without a plan: %v", err)
	}
	if _, _, err := s.KeepPromise(t.Context(), "owner", job.ID, time.Time{}, true); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a promise without a plan: %v", err)
	}
	if _, _, err := s.CheckLot(t.Context(), "owner", job.ID, 0, 0); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a lot looked at before anything was settled: %v", err)
	}
}

// Jobs promised at one time, by several people, do not take one barrel twice; a job
// that is over gives its times back.
func TestNoBarrelTwice(t *testing.T) {
	const n = 6
	s, jobs := agreeable(t, n)
	var wg sync.WaitGroup
	errs := make([]error, n)
	for i, j := range jobs {
		wg.Go(func() { _, _, errs[i] = s.KeepPromise(context.Background(), "owner", j.ID, time.Time{}, true) })
	}
	wg.Wait()
	var taken []fettle.Booking
	var days []time.Time
	for i, j := range jobs {
		if errs[i] != nil {
			t.Fatal(errs[i])
		}
		p, _, err := s.Promised(t.Context(), j.ID)
		if err != nil {
			t.Fatal(err)
		}
		days = append(days, p.Safe)
		for _, b := range p.Bookings {
			for _, o := range taken {
				if b.Resource == o.Resource && b.Number == o.Number && b.From.Before(o.To) && o.From.Before(b.To) {
					t.Errorf("%s is taken by %s %s to %s and by %s %s to %s", b.Resource, o.Title, o.From, o.To, b.Title, b.From, b.To)
				}
			}
		}
		taken = append(taken, p.Bookings...)
	}
	if len(taken) < 2*n {
		t.Fatalf("%d bookings of %d jobs", len(taken), n)
	}
	last := 0
	for i := range days {
		if days[i].After(days[last]) {
			last = i
		}
	}
	for i, j := range jobs {
		if i == last {
			continue
		}
		r, err := s.Get(t.Context(), fettle.KeptJob, j.ID)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.SetJobState(t.Context(), "owner", r, fettle.JobShipped); err != nil {
			t.Fatal(err)
		}
	}
	_, p, err := s.KeepPromise(t.Context(), "owner", jobs[last].ID, time.Time{}, true)
	if err != nil {
		t.Fatal(err)
	}
	if !p.Safe.Before(days[last]) {
		t.Errorf("with the shop empty it is ready on %s, and was on %s", p.Safe, days[last])
	}
	// A job that comes back has to be promised again.
	over := jobs[(last+1)%n]
	r, err := s.Get(t.Context(), fettle.KeptJob, over.ID)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.SetJobState(t.Context(), "owner", r, fettle.JobAgreed); err != nil {
		t.Fatal(err)
	}
	if p, _, err := s.Promised(t.Context(), over.ID); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("the job that came back is promised: %v, %v", p, err)
	}
	promises, err := s.List(t.Context(), fettle.Query{Kind: fettle.KeptPromise, Limit: 100})
	if err != nil || len(promises.Records) != 1 {
		t.Fatalf("%d promises stand for the one job that is open, %v", len(promises.Records), err)
	}
	kept := promises.Records[0]
	gone, err := s.Delete(t.Context(), "owner", kept.Kind, kept.ID, kept.Rev)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Undo(t.Context(), "owner", kept.Kind, kept.ID, gone.Rev); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("a promise was brought back: %v", err)
	}
}

// The first article and the lot are looked at by what was agreed.
func TestFirstArticleAndLot(t *testing.T) {
	s, jobs := agreeable(t, 1)
	id := jobs[0].ID
	_, acc, err := s.Accept(t.Context(), "owner", id, shop.Sampled{})
	if err != nil {
		t.Fatal(err)
	}
	if len(acc.First) == 0 || acc.Sampling.Size != 4 || !acc.Sampling.All { // a lot of four is looked at whole
		t.Fatalf("%+v", acc)
	}
	line := acc.First[0]
	if _, acc, err = s.FirstArticle(t.Context(), "hand", id, line.Number, 40.01); err != nil {
		t.Fatal(err)
	}
	if m := acc.First[0].Measured; m == nil || *m != 40.01 {
		t.Errorf("measured %v", m)
	}
	if _, _, err := s.FirstArticle(t.Context(), "hand", id, 999, 1); err == nil {
		t.Error("a line that is not there was measured")
	}
	for _, bad := range [][2]int{{2, 0}, {9, 0}, {4, 5}, {4, -1}} {
		if _, _, err := s.CheckLot(t.Context(), "hand", id, bad[0], bad[1]); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%d looked at, %d bad: %v", bad[0], bad[1], err)
		}
	}
	_, c, err := s.CheckLot(t.Context(), "hand", id, 0, 0)
	if err != nil || !c.Taken || c.Looked != 4 {
		t.Errorf("a good lot: %+v, %v", c, err)
	}
	_, c, err = s.CheckLot(t.Context(), "hand", id, 4, 1)
	if err != nil || c.Taken {
		t.Errorf("a lot with a bad piece of four: %+v, %v", c, err)
	}
	story, err := s.JobStory(t.Context(), id)
	if err != nil || len(story.Body.Checks) != 2 {
		t.Errorf("%d checks are kept, %v", len(story.Body.Checks), err)
	}
}

// A finding that is sent twice under one key, because the answer to the first was lost,
// is one look; under another key it is another.
func TestLotIsCheckedOnce(t *testing.T) {
	s, jobs := agreeable(t, 1)
	id := jobs[0].ID
	if _, _, err := s.Accept(t.Context(), "owner", id, shop.Sampled{}); err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"one", "one", "two", "one"} {
		_, c, err := s.CheckLotOnce(t.Context(), "hand", key, id, 4, 1)
		if err != nil || c.Taken || c.Again != (key == "two") {
			t.Errorf("under %q: %+v, %v", key, c, err)
		}
	}
	if _, _, err := s.CheckLotOnce(t.Context(), "hand", "one", id, 4, 0); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("another finding under the same key: %v", err)
	}
	story, err := s.JobStory(t.Context(), id)
	if err != nil || len(story.Body.Checks) != 2 {
		t.Errorf("%d checks are kept, %v", len(story.Body.Checks), err)
	}
}

// Two refused lots of a part have the next looked at more severely (ISO 2859-1:1999,
// 9.3.1); looking at one lot again does not count.
func TestRefusedLotsTighten(t *testing.T) {
	s, jobs := agreeable(t, 3)
	part, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: fettle.KeptPart, Body: body(t, fettle.Part{Name: "plate"})})
	if err != nil {
		t.Fatal(err)
	}
	accept := func(i int) string {
		t.Helper()
		r, err := s.Get(t.Context(), fettle.KeptJob, jobs[i].ID)
		if err != nil {
			t.Fatal(err)
		}
		if r.Links["part"] == "" {
			r.Links = map[string]string{"part": part.ID}
			if _, err := s.Alter(t.Context(), "owner", r); err != nil {
				t.Fatal(err)
			}
		}
		_, acc, err := s.Accept(t.Context(), "owner", jobs[i].ID, shop.Sampled{})
		if err != nil {
			t.Fatal(err)
		}
		return acc.Sampling.Severity
	}
	refuse := func(i int) {
		t.Helper()
		for range 2 {
			if _, c, err := s.CheckLot(t.Context(), "hand", jobs[i].ID, 0, 3); err != nil || c.Taken {
				t.Fatalf("%+v, %v", c, err)
			}
		}
	}
	if got := accept(0); got != "normal" {
		t.Errorf("the first lot is looked at under %s inspection", got)
	}
	refuse(0)
	if got := accept(1); got != "normal" {
		t.Errorf("after one refused lot it is %s inspection", got)
	}
	refuse(1)
	if got := accept(2); got != "tightened" {
		t.Errorf("after two refused lots it is %s inspection", got)
	}
}
