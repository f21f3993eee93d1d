package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"fettle"
)

// What a question for records selects: each in its last revision, or in every one.
const (
	selected = `SELECT r.id, r.kind, v.rev, v.name, r.made_us, v.at_us, v.deleted_us, v.by_whom, v.links, v.files, v.body, v.stands FROM `
	columns  = selected + `record r JOIN revision v ON v.record_id = r.id`
	lastOnes = columns + ` AND v.rev = r.rev`
)

// revision is a record with what only the store knows of it.
type revision struct {
	fettle.Record
	// stands is the revision whose content this is: its own, or the one that an undo
	// went back to.
	stands int64
}

// asker is a pool or a transaction.
type asker interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
}

// scan reads a row of columns.
func scan(row interface{ Scan(...any) error }) (revision, error) {
	var v revision
	var made, changed, deleted int64
	var links, files, body string
	if err := row.Scan(&v.ID, &v.Kind, &v.Rev, &v.Name, &made, &changed, &deleted, &v.By, &links, &files, &body, &v.stands); err != nil {
		return revision{}, err
	}
	v.Made, v.Changed = instant(made), instant(changed)
	if deleted != 0 {
		at := instant(deleted)
		v.Deleted = &at
	}
	var err error
	if v.Links, err = roles(links); err != nil {
		return revision{}, fmt.Errorf("links of %s: %w", v.ID, err)
	}
	if v.Files, err = roles(files); err != nil {
		return revision{}, fmt.Errorf("files of %s: %w", v.ID, err)
	}
	v.Body = json.RawMessage(body)
	return v, nil
}

// roles is a column of links or files; nil for none.
func roles(column string) (map[string]string, error) {
	if column == "{}" {
		return nil, nil
	}
	var m map[string]string
	return m, json.Unmarshal([]byte(column), &m)
}

// list is the records that a question of columns finds.
func (s *Store) list(ctx context.Context, text string, args ...any) ([]fettle.Record, error) {
	var out []fettle.Record
	return out, s.once(ctx, func() error {
		out = nil
		rows, err := s.ask.QueryContext(ctx, text, args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			v, err := scan(rows)
			if err != nil {
				return err
			}
			out = append(out, v.Record)
		}
		return rows.Err()
	})
}

// Get is a record in its last revision, deleted or not.
func (s *Store) Get(ctx context.Context, kind fettle.RecordKind, id string) (fettle.Record, error) {
	var v revision
	err := s.once(ctx, func() (err error) {
		v, err = get(ctx, s.ask, kind, id)
		return err
	})
	return v.Record, err
}

func get(ctx context.Context, q asker, kind fettle.RecordKind, id string) (revision, error) {
	if err := knownKind(kind); err != nil {
		return revision{}, err
	}
	if !isID(id) {
		return revision{}, noSuch(kind, id)
	}
	v, err := scan(q.QueryRowContext(ctx, lastOnes+` WHERE r.id = $1 AND r.kind = $2`, id, string(kind)))
	if errors.Is(err, sql.ErrNoRows) {
		return revision{}, noSuch(kind, id)
	}
	return v, err
}

func noSuch(kind fettle.RecordKind, id string) error {
	return fettle.Errorf(fettle.NotFound, "there is no %s with the id %s; look through the list", kind, show(id))
}

// Named is the record of a kind with unique names that has this name and was not
// deleted. Names are compared by [fettle.FoldName].
func (s *Store) Named(ctx context.Context, kind fettle.RecordKind, name string) (fettle.Record, error) {
	if err := knownKind(kind); err != nil {
		return fettle.Record{}, err
	}
	if !kind.NamesAreUnique() {
		return fettle.Record{}, fettle.Errorf(fettle.Invalid, "several records of kind %q may have one name; ask for it by its id", kind)
	}
	if err := goodText("the name", name, maxName); err != nil {
		return fettle.Record{}, err
	}
	var v revision
	err := s.once(ctx, func() (err error) {
		v, err = named(ctx, s.ask, kind, name)
		return err
	})
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Record{}, fettle.Errorf(fettle.NotFound, "there is no %s named %q; look through the list", kind, name)
	}
	return v.Record, err
}

