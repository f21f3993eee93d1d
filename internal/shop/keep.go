package shop

import (
	"context"
	"slices"
	"strings"

	"fettle"
)

// Make keeps a new record. With a key it happens once, however often it is asked
// for.
func (s *Shop) Make(ctx context.Context, by, key string, r fettle.Record) (fettle.Record, error) {
	return s.makeAsked(ctx, by, key, "", r)
}

// makeAsked is Make of a record that also holds what was not asked for: asked is what
// was, for telling whether a key comes with the same again.
func (s *Shop) makeAsked(ctx context.Context, by, key, asked string, r fettle.Record) (fettle.Record, error) {
	if r.Kind == fettle.KeptJob && len(r.Body) > 0 {
		r.Body = fillJob(r.Body)
	}
	if err := s.judge(ctx, &r); err != nil {
		return fettle.Record{}, err
	}
	return s.first(ctx, fettle.Edit{By: by, Key: key, Asked: asked, Changes: []fettle.Change{{Act: fettle.Make, Record: r}}})
}

// Alter replaces a record by another revision of it.
func (s *Shop) Alter(ctx context.Context, by string, r fettle.Record) (fettle.Record, error) {
	if err := s.judge(ctx, &r); err != nil {
		return fettle.Record{}, err
	}
	return s.apply(ctx, by, fettle.Change{Act: fettle.Alter, Record: r})
}

// Delete takes a record away; Undo brings it back.
func (s *Shop) Delete(ctx context.Context, by string, kind fettle.RecordKind, id string, rev int64) (fettle.Record, error) {
	return s.apply(ctx, by, fettle.Change{Act: fettle.Delete, Record: fettle.Record{Kind: kind, ID: id, Rev: rev}})
}

// Undo takes a record back to the revision before.
func (s *Shop) Undo(ctx context.Context, by string, kind fettle.RecordKind, id string, rev int64) (fettle.Record, error) {
	if kind == fettle.KeptPromise {
		return fettle.Record{}, fettle.Errorf(fettle.Conflict, "a promise is not brought back, because others may have its times by now; promise the job again")
	}
	return s.apply(ctx, by, fettle.Change{Act: fettle.Undo, Record: fettle.Record{Kind: kind, ID: id, Rev: rev}})
}

func (s *Shop) apply(ctx context.Context, by string, c fettle.Change) (fettle.Record, error) {
	freed, err := s.freed(ctx, c)
	if err != nil {
		return fettle.Record{}, err
	}
	r, err := s.first(ctx, fettle.Edit{By: by, Changes: append([]fettle.Change{c}, freed...)})
	if err == nil && (r.Kind == fettle.KeptReading || r.Kind == fettle.KeptRun) {
		// What was taught by mistake is taken back; the change stands whatever comes of it.
		_, _ = s.AskLearn(ctx, by)
	}
	return r, err
}

// Get is a record in its last revision, deleted or not.
func (s *Shop) Get(ctx context.Context, kind fettle.RecordKind, id string) (fettle.Record, error) {
	return s.store.Get(ctx, kind, id)
}

// Named finds a thing on the shelf by its name.
func (s *Shop) Named(ctx context.Context, kind fettle.RecordKind, name string) (fettle.Record, error) {
	return s.store.Named(ctx, kind, name)
}

// List is a page of records.
func (s *Shop) List(ctx context.Context, q fettle.Query) (fettle.RecordPage, error) {
	return s.store.List(ctx, q)
}

// History is every revision of a record, the oldest first.
func (s *Shop) History(ctx context.Context, kind fettle.RecordKind, id string) ([]fettle.Record, error) {
	return s.store.History(ctx, kind, id)
}

// all is every record that a query finds.
func (s *Shop) all(ctx context.Context, q fettle.Query) ([]fettle.Record, error) {
	q.Limit = 1000
	var out []fettle.Record
	for {
		page, err := s.store.List(ctx, q)
		if err != nil {
			return nil, err
		}
		out = append(out, page.Records...)
		if page.Next == "" {
			return out, nil
		}
		q.After = page.Next
	}
}

// judge checks a record against its kind and gives it its name. That what it links
// to is there, the store sees to.
func (s *Shop) judge(ctx context.Context, r *fettle.Record) error {
	if slices.Contains(fettle.ShelfKinds(), r.Kind) {
		return s.judgeThing(ctx, r)
	}
	k, known := sorts[r.Kind]
	if !known {
		return fettle.Errorf(fettle.Invalid, "records of kind %q are not kept", r.Kind)
	}
	for _, role := range k.needs {
		if r.Links[role] == "" {
			return fettle.Errorf(fettle.Invalid, "links.%s is missing: a %s belongs to a %s", role, r.Kind, role)
		}
	}
	for _, role := range roles(r.Links) {
		if _, may := k.links[role]; !may {
			return fettle.Errorf(fettle.Invalid, "links.%s: a %s is not linked to such a thing", role, r.Kind)
		}
		if _, err := s.store.Get(ctx, k.links[role], r.Links[role]); err != nil {
			return fettle.Errorf(fettle.CodeOf(err), "links.%s: %w", role, err)
		}
	}
	for _, role := range roles(r.Files) {
		if !slices.Contains(k.files, role) && !slices.Contains(k.files, "*") {
			return fettle.Errorf(fettle.Invalid, "files.%s: a %s has no such file", role, r.Kind)
		}
	}
	name, err := k.check(r.Body)
	if err != nil {
		return err
	}
	if r.Kind != fettle.KeptPlan && r.Kind != fettle.KeptPromise { // those have names of their own
		r.Name = clip(name)
	}
	if r.Kind == fettle.KeptRun {
		return s.judgeRun(ctx, r, nil)
	}
	if r.Kind == fettle.KeptReading {
		return s.judgeReading(ctx, *r)
	}
	return nil
}

// clip keeps a name to what the store takes.
func clip(name string) string {
	const most = 200
	name = strings.TrimSpace(name)
	if rs := []rune(name); len(rs) > most {
		return string(rs[:most])
	}
	return name
}

// roles are the keys of links or files, in order.
func roles(m map[string]string) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// bodyOf reads a kept body, which was checked when it was kept.
func bodyOf[T any](r fettle.Record) (T, error) {
	v, err := read[T](r.Body)
	if err != nil {
		return v, fettle.Errorf(fettle.BadFile, "%s %s was kept by a newer program or damaged: %w; try fettle check", r.Kind, r.ID, err)
	}
	return v, nil
}

// fillJob gives a new job what it does not say.
func fillJob(body []byte) []byte {
	j, err := read[fettle.Job](body)
	if err != nil {
		return body // the check tells of it
	}
	if j.State == "" {
		j.State = fettle.JobAsked
	}
	if j.Brief.Lot == 0 {
		j.Brief.Lot = 1
	}
	if j.Title == "" {
		j.Title = j.Brief.Title
	}
	return write(j)
}
