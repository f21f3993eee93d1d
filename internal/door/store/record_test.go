package store

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fettle"
)

func TestMakeAlterDeleteUndo(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		r := made(t, s, fettle.KeptCustomer, "Harbour Clockworks")
		if r.Rev != 1 || !isID(r.ID) || r.By != "Anna" || r.Made.IsZero() || !r.Made.Equal(r.Changed) {
			t.Fatalf("made %+v", r)
		}
		same(t, r, must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID)))
		alter := r
		alter.Name, alter.Body = "Harbour Clocks", body(2)
		r2 := must[fettle.Record](t)(one(s, fettle.Alter, alter))
		if r2.Rev != 2 || r2.Name != "Harbour Clocks" || !r2.Made.Equal(r.Made) || r2.Changed.Before(r.Changed) {
			t.Fatalf("altered %+v", r2)
		}
		r3 := must[fettle.Record](t)(one(s, fettle.Delete, r2))
		if r3.Deleted == nil || r3.Rev != 3 {
			t.Fatalf("deleted %+v", r3)
		}
		same(t, r3, must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID)))
		r4 := must[fettle.Record](t)(one(s, fettle.Undo, r3))
		if r4.Deleted != nil || string(r4.Body) != `{"n":2}` {
			t.Fatalf("undone %+v", r4)
		}
		same(t, []fettle.Record{r, r2, r3, r4}, must[[]fettle.Record](t)(s.History(ctx, r.Kind, r.ID)))
	})
}

func TestUndoWalksBack(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		r := made(t, s, fettle.KeptPart, "a")
		do := func(act fettle.Act, name string) {
			t.Helper()
			v := r
			v.Name = name
			r = must[fettle.Record](t)(one(s, act, v))
			if r.Name != name || (r.Deleted != nil) != (act == fettle.Delete) {
				t.Fatalf("after %s the name is %q, deleted %v; want %q", act, r.Name, r.Deleted, name)
			}
		}
		no := func() {
			t.Helper()
			_, err := one(s, fettle.Undo, r)
			wants(t, err, fettle.Conflict)
			says(t, err, "nothing to go back to")
		}
		no()
		do(fettle.Alter, "b")
		do(fettle.Alter, "c")
		do(fettle.Undo, "b")
		do(fettle.Undo, "a") // not c again
		no()
		do(fettle.Alter, "d")
		do(fettle.Alter, "e")
		do(fettle.Delete, "e")
		do(fettle.Undo, "e") // back from deletion
		do(fettle.Undo, "d")
		do(fettle.Alter, "f")
		do(fettle.Undo, "d")
		do(fettle.Undo, "a") // b and c were undone before d was written
		no()
		do(fettle.Delete, "a")
		do(fettle.Undo, "a")
		no()
		if n := len(must[[]fettle.Record](t)(s.History(ctx, r.Kind, r.ID))); int64(n) != r.Rev || n != 15 {
			t.Errorf("%d revisions, the last is %d", n, r.Rev)
		}
	})
}

func TestLinksAndFiles(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		customer := made(t, s, fettle.KeptCustomer, "Harbour Clockworks")
		other := made(t, s, fettle.KeptCustomer, "Quay Instruments")
		blob := must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("solid plate"), 100))
		job := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{
			Kind: fettle.KeptJob, Name: "escutcheons",
			Links: map[string]string{"customer": customer.ID}, Files: map[string]string{"model": blob.SHA256},
		}))
		same(t, job, must[fettle.Record](t)(s.Get(ctx, job.Kind, job.ID)))
		finds := func(q fettle.Query, want ...fettle.Record) {
			t.Helper()
			q.Kind = fettle.KeptJob
			same(t, want, must[fettle.RecordPage](t)(s.List(ctx, q)).Records)
		}
		finds(fettle.Query{Role: "customer", Target: customer.ID}, job)
		finds(fettle.Query{Target: customer.ID}, job)
		finds(fettle.Query{Role: "customer"}, job)
		finds(fettle.Query{Role: "plan", Target: customer.ID})
		finds(fettle.Query{Role: "customer", Target: other.ID})

		// The customer goes; what leads to him stays, and can still be changed.
		customer = must[fettle.Record](t)(one(s, fettle.Delete, customer))
		job.Body = body(1)
		job = must[fettle.Record](t)(one(s, fettle.Alter, job))
		finds(fettle.Query{Target: customer.ID}, job)

		// But nothing new may lead to him, nor come back to him.
		_, err := one(s, fettle.Make, fettle.Record{Kind: fettle.KeptJob, Name: "n", Links: map[string]string{"customer": customer.ID}})
		wants(t, err, fettle.Conflict)
		says(t, err, "links.customer", `"Harbour Clockworks"`, "deleted by Anna")
		job = must[fettle.Record](t)(one(s, fettle.Delete, job))
		_, err = one(s, fettle.Undo, job)
		wants(t, err, fettle.Conflict)
		says(t, err, `"Harbour Clockworks"`)
		// Together they come back, in either order.
		out := must[[]fettle.Record](t)(s.Apply(ctx, fettle.Edit{By: "Ben", Changes: []fettle.Change{
			{Act: fettle.Undo, Record: job}, {Act: fettle.Undo, Record: customer},
		}}))
		job = out[0]
		if job.By != "Ben" || out[1].Deleted != nil || out[1].ID != customer.ID {
			t.Fatalf("%+v", out)
		}
		// Led to another, it is found there and no longer here.
		job.Links = map[string]string{"customer": other.ID}
		job.Files = nil
		job = must[fettle.Record](t)(one(s, fettle.Alter, job))
		finds(fettle.Query{Target: customer.ID})
		finds(fettle.Query{Target: other.ID}, job)
		// And undo takes links and files back too.
		job = must[fettle.Record](t)(one(s, fettle.Undo, job))
		if job.Files["model"] != blob.SHA256 {
			t.Errorf("files %v", job.Files)
		}
		finds(fettle.Query{Target: customer.ID}, job)
	})
}

