package store

import (
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fettle"
)

// model is what a store should hold, kept the simplest way: every record as the list
// of its revisions, and beside each the steps that an undo would still go back.
type model struct {
	order []string // ids as they were made
	revs  map[string][]fettle.Record
	steps map[string][][]fettle.Record
	keys  map[string]keyed
}

type keyed struct {
	edit fettle.Edit
	out  []fettle.Record
}

func (m *model) last(id string) fettle.Record { return m.revs[id][len(m.revs[id])-1] }

// taken reports whether another live record has a name where names are unique.
func (m *model) taken(r fettle.Record) bool {
	if !r.Kind.NamesAreUnique() {
		return false
	}
	for _, id := range m.order {
		o := m.last(id)
		if id != r.ID && o.Kind == r.Kind && o.Deleted == nil && fettle.FoldName(o.Name) == fettle.FoldName(r.Name) {
			return true
		}
	}
	return false
}

// dead reports whether a record leads to a deleted one where that is asked about.
func (m *model) dead(r fettle.Record, was map[string]string, all bool) bool {
	for role, id := range r.Links {
		// One that leads to itself comes back with what it leads to.
		if (all || was[role] != id) && id != r.ID && m.last(id).Deleted != nil {
			return true
		}
	}
	return false
}

// want is the content that a change should leave, and whether it is done at all.
func (m *model) want(c fettle.Change) (_ fettle.Record, steps []fettle.Record, ok bool) {
	r := c.Record
	if c.Act == fettle.Make {
		return r, []fettle.Record{r}, !m.taken(r) && !m.dead(r, nil, true)
	}
	last := m.last(r.ID)
	steps = m.steps[r.ID][len(m.steps[r.ID])-1]
	if r.Rev != last.Rev || last.Deleted != nil && c.Act != fettle.Undo {
		return last, nil, false
	}
	next := last
	switch c.Act {
	case fettle.Alter:
		next.Name, next.Links, next.Body = r.Name, r.Links, r.Body
		steps = append(slices.Clone(steps), next)
	case fettle.Delete:
		next.Deleted = &last.Changed // when is seen in the answer
		steps = append(slices.Clone(steps), next)
		return next, steps, true
	case fettle.Undo:
		if len(steps) == 1 {
			return last, nil, false
		}
		steps = steps[:len(steps)-1]
		to := steps[len(steps)-1]
		next.Name, next.Links, next.Body, next.Deleted = to.Name, to.Links, to.Body, nil
	}
	return next, steps, !m.taken(next) && !m.dead(next, last.Links, last.Deleted != nil)
}

// do does one change on the store and the model and compares.
func (m *model) do(t *rapid.T, s *Store, c fettle.Change, key string) {
	want, steps, ok := m.want(c)
	e := fettle.Edit{By: rapid.SampledFrom([]string{"Anna", "Ben"}).Draw(t, "by"), Key: key, Changes: []fettle.Change{c}}
	out, err := s.Apply(ctx, e)
	if !ok {
		if fettle.CodeOf(err) != fettle.Conflict {
			t.Fatalf("%s of %+v gave %+v, %v; want a conflict", c.Act, c.Record, out, err)
		}
		return
	}
	if err != nil {
		t.Fatalf("%s of %+v: %v", c.Act, c.Record, err)
	}
	got := out[0]
	if got.By != e.By || got.Name != want.Name || string(got.Body) != string(want.Body) || !maps.Equal(got.Links, want.Links) || (got.Deleted != nil) != (want.Deleted != nil) {
		t.Fatalf("%s gave %+v, want %+v", c.Act, got, want)
	}
	if c.Act == fettle.Make {
		m.order = append(m.order, got.ID)
	} else if last := m.last(got.ID); got.Rev != last.Rev+1 || got.Changed.Before(last.Changed) || !got.Made.Equal(last.Made) {
		t.Fatalf("%s gave %+v after %+v", c.Act, got, last)
	}
	m.revs[got.ID] = append(m.revs[got.ID], got)
	m.steps[got.ID] = append(m.steps[got.ID], steps)
	if key != "" {
		m.keys[key] = keyed{e, out}
	}
}

// content draws what a record holds.
func (m *model) content(t *rapid.T, r *fettle.Record, prefix string) {
	r.Name = prefix + rapid.SampledFrom([]string{"satin", "Satin", "bright", "stone wash"}).Draw(t, "name")
	r.Body = json.RawMessage(strconv.Itoa(rapid.IntRange(0, 99).Draw(t, "body")))
	r.Links = nil
	if len(m.order) > 0 && rapid.IntRange(0, 2).Draw(t, "linked") == 0 {
		r.Links = map[string]string{"run": rapid.SampledFrom(m.order).Draw(t, "target")}
	}
}