func named(ctx context.Context, q asker, kind fettle.RecordKind, name string) (revision, error) {
	return scan(q.QueryRowContext(ctx, lastOnes+` WHERE r.kind = $1 AND r.folded = $2 AND r.only_one = 1 AND r.deleted_us = 0`,
		string(kind), fettle.FoldName(name)))
}

// List is a page of records. Whoever follows the pages with the same query meets
// every record that was there when he began and stayed as the query asks, once;
// what is made meanwhile comes last, or is not met where the newest come first.
func (s *Store) List(ctx context.Context, q fettle.Query) (fettle.RecordPage, error) {
	if err := knownKind(q.Kind); err != nil {
		return fettle.RecordPage{}, err
	}
	if err := goodText("the name", q.Name, maxName); err != nil {
		return fettle.RecordPage{}, err
	}
	if err := goodText("the role of a link", q.Role, maxRole); err != nil {
		return fettle.RecordPage{}, err
	}
	if q.Target != "" && !isID(q.Target) {
		return fettle.RecordPage{}, nil // nothing leads to what cannot be
	}
	if q.After != "" && !isID(q.After) {
		return fettle.RecordPage{}, fettle.Errorf(fettle.Invalid, "no page ends with %s; begin with the first page", show(q.After))
	}
	limit := q.Limit
	switch {
	case limit == 0:
		limit = 100
	case limit < 0 || limit > 1000:
		return fettle.RecordPage{}, fettle.Errorf(fettle.Invalid, "a page holds 1 to 1000 records, not %d", limit)
	}
	text, args := listText(q, limit+1)
	records, err := s.list(ctx, text, args...)
	if err != nil {
		return fettle.RecordPage{}, err
	}
	page := fettle.RecordPage{Records: records}
	if len(records) > limit {
		page.Records = records[:limit]
		page.Next = records[limit-1].ID
	}
	return page, nil
}

// listText is the SQL of a query for at most so many records. The page is chosen
// before anything of its records is read, along an index that is in its order.
func listText(q fettle.Query, limit int) (string, []any) {
	var b strings.Builder
	var args []any
	add := func(text string, arg any) {
		args = append(args, arg)
		fmt.Fprintf(&b, text, len(args))
	}
	id, order := "p.id", ""
	const what = "SELECT p.id, p.kind, p.rev, p.made_us FROM "
	b.WriteString(what + "record p WHERE")
	if q.Role != "" && q.Target != "" {
		b.Reset()
		id = "l.record_id"
		b.WriteString(what + "link l JOIN record p ON p.id = l.record_id WHERE")
		add(" l.target_id = $%d AND", q.Target)
		add(" l.role = $%d AND", q.Role)
	}
	add(" p.kind = $%d", string(q.Kind))
	if q.Deleted {
		b.WriteString(" AND p.deleted_us <> 0")
	} else {
		b.WriteString(" AND p.deleted_us = 0")
	}
	if q.Name != "" {
		add(" AND p.folded = $%d", fettle.FoldName(q.Name))
	}
	switch {
	case q.Role != "" && q.Target == "":
		add(" AND EXISTS (SELECT 1 FROM link l WHERE l.record_id = p.id AND l.role = $%d)", q.Role)
	case q.Role == "" && q.Target != "":
		add(" AND p.id IN (SELECT l.record_id FROM link l WHERE l.target_id = $%d)", q.Target)
	}
	past := " > "
	if q.Newest {
		order, past = " DESC", " < "
	}
	if q.After != "" {
		add(" AND "+id+past+"$%d", q.After)
	}
	b.WriteString(" ORDER BY " + id + order)
	fmt.Fprintf(&b, " LIMIT %d", limit) // a planner that does not know it takes the long way
	return selected + "(" + b.String() + ") r JOIN revision v ON v.record_id = r.id AND v.rev = r.rev ORDER BY r.id" + order, args
}

// History is every revision of a record, the oldest first.
func (s *Store) History(ctx context.Context, kind fettle.RecordKind, id string) ([]fettle.Record, error) {
	if err := knownKind(kind); err != nil {
		return nil, err
	}
	if !isID(id) {
		return nil, noSuch(kind, id)
	}
	all, err := s.list(ctx, columns+` WHERE r.id = $1 AND r.kind = $2 ORDER BY v.rev`, id, string(kind))
	if err == nil && len(all) == 0 {
		return nil, noSuch(kind, id)
	}
	return all, err
}
