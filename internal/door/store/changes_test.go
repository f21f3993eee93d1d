package store

import (
	"testing"

	"fettle"
)

// TestChanges makes every kind of change and wants each to show, and nothing else.
func TestChanges(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		now := func() string { return must[string](t)(s.Changes(ctx, fettle.KeptLook, fettle.KeptMedia)) }
		seen := map[string]string{}
		shows := func(what string) {
			t.Helper()
			if before, again := seen[now()]; again {
				t.Errorf("after %s it says what it said after %s", what, before)
			}
			seen[now()] = what
		}
		shows("nothing")
		r := made(t, s, fettle.KeptLook, "satin")
		shows("making")
		for _, act := range []fettle.Act{fettle.Alter, fettle.Delete, fettle.Undo, fettle.Undo} {
			r = must[fettle.Record](t)(one(s, act, r))
			shows(string(act))
		}
		made(t, s, fettle.KeptMedia, "cones")
		shows("making another kind")
		was := now()
		made(t, s, fettle.KeptJob, "plates")
		stale := r
		stale.Rev--
		if _, err := one(s, fettle.Alter, stale); fettle.CodeOf(err) != fettle.Conflict {
			t.Errorf("a stale change: %v", err)
		}
		if now() != was {
			t.Errorf("nothing of these kinds changed, and it says %s after %s", now(), was)
		}
		if _, err := s.Changes(ctx, "ghost"); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("an unknown kind: %v", err)
		}
	})
}

func BenchmarkChanges(b *testing.B) {
	benchBoth(b, func(b *testing.B, s *Store) {
		e := fettle.Edit{By: "Anna"}
		for range 150 {
			e.Changes = append(e.Changes, fettle.Change{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPart, Body: jobBody}})
		}
		must[[]fettle.Record](b)(s.Apply(ctx, e))
		for b.Loop() {
			must[string](b)(s.Changes(ctx, fettle.ShelfKinds()...))
			must[string](b)(s.Changes(ctx, fettle.KeptPart))
		}
	})
}