// TestModel does changes in random order and compares every answer, and at the end
// of each round everything, with a model in memory.
func TestModel(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		if s.Dialect() == SQLite { // what is tested here does not wait for the disk
			if _, err := s.DB().Exec(`PRAGMA synchronous = OFF`); err != nil {
				t.Fatal(err)
			}
		}
		checks, steps := 50, 30
		if testing.Short() {
			checks, steps = 4, 15
		}
		some(t, checks)
		round := 0
		rapid.Check(t, func(t *rapid.T) {
			round++
			prefix := fmt.Sprintf("%d ", round)
			m := &model{revs: map[string][]fettle.Record{}, steps: map[string][][]fettle.Record{}, keys: map[string]keyed{}}
			kinds := []fettle.RecordKind{fettle.KeptLook, fettle.KeptReading}
			for i := range rapid.IntRange(1, steps).Draw(t, "steps") {
				act := rapid.SampledFrom([]fettle.Act{fettle.Make, fettle.Alter, fettle.Alter, fettle.Delete, fettle.Undo, fettle.Undo, "again"}).Draw(t, "act")
				key := ""
				if rapid.Bool().Draw(t, "keyed") {
					key = fmt.Sprint(prefix, i)
				}
				switch {
				case act == "again":
					if len(m.keys) == 0 {
						continue
					}
					k := m.keys[rapid.SampledFrom(slices.Sorted(maps.Keys(m.keys))).Draw(t, "key")]
					out, err := s.Apply(ctx, k.edit)
					if d := cmp.Diff(k.out, out); err != nil || d != "" {
						t.Fatalf("asked again: %v\n%s", err, d)
					}
				case act == fettle.Make || len(m.order) == 0:
					r := fettle.Record{Kind: rapid.SampledFrom(kinds).Draw(t, "kind")}
					m.content(t, &r, prefix)
					m.do(t, s, fettle.Change{Act: fettle.Make, Record: r}, key)
				default:
					r := m.last(rapid.SampledFrom(m.order).Draw(t, "id"))
					if r.Rev > 1 && rapid.IntRange(0, 7).Draw(t, "stale") == 0 {
						r.Rev--
					}
					m.content(t, &r, prefix)
					m.do(t, s, fettle.Change{Act: act, Record: r}, key)
				}
			}
			m.compare(t, s, kinds)
		})
	})
}

// compare looks whether all that can be asked of a store is as in the model.
func (m *model) compare(t *rapid.T, s *Store, kinds []fettle.RecordKind) {
	diff := func(want, got any, err error) {
		if d := cmp.Diff(want, got); err != nil || d != "" {
			t.Fatalf("%v\nwant -, got +:\n%s", err, d)
		}
	}
	for _, id := range m.order {
		last := m.last(id)
		history, err := s.History(ctx, last.Kind, id)
		diff(m.revs[id], history, err)
		got, err := s.Get(ctx, last.Kind, id)
		diff(history[len(history)-1], got, err)
		if last.Kind.NamesAreUnique() && last.Deleted == nil {
			got, err := s.Named(ctx, last.Kind, last.Name)
			diff(last, got, err)
		}
		// What leads to it.
		for _, kind := range kinds {
			for _, deleted := range []bool{false, true} {
				var want []fettle.Record
				for _, other := range m.order {
					if o := m.last(other); o.Kind == kind && o.Links["run"] == id && (o.Deleted != nil) == deleted {
						want = append(want, o)
					}
				}
				page, err := s.List(ctx, fettle.Query{Kind: kind, Role: "run", Target: id, Deleted: deleted})
				diff(want, page.Records, err)
			}
		}
	}
	if len(m.order) == 0 {
		return
	}
	for _, kind := range kinds {
		var live, gone []fettle.Record
		for _, id := range m.order {
			if r := m.last(id); r.Kind == kind && r.Deleted == nil {
				live = append(live, r)
			} else if r.Kind == kind {
				gone = append(gone, r)
			}
		}
		// Earlier rounds left records too: these are the newest.
		for deleted, want := range map[bool][]fettle.Record{false: live, true: gone} {
			if len(want) == 0 {
				continue
			}
			slices.Reverse(want)
			page, err := s.List(ctx, fettle.Query{Kind: kind, Newest: true, Deleted: deleted, Limit: len(want)})
			diff(want, page.Records, err)
		}
	}
}

// some sets how many random cases are tried, unless someone asked for another number.
func some(t *testing.T, n int) {
	t.Helper()
	f := flag.Lookup("rapid.checks")
	if was := f.Value.String(); was == f.DefValue {
		if err := f.Value.Set(strconv.Itoa(n)); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = f.Value.Set(was) })
	}
}
