package shop

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"fettle"
	"fettle/internal/trade/stock"
)

// compartment is one list of the shelf, seen as records.
type compartment struct {
	kind fettle.RecordKind
	// each gives name and body of every thing of a shelf's list, in order.
	each func(*fettle.Shelf) []thing
	// add reads a body and puts it at the end of the list, or in the place of one of
	// the same name.
	add func(*fettle.Shelf, []byte) (name string, err error)
	// clear empties the list.
	clear func(*fettle.Shelf)
	// part gives the list its own place in memory.
	part func(*fettle.Shelf)
}

type thing struct {
	name string
	body json.RawMessage
}

func list[T any](kind fettle.RecordKind, of func(*fettle.Shelf) *[]T, name func(T) string) compartment {
	return compartment{
		kind: kind,
		each: func(s *fettle.Shelf) []thing {
			var out []thing
			for _, v := range *of(s) {
				out = append(out, thing{name(v), write(v)})
			}
			return out
		},
		add: func(s *fettle.Shelf, body []byte) (string, error) {
			v, err := read[T](body)
			if err != nil {
				return "", err
			}
			l := of(s)
			at := slices.IndexFunc(*l, func(o T) bool { return fettle.FoldName(name(o)) == fettle.FoldName(name(v)) })
			if at >= 0 {
				(*l)[at] = v
			} else {
				*l = append(*l, v)
			}
			return name(v), nil
		},
		clear: func(s *fettle.Shelf) { *of(s) = []T{} },
		part:  func(s *fettle.Shelf) { *of(s) = slices.Clone(*of(s)) },
	}
}

var compartments = []compartment{
	list(fettle.KeptMaterial, func(s *fettle.Shelf) *[]fettle.Material { return &s.Materials }, func(m fettle.Material) string { return m.Name }),
	list(fettle.KeptLook, func(s *fettle.Shelf) *[]fettle.Look { return &s.Looks }, func(l fettle.Look) string { return l.Name }),
	list(fettle.KeptCutter, func(s *fettle.Shelf) *[]fettle.Cutter { return &s.Cutters }, func(c fettle.Cutter) string { return c.Name }),
	list(fettle.KeptJaws, func(s *fettle.Shelf) *[]fettle.Jaws { return &s.Jaws }, func(j fettle.Jaws) string { return j.Name }),
	list(fettle.KeptGrit, func(s *fettle.Shelf) *[]fettle.Grit { return &s.Grits }, func(g fettle.Grit) string { return g.Name }),
	list(fettle.KeptMop, func(s *fettle.Shelf) *[]fettle.Mop { return &s.Mops }, func(m fettle.Mop) string { return m.Name }),
	list(fettle.KeptSoft, func(s *fettle.Shelf) *[]fettle.Soft { return &s.Softs }, func(m fettle.Soft) string { return m.Name }),
	list(fettle.KeptMedia, func(s *fettle.Shelf) *[]fettle.Media { return &s.Media }, func(m fettle.Media) string { return m.Name }),
	list(fettle.KeptVessel, func(s *fettle.Shelf) *[]fettle.Vessel { return &s.Vessels }, func(v fettle.Vessel) string { return v.Name }),
	list(fettle.KeptMachine, func(s *fettle.Shelf) *[]fettle.Machine { return &s.Machines }, func(m fettle.Machine) string { return m.Name }),
	{
		kind: fettle.KeptRates,
		each: func(s *fettle.Shelf) []thing { return []thing{{ratesName, write(s.Rates)}} },
		add: func(s *fettle.Shelf, body []byte) (string, error) {
			r, err := read[fettle.Rates](body)
			if err == nil {
				s.Rates = r
			}
			return ratesName, err
		},
		clear: func(*fettle.Shelf) {},
		part:  func(*fettle.Shelf) {},
	},
}

func compartmentOf(kind fettle.RecordKind) compartment {
	i := slices.IndexFunc(compartments, func(c compartment) bool { return c.kind == kind })
	if i < 0 {
		panic("shop: no compartment of the shelf for " + string(kind))
	}
	return compartments[i]
}