func TestMadeTogether(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		a, b := must[string](t)(newID()), must[string](t)(newID())
		// The first leads to the second, which is made after it and then altered.
		out := must[[]fettle.Record](t)(s.Apply(ctx, fettle.Edit{By: "Anna", Changes: []fettle.Change{
			{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptJob, ID: a, Body: body(1), Links: map[string]string{"plan": b}}},
			{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPlan, ID: b, Body: body(2), Links: map[string]string{"job": a}}},
			{Act: fettle.Alter, Record: fettle.Record{Kind: fettle.KeptPlan, ID: b, Rev: 1, Body: body(3)}},
		}}))
		if len(out) != 3 || string(out[1].Body) != `{"n":2}` || string(out[2].Body) != `{"n":3}` || out[2].Rev != 2 || out[1].Links["job"] != a {
			t.Fatalf("%+v", out)
		}
		same(t, out[2], must[fettle.Record](t)(s.Get(ctx, fettle.KeptPlan, b)))
		same(t, out[1:], must[[]fettle.Record](t)(s.History(ctx, fettle.KeptPlan, b)))
		// All or nothing: the second change is refused.
		_, err := s.Apply(ctx, fettle.Edit{By: "Anna", Changes: []fettle.Change{
			{Act: fettle.Alter, Record: fettle.Record{Kind: fettle.KeptJob, ID: a, Rev: 1, Name: "new", Body: body(9)}},
			{Act: fettle.Delete, Record: fettle.Record{Kind: fettle.KeptPlan, ID: b, Rev: 1}},
		}})
		wants(t, err, fettle.Conflict)
		same(t, out[0], must[fettle.Record](t)(s.Get(ctx, fettle.KeptJob, a)))
		// An id that is taken.
		_, err = one(s, fettle.Make, fettle.Record{Kind: fettle.KeptPart, ID: a})
		wants(t, err, fettle.Conflict)
	})
}

func TestNames(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		satin := made(t, s, fettle.KeptLook, "Long Satin")
		same(t, satin, must[fettle.Record](t)(s.Named(ctx, fettle.KeptLook, "long-SATIN")))
		_, err := one(s, fettle.Make, fettle.Record{Kind: fettle.KeptLook, Name: "longsatin"})
		wants(t, err, fettle.Conflict)
		says(t, err, `there is a look named "Long Satin" already`)
		made(t, s, fettle.KeptMop, "Long Satin") // another kind
		bright := made(t, s, fettle.KeptLook, "Bright")
		bright.Name = "LONG_SATIN"
		_, err = one(s, fettle.Alter, bright)
		wants(t, err, fettle.Conflict)
		satin = must[fettle.Record](t)(one(s, fettle.Delete, satin))
		if _, err := s.Named(ctx, fettle.KeptLook, "Long Satin"); fettle.CodeOf(err) != fettle.NotFound {
			t.Fatalf("a deleted look is found: %v", err)
		}
		bright = must[fettle.Record](t)(one(s, fettle.Alter, bright)) // now it is free
		_, err = one(s, fettle.Undo, satin)
		wants(t, err, fettle.Conflict)
		says(t, err, `another look named "LONG_SATIN" by now`)
		bright = must[fettle.Record](t)(one(s, fettle.Undo, bright))
		if bright.Name != "Bright" {
			t.Fatalf("undone to %q", bright.Name)
		}
		must[fettle.Record](t)(one(s, fettle.Undo, satin))
		// Names change hands within one edit, in its order.
		must[[]fettle.Record](t)(s.Apply(ctx, fettle.Edit{Changes: []fettle.Change{
			{Act: fettle.Delete, Record: bright},
			{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptLook, Name: "bright", Body: body(1)}},
		}}))
		// Customers may have one name.
		a, b := made(t, s, fettle.KeptCustomer, "Quay"), made(t, s, fettle.KeptCustomer, "quay")
		same(t, []fettle.Record{a, b}, must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptCustomer, Name: "QUAY"})).Records)
		_, err = s.Named(ctx, fettle.KeptCustomer, "quay")
		wants(t, err, fettle.Invalid)
	})
}

