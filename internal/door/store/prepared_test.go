package store

import (
	"context"
	"errors"
	"testing"

	"fettle"
)

// TestManyTexts asks more different questions than are kept ready, from many sides and
// twice, and has each answered; who gave up leaves nothing behind.
func TestManyTexts(t *testing.T) {
	s := place{Options{Dir: t.TempDir()}}.open(t)
	e := fettle.Edit{By: "Anna"}
	for range mostPrepared + 50 {
		e.Changes = append(e.Changes, fettle.Change{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPart, Body: body(1)}})
	}
	must[[]fettle.Record](t)(s.Apply(ctx, e))
	gone, cancel := context.WithCancel(ctx)
	cancel()
	for range 2 {
		crowd(8, func(i int) {
			for n := i + 1; n <= len(e.Changes); n += 8 {
				q := fettle.Query{Kind: fettle.KeptPart, Limit: n}
				if page, err := s.List(ctx, q); err != nil || len(page.Records) != n {
					t.Errorf("%d of %d records, %v", len(page.Records), n, err)
				}
				if _, err := s.List(gone, q); !errors.Is(err, context.Canceled) {
					t.Errorf("given up: %v", err)
				}
			}
		})
	}
	if kept := len(s.ask.(*prepared).ask); kept < 100 || kept > mostPrepared+8 {
		t.Errorf("%d texts are kept ready", kept)
	}
	// What is kept ready holds no old view: a change shows at once.
	r := made(t, s, fettle.KeptJob, "plates")
	for range 20 {
		v := must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID))
		if v.Rev != r.Rev {
			t.Fatalf("revision %d, want %d", v.Rev, r.Rev)
		}
		r = must[fettle.Record](t)(one(s, fettle.Alter, v))
	}
}