// Begin fills the shelf of a new shop with the trade's starting guesses. It does
// nothing in a shop that has begun.
func (s *Shop) Begin(ctx context.Context) error {
	page, err := s.store.List(ctx, fettle.Query{Kind: fettle.KeptRates, Limit: 1})
	if err != nil || len(page.Records) > 0 {
		return err
	}
	var cs []fettle.Change
	for _, c := range compartments {
		for _, t := range c.each(stock.Shelf()) {
			cs = append(cs, fettle.Change{Act: fettle.Make, Record: fettle.Record{Kind: c.kind, Name: t.name, Body: t.body}})
		}
	}
	_, err = s.store.Apply(ctx, fettle.Edit{By: "fettle", Key: beginKey, Changes: cs})
	return err
}

// beginKey is none that anyone else would give.
const beginKey = "fettle begins: 6f0c3c1e"

// TakeShelf makes the shelf as given: what is new is added, what differs changed,
// what is gone deleted, and what is the same left alone, all in one edit. It
// returns how many things were touched. Seen, where given, may refuse to replace
// the shelf that stands there; what changes between its look and the edit is a Conflict.
func (s *Shop) TakeShelf(ctx context.Context, by string, shelf *fettle.Shelf, seen func(now *fettle.Shelf) error) (int, error) {
	if err := shelf.Validate(); err != nil {
		return 0, err
	}
	var cs []fettle.Change
	now := &fettle.Shelf{Rates: stock.Shelf().Rates}
	for _, c := range compartments {
		have, err := s.all(ctx, fettle.Query{Kind: c.kind})
		if err != nil {
			return 0, err
		}
		c.clear(now)
		for _, r := range have {
			if _, err := c.add(now, r.Body); err != nil {
				return 0, err
			}
		}
		named := map[string]bool{}
		for _, t := range c.each(shelf) {
			fold := fettle.FoldName(t.name)
			if named[fold] {
				return 0, fettle.Errorf(fettle.Invalid, "%s %q stands there twice but for case, spaces and hyphens; name one of them otherwise", c.kind, t.name)
			}
			named[fold] = true
			at := slices.IndexFunc(have, func(r fettle.Record) bool { return fettle.FoldName(r.Name) == fold })
			switch {
			case at < 0:
				cs = append(cs, fettle.Change{Act: fettle.Make, Record: fettle.Record{Kind: c.kind, Name: t.name, Body: t.body}})
			case have[at].Name != t.name || !sameJSON(have[at].Body, t.body):
				cs = append(cs, fettle.Change{Act: fettle.Alter, Record: fettle.Record{Kind: c.kind, ID: have[at].ID, Rev: have[at].Rev, Name: t.name, Body: t.body}})
			}
		}
		for _, r := range have {
			if !named[fettle.FoldName(r.Name)] {
				cs = append(cs, fettle.Change{Act: fettle.Delete, Record: fettle.Record{Kind: c.kind, ID: r.ID, Rev: r.Rev}})
			}
		}
	}
	if seen != nil {
		if err := seen(now); err != nil {
			return 0, err
		}
	}
	if len(cs) == 0 {
		return 0, nil
	}
	_, err := s.store.Apply(ctx, fettle.Edit{By: by, Changes: cs})
	return len(cs), err
}

// sameJSON compares two documents without regard to the order of keys.
func sameJSON(a, b []byte) bool {
	var x, y any
	return json.Unmarshal(a, &x) == nil && json.Unmarshal(b, &y) == nil && fmt.Sprint(x) == fmt.Sprint(y)
}

// judgeThing checks a thing beside all that stands on the shelf, and names its
// record.
func (s *Shop) judgeThing(ctx context.Context, r *fettle.Record) error {
	if len(r.Links) > 0 || len(r.Files) > 0 {
		return fettle.Errorf(fettle.Invalid, "a thing on the shelf has no links and no files")
	}
	if r.Kind == fettle.KeptEnvelope {
		name, err := checkEnvelope(r.Body)
		r.Name = name
		return err
	}
	shelf, err := s.Shelf(ctx)
	if err != nil {
		return err
	}
	c := compartmentOf(r.Kind)
	// A record that is altered may get another name: its old self is taken away.
	if r.ID != "" {
		was, err := s.store.Get(ctx, r.Kind, r.ID)
		if err != nil {
			return err
		}
		things := c.each(shelf)
		if r.Kind != fettle.KeptRates {
			c.clear(shelf)
		}
		for _, t := range things {
			if t.name != was.Name {
				if _, err := c.add(shelf, t.body); err != nil {
					return err
				}
			}
		}
	}
	if r.Name, err = c.add(shelf, r.Body); err != nil {
		return err
	}
	return shelf.Validate()
}
