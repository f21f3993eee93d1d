package shop_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/shop"
)

// Who lost the answer asks again with the same key, some time later: the first answer
// comes back, whatever the clock and the books say by then.
func TestAskedAgainLater(t *testing.T) {
	st, err := store.Open(t.Context(), store.Options{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { st.Close() })
	now := noon
	s := shop.New(shop.Options{Store: st, Program: "test", Now: func() time.Time { return now }})
	if err := s.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	make := func(kind fettle.RecordKind, v any) fettle.Record {
		t.Helper()
		r, err := s.Make(t.Context(), "owner", "", fettle.Record{Kind: kind, Body: body(t, v)})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	job := make(fettle.KeptJob, fettle.Job{Title: "plate", Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 4}})
	part := make(fettle.KeptPart, fettle.Part{Name: "plate"})

	run := fettle.Run{Kind: fettle.StepTumble, Material: "naval brass", Media: "ceramic-fine-5", Vessel: "wet barrel"}
	first, err := s.StartRun(t.Context(), "hand", "run 1", job.ID, run)
	if err != nil {
		t.Fatal(err)
	}
	file, err := s.AddFile(t.Context(), "owner", "file 1", part.ID, "plate.stl", strings.NewReader("one"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Delete(t.Context(), "owner", fettle.KeptFile, file.ID, file.Rev); err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddFile(t.Context(), "owner", "", part.ID, "plate.stl", strings.NewReader("two")); err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddFile(t.Context(), "owner", "", part.ID, "plate.stl", strings.NewReader("three")); err != nil {
		t.Fatal(err)
	}

	// A plan, with the one finish that the customer is offered.
	plan, err := st.PutBlob(t.Context(), bytes.NewReader(body(t, plated(t, "satin"))), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	model, err := s.AddFile(t.Context(), "owner", "", part.ID, "last.stl", strings.NewReader("four"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Make(t.Context(), "owner", "", fettle.Record{
		Kind: fettle.KeptPlan, Name: "plan", Links: map[string]string{"job": job.ID, "file": model.ID}, Files: map[string]string{"plan": plan.SHA256}, Body: body(t, fettle.PlanSheet{}),
	}); err != nil {
		t.Fatal(err)
	}
	offer, err := s.OfferJob(t.Context(), "owner", "offer 1", job.ID, "", "as agreed", "")
	if err != nil {
		t.Fatal(err)
	}

	now = noon.Add(26 * time.Hour)
	if again, err := s.StartRun(t.Context(), "hand", "run 1", job.ID, run); err != nil || again.ID != first.ID {
		t.Errorf("a run begun again: %s, %v; want %s", again.ID, err, first.ID)
	}
	if again, err := s.AddFile(t.Context(), "owner", "file 1", part.ID, "plate.stl", strings.NewReader("one")); err != nil || again.ID != file.ID {
		t.Errorf("a file sent again: %s, %v; want %s", again.ID, err, file.ID)
	}
	// The job waits for an answer by now, and it is another day.
	if again, err := s.OfferJob(t.Context(), "owner", "offer 1", job.ID, "", "as agreed", ""); err != nil || again.ID != offer.ID {
		t.Errorf("offered again: %s, %v; want %s", again.ID, err, offer.ID)
	}
	run.Notes = "another"
	if _, err := s.StartRun(t.Context(), "hand", "run 1", job.ID, run); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("another run with the same key: %v", err)
	}
}
