package shop_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"fettle"

	"github.com/google/uuid"
)

// TestBench goes a job's way at the machine: what waits, what runs and when to look, what is
// next.
func TestBench(t *testing.T) {
	s, jobs := agreeable(t, 2)
	job := jobs[0]
	j := fettle.Job{Title: "Plate", Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 4}, State: fettle.JobAgreed, Due: "2026-04-10"}
	job.Body = body(t, j)
	job, err := s.Alter(t.Context(), "owner", job)
	if err != nil {
		t.Fatal(err)
	}
	day, err := s.Today(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(day.Jobs) != 2 || day.Jobs[0].ID != job.ID { // the other has no day
		t.Errorf("jobs: %+v", day.Jobs)
	}
	if len(day.Steps) != 1 || day.Steps[0].Number != 1 || day.Steps[0].Step != "tumble" || day.Steps[0].Load != 1 || day.Steps[0].Loads != 1 {
		t.Fatalf("steps: %+v", day.Steps)
	}

	// Begun five and a half hours ago by a phone that had no connection and gave the id.
	id := uuid.Must(uuid.NewV7()).String()
	began := noon.Add(-330 * time.Minute).UTC()
	if _, err := s.StartRun(t.Context(), "hand", "k1", job.ID, fettle.Run{ID: "7", Step: "tumble"}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("an id that is none: %v", err)
	}
	if _, err := s.StartRun(t.Context(), "hand", "k2", job.ID, fettle.Run{Step: "tumble", StepNumber: 2}); fettle.CodeOf(err) != fettle.NotFound {
		t.Errorf("a step at another place: %v", err)
	}
	for range 2 { // sent twice, because the first answer did not arrive
		r, err := s.StartRun(t.Context(), "hand", "k3", job.ID, fettle.Run{ID: id, Step: "tumble", StepNumber: 1, Started: began.Format(time.RFC3339)})
		if err != nil || r.ID != id {
			t.Fatalf("%s, %v", r.ID, err)
		}
	}
	if day, err = s.Today(t.Context()); err != nil {
		t.Fatal(err)
	}
	if len(day.Steps) != 0 || len(day.Running) != 1 {
		t.Fatalf("%+v", day)
	}
	n := day.Running[0]
	// The plan has it looked at after 6, 12 and 20 hours, and it takes 20.
	if n.Number != 1 || n.Job != job.ID || n.LookInH == nil || math.Abs(*n.LookInH-0.5) > 1e-9 || n.ToGoH == nil || math.Abs(n.ToGoH.Value-14.5) > 1e-9 {
		t.Errorf("%+v", n)
	}
	// A look just before its time counts for it; the next is after 12 hours. An earlier one
	// takes nothing back.
	for _, h := range []float64{5.9, 1} {
		if _, err := s.Looked(t.Context(), "hand", id, h); err != nil {
			t.Fatal(err)
		}
	}
	if day, err = s.Today(t.Context()); err != nil || len(day.Running) != 1 || math.Abs(*day.Running[0].LookInH-6.5) > 1e-9 {
		t.Errorf("%+v, %v", day, err)
	}
	if _, err := s.AddReading(t.Context(), "hand", "", id, fettle.Reading{Kind: fettle.ReadRa, AtH: 5.5, Value: 0.7}); err != nil {
		t.Fatal(err)
	}

	media := func() float64 {
		r, err := s.Named(t.Context(), fettle.KeptMedia, "ceramic-fine-5")
		if err != nil {
			t.Fatal(err)
		}
		var m fettle.Media
		if err := json.Unmarshal(r.Body, &m); err != nil {
			t.Fatal(err)
		}
		return m.HoursRun
	}
	before := media()
	over, err := s.EndRun(t.Context(), "hand", id, 0, noon)
	if err != nil {
		t.Fatal(err)
	}
	if got := media() - before; math.Abs(got-5.5) > 1e-9 {
		t.Errorf("%g hours on the media, of 5.5", got)
	}
	if _, err := s.EndRun(t.Context(), "hand", id, 0, noon.Add(time.Hour)); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("over at another hour: %v", err)
	}
	if over, err = s.ResumeRun(t.Context(), "hand", id, over.Rev); err != nil {
		t.Fatal(err)
	}
	if got := media(); got != before {
		t.Errorf("%g hours on the media that ran on, of %g", got, before)
	}
	if _, err := s.ResumeRun(t.Context(), "hand", id, over.Rev); fettle.CodeOf(err) != fettle.Conflict {
		t.Errorf("resumed twice: %v", err)
	}
	if _, err := s.EndRun(t.Context(), "hand", id, 6, noon); err != nil {
		t.Fatal(err)
	}

	if day, err = s.Today(t.Context()); err != nil || len(day.Steps) != 1 || day.Steps[0].Number != 2 || len(day.Running) != 0 {
		t.Errorf("%+v, %v", day, err)
	}
	steps, err := s.Steps(t.Context(), job.ID)
	if err != nil {
		t.Fatal(err)
	}
	if len(steps.Steps) != 2 || !steps.At.Equal(noon) || steps.Steps[0].Hours.Value != 20 || len(steps.Steps[0].LooksH) != 3 || steps.Steps[0].Pieces != 4 {
		t.Errorf("%+v", steps)
	}
	if len(steps.Runs) != 1 || steps.Runs[0].Number != 1 || len(steps.Runs[0].Readings) != 1 || steps.Runs[0].Readings[0].Body.Value != 0.7 || steps.Runs[0].Body.HoursRun != 6 {
		t.Errorf("%+v", steps.Runs)
	}
}

// TestOverdueLook is late by as much as the clock says, and a job whose answer is in waits
// for no word.
func TestOverdueLook(t *testing.T) {
	s, jobs := agreeable(t, 1)
	if _, err := s.StartRun(t.Context(), "hand", "", jobs[0].ID, fettle.Run{Step: "tumble", Started: noon.Add(-21 * time.Hour).UTC().Format(time.RFC3339)}); err != nil {
		t.Fatal(err)
	}
	offer, err := s.OfferJob(t.Context(), "owner", "", jobs[0].ID, "", "", "")
	if err != nil {
		t.Fatal(err)
	}
	day, err := s.Today(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	// It was never looked at: the first look, after 6 hours, is 15 hours late.
	if len(day.Running) != 1 || day.Running[0].LookInH == nil || math.Abs(*day.Running[0].LookInH+15) > 1e-9 {
		t.Errorf("%+v", day.Running)
	}
	if len(day.Waiting) != 1 || day.Waiting[0].Title == "" {
		t.Errorf("%+v", day.Waiting)
	}
	// Of the stonewash that the customer chose the plan keeps the steps too.
	if _, err := s.AnswerOffer(t.Context(), "owner", offer.ID, offer.Rev, fettle.Answer{Accepted: true, Look: "stonewash"}); err != nil {
		t.Fatal(err)
	}
	if steps, err := s.Steps(t.Context(), jobs[0].ID); err != nil || steps.Finish != "stonewash" {
		t.Errorf("%+v, %v", steps, err)
	}
	if day, err = s.Today(t.Context()); err != nil || len(day.Waiting) != 0 {
		t.Errorf("%+v, %v", day, err)
	}
}
