package store

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"fettle"
)

func TestMakeAlterDeleteUndo(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		r := made(t, s, fettle.KeptCustomer, "Harbour Clockworks")
		if r.Rev != 1 || !isID(r.ID) || r.By != "Anna" || r.Made.IsZero() || !r.Made.Equal(r.Changed) {
			t.Fatalf("made %+v", r)
		}
		got := must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID))
		if d := cmp.Diff(r, got); d != "" {
			t.Fatal(d)
		}
		r.Body = body(2)
		r2 := must[fettle.Record](t)(one(s, fettle.Alter, r))
		r3 := must[fettle.Record](t)(one(s, fettle.Delete, r2))
		if r3.Deleted == nil || r3.Rev != 3 {
			t.Fatalf("deleted %+v", r3)
		}
		r4 := must[fettle.Record](t)(one(s, fettle.Undo, r3))
		if r4.Deleted != nil || string(r4.Body) != `{"n":2}` {
			t.Fatalf("undone %+v", r4)
		}
		all := must[[]fettle.Record](t)(s.History(ctx, r.Kind, r.ID))
		if d := cmp.Diff([]fettle.Record{got, r2, r3, r4}, all); d != "" {
			t.Fatal(d)
		}
	})
}