func TestKeys(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		e := fettle.Edit{By: "Anna", Key: "form 7", Changes: []fettle.Change{{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptCustomer, Name: "Quay", Body: json.RawMessage(`{ "a": 1 }`)}}}}
		first := must[[]fettle.Record](t)(s.Apply(ctx, e))
		later := first[0]
		later.Name = "Quay Instruments"
		must[fettle.Record](t)(one(s, fettle.Alter, later))
		// The same question in other spacing: the same answer, as it was then.
		e.Changes[0].Record.Body = json.RawMessage(`{"a":1}`)
		same(t, first, must[[]fettle.Record](t)(s.Apply(ctx, e)))
		if n := len(must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptCustomer})).Records); n != 1 {
			t.Fatalf("%d customers", n)
		}
		e.Changes[0].Record.Name = "Pier"
		_, err := s.Apply(ctx, e)
		wants(t, err, fettle.Conflict)
		says(t, err, `"form 7"`, "another edit")
		// An edit that was refused did not use up its key.
		stale := fettle.Edit{By: "Anna", Key: "form 8", Changes: []fettle.Change{{Act: fettle.Delete, Record: first[0]}}}
		_, err = s.Apply(ctx, stale)
		wants(t, err, fettle.Conflict)
		stale.Changes[0].Record.Rev = 2
		gone := must[[]fettle.Record](t)(s.Apply(ctx, stale))
		same(t, gone, must[[]fettle.Record](t)(s.Apply(ctx, stale)))
	})
}

func TestPages(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		const n = 230
		e := fettle.Edit{By: "Anna"}
		for i := range n {
			e.Changes = append(e.Changes, fettle.Change{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptReading, Body: body(i)}})
		}
		all := must[[]fettle.Record](t)(s.Apply(ctx, e))
		if !slices.IsSortedFunc(all, byID) {
			t.Fatal("ids do not rise")
		}
		for _, newest := range []bool{false, true} {
			for _, limit := range []int{0, 1, 46, 230, 1000} {
				if limit == 1 && testing.Short() {
					continue
				}
				t.Run(fmt.Sprint(newest, limit), func(t *testing.T) {
					q := fettle.Query{Kind: fettle.KeptReading, Newest: newest, Limit: limit}
					var got []fettle.Record
					pages := 0
					var beside sync.WaitGroup
					for {
						page := must[fettle.RecordPage](t)(s.List(ctx, q))
						pages++
						got = append(got, page.Records...)
						if page.Next == "" {
							break
						}
						q.After = page.Next
						if pages < 4 { // others go on working
							beside.Go(func() {
								made := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptReading, Name: "later"}))
								must[fettle.Record](t)(one(s, fettle.Delete, made))
							})
						}
					}
					beside.Wait()
					got = slices.DeleteFunc(got, func(r fettle.Record) bool { return r.Name == "later" })
					want := slices.Clone(all)
					if newest {
						slices.Reverse(want)
					}
					same(t, want, got)
				})
			}
		}
		first := must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptReading}))
		if len(first.Records) != 100 || first.Next != first.Records[99].ID {
			t.Errorf("%d on the first page, next %q", len(first.Records), first.Next)
		}
		gone := must[fettle.Record](t)(one(s, fettle.Delete, all[7]))
		page := must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptReading, Deleted: true, Limit: 1}))
		same(t, gone, page.Records[0])
	})
}

// same fails unless two values are the same.
func same(t testing.TB, want, got any) {
	t.Helper()
	if reflect.DeepEqual(want, got) { // quick with large bodies
		return
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Fatalf("want -, got +:\n%s", d)
	}
}

// says fails unless an error's sentence has these parts.
func says(t testing.TB, err error, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(err.Error(), p) {
			t.Errorf("%q does not say %q", err, p)
		}
	}
}

// TestClockPutBack: times of a record's revisions do not fall, whatever the clock of
// the machine does.
func TestClockPutBack(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		r := made(t, s, fettle.KeptPart, "a")
		s.now = func() time.Time { return r.Made.Add(-time.Hour) }
		r2 := must[fettle.Record](t)(one(s, fettle.Alter, r))
		r3 := must[fettle.Record](t)(one(s, fettle.Delete, r2))
		if !r2.Changed.Equal(r.Made) || !r3.Deleted.Equal(r.Made) || !r3.Made.Equal(r.Made) {
			t.Errorf("made %v, changed %v, deleted %v", r.Made, r2.Changed, r3.Deleted)
		}
		same(t, r3, must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID)))
	})
}
