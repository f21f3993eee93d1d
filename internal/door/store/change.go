package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"fettle"
)

// doing is an edit under way.
type doing struct {
	tx  *sql.Tx
	at  time.Time
	by  string
	now map[string]*held // the records that it has touched, by id
}

// held is a record that an edit has touched.
type held struct {
	revision
	// links, files are what the tables link and attachment hold of it.
	links, files map[string]string
	// back is set when it came back from deletion: all its links are asked about.
	back bool
}

func (d *doing) exec(ctx context.Context, text string, args ...any) (int64, error) {
	r, err := d.tx.ExecContext(ctx, text, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// change does one change.
func (d *doing) change(ctx context.Context, c fettle.Change) (fettle.Record, error) {
	if c.Act == fettle.Make {
		return d.make(ctx, c.Record)
	}
	h, err := d.seen(ctx, c.Record)
	if err != nil {
		return fettle.Record{}, err
	}
	if h.Deleted != nil && c.Act != fettle.Undo {
		return fettle.Record{}, fettle.Errorf(fettle.Conflict, "%s was deleted by %s; undo that first", d.called(h), whoWhen(h))
	}
	was, wasDeleted := h.Rev, h.Deleted != nil
	h.Rev++
	h.stands = h.Rev
	h.By = d.by
	// A clock that was put back does not put a revision before the one before it.
	if d.at.After(h.Changed) {
		h.Changed = d.at
	}
	switch c.Act {
	case fettle.Alter:
		h.Name, h.Links, h.Files, h.Body = c.Record.Name, c.Record.Links, c.Record.Files, c.Record.Body
	case fettle.Delete:
		at := h.Changed
		h.Deleted = &at
	case fettle.Undo:
		if err := d.undo(ctx, h, was); err != nil {
			return fettle.Record{}, err
		}
	}
	h.back = h.back || wasDeleted && h.Deleted == nil
	if h.Deleted == nil {
		if err := d.nameFree(ctx, h, c.Act); err != nil {
			return fettle.Record{}, err
		}
	}
	n, err := d.exec(ctx, `UPDATE record SET rev = $1, folded = $2, deleted_us = $3 WHERE id = $4 AND rev = $5`,
		h.Rev, fettle.FoldName(h.Name), deletedUS(h), h.ID, was)
	if err != nil {
		return fettle.Record{}, err
	}
	if n != 1 {
		return fettle.Record{}, errRaced
	}
	return d.write(ctx, h, c.Act)
}

// make makes a record.
func (d *doing) make(ctx context.Context, r fettle.Record) (fettle.Record, error) {
	h := &held{revision: revision{Record: r, stands: 1}}
	h.Rev, h.Made, h.Changed, h.By = 1, d.at, d.at, d.by
	if h.ID == "" {
		var err error
		if h.ID, err = newID(); err != nil {
			return fettle.Record{}, err
		}
	} else {
		var one int64
		err := d.tx.QueryRowContext(ctx, `SELECT 1 FROM record WHERE id = $1`, h.ID).Scan(&one)
		if err == nil {
			return fettle.Record{}, fettle.Errorf(fettle.Conflict, "there is a record with the id %s already; leave the id away and one is made", h.ID)
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return fettle.Record{}, err
		}
	}
	if err := d.nameFree(ctx, h, fettle.Make); err != nil {
		return fettle.Record{}, err
	}
	onlyOne := int64(0)
	if h.Kind.NamesAreUnique() {
		onlyOne = 1
	}
	if _, err := d.exec(ctx, `INSERT INTO record (id, kind, rev, folded, only_one, made_us, deleted_us) VALUES ($1, $2, 1, $3, $4, $5, 0)`,
		h.ID, string(h.Kind), fettle.FoldName(h.Name), onlyOne, micros(h.Made)); err != nil {
		return fettle.Record{}, err
	}
	d.now[h.ID] = h
	return d.write(ctx, h, fettle.Make)
}

// seen is the record of a change in the revision that was seen, or the reason why
// that is not the last.
func (d *doing) seen(ctx context.Context, r fettle.Record) (*held, error) {
	h := d.now[r.ID]
	if h == nil || h.Kind != r.Kind {
		k, err := get(ctx, d.tx, r.Kind, r.ID)
		if err != nil {
			return nil, err
		}
		h = &held{revision: k, links: k.Links, files: k.Files}
		d.now[h.ID] = h
	}
	switch {
	case r.Rev == h.Rev:
		return h, nil
	case r.Rev > h.Rev:
		return nil, fettle.Errorf(fettle.Conflict, "%s has no revision %d: the last is %d, by %s; read it again and repeat the change", d.called(h), r.Rev, h.Rev, whoWhen(h))
	}
	did := "changed"
	if h.Deleted != nil {
		did = "deleted"
	}
	return nil, fettle.Errorf(fettle.Conflict, "%s was %s by %s; read it again and repeat the change", d.called(h), did, whoWhen(h))
}

// undo puts into h, whose last revision was so, what stood before the step that
// made it so.
func (d *doing) undo(ctx context.Context, h *held, was int64) error {
	before, err := scan(d.tx.QueryRowContext(ctx, columns+`
WHERE r.id = $1 AND v.rev = (SELECT w.stands - 1 FROM revision w WHERE w.record_id = $1 AND w.rev = $2)`, h.ID, was))
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Errorf(fettle.Conflict, "%s is as it was made: there is nothing to go back to; delete it if it should not be there", d.called(h))
	}
	if err != nil {
		return err
	}
	h.Name, h.Links, h.Files, h.Body, h.Deleted = before.Name, before.Links, before.Files, before.Body, before.Deleted
	h.stands = before.stands
	return nil
}

// nameFree looks that nobody else has a record's name where names are unique.
func (d *doing) nameFree(ctx context.Context, h *held, act fettle.Act) error {
	if !h.Kind.NamesAreUnique() {
		return nil
	}
	other, err := named(ctx, d.tx, h.Kind, h.Name)
	switch {
	case errors.Is(err, sql.ErrNoRows) || err == nil && other.ID == h.ID:
		return nil
	case err != nil:
		return err
	}
	if act == fettle.Undo {
		return fettle.Errorf(fettle.Conflict, "there is another %s named %q by now; rename or delete that one, then undo", h.Kind, other.Name)
	}
	return fettle.Errorf(fettle.Conflict, "there is a %s named %q already; take another name, or change that one", h.Kind, other.Name)
}

// write writes the revision that a record now has.
func (d *doing) write(ctx context.Context, h *held, act fettle.Act) (fettle.Record, error) {
	_, err := d.exec(ctx, `INSERT INTO revision (record_id, rev, act, stands, at_us, deleted_us, by_whom, name, links, files, body)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
		h.ID, h.Rev, string(act), h.stands, micros(h.Changed), deletedUS(h), h.By, h.Name, rolesText(h.Links), rolesText(h.Files), string(h.Body))
	r := h.Record
	r.Links, r.Files, r.Body = maps.Clone(h.Links), maps.Clone(h.Files), slices.Clone(h.Body)
	if len(r.Links) == 0 {
		r.Links = nil // as it is read
	}
	if len(r.Files) == 0 {
		r.Files = nil
	}
	return r, err
}

// settle brings the tables of links and files up to the records that were touched,
// and looks that what they lead to is there.
func (d *doing) settle(ctx context.Context) error {
	for _, id := range slices.Sorted(maps.Keys(d.now)) {
		h := d.now[id]
		for _, role := range slices.Sorted(maps.Keys(h.Links)) {
			if h.Deleted == nil && (h.back || h.links[role] != h.Links[role]) {
				if err := d.leads(ctx, role, h.Links[role]); err != nil {
					return err
				}
			}
		}
		for _, role := range slices.Sorted(maps.Keys(h.Files)) {
			if h.files[role] != h.Files[role] {
				if err := d.stored(ctx, role, h.Files[role]); err != nil {
					return err
				}
			}
		}
		if err := d.replace(ctx, "link", "target_id", id, h.links, h.Links); err != nil {
			return err
		}
		if err := d.replace(ctx, "attachment", "sha256", id, h.files, h.Files); err != nil {
			return err
		}
	}
	return nil
}

// replace makes one table's rows of a record what they should be.
func (d *doing) replace(ctx context.Context, table, column, id string, was, is map[string]string) error {
	for _, role := range slices.Sorted(maps.Keys(was)) {
		if is[role] != was[role] {
			if _, err := d.exec(ctx, fmt.Sprintf(`DELETE FROM %s WHERE record_id = $1 AND role = $2`, table), id, role); err != nil {
				return err
			}
		}
	}
	for _, role := range slices.Sorted(maps.Keys(is)) {
		if is[role] != was[role] {
			if _, err := d.exec(ctx, fmt.Sprintf(`INSERT INTO %s (record_id, role, %s) VALUES ($1, $2, $3)`, table, column), id, role, is[role]); err != nil {
				return err
			}
		}
	}
	return nil
}

// leads looks that a link leads to a record that is there.
func (d *doing) leads(ctx context.Context, role, target string) error {
	k, err := scan(d.tx.QueryRowContext(ctx, lastOnes+` WHERE r.id = $1`, target))
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Errorf(fettle.Invalid, "links.%s leads to %s, and no record has that id; take the id of one that is there", role, target)
	}
	if err == nil && k.Deleted != nil {
		h := &held{revision: k}
		return fettle.Errorf(fettle.Conflict, "links.%s leads to %s, which was deleted by %s; undo that first, or link to another", role, d.called(h), whoWhen(h))
	}
	return err
}

// stored looks that a file is stored.
func (d *doing) stored(ctx context.Context, role, sha string) error {
	var n int64
	err := d.tx.QueryRowContext(ctx, `SELECT bytes FROM blob WHERE sha256 = $1`, sha).Scan(&n)
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Errorf(fettle.Invalid, "files.%s: no file with the SHA-256 %s is stored; store it first", role, sha)
	}
	return err
}

// called is a record in a sentence.
func (d *doing) called(h *held) string {
	if h.Name == "" {
		return fmt.Sprintf("the %s %s", h.Kind, h.ID)
	}
	return fmt.Sprintf("the %s %q", h.Kind, h.Name)
}

// whoWhen is who made a record's last revision, and when.
func whoWhen(h *held) string {
	by := h.By
	if by == "" {
		by = "somebody"
	}
	return fmt.Sprintf("%s at %s", by, h.Changed.UTC().Format("2006-01-02 15:04:05 UTC"))
}

func deletedUS(h *held) int64 {
	if h.Deleted == nil {
		return 0
	}
	return micros(*h.Deleted)
}

// rolesText is links or files as the table holds them.
func rolesText(m map[string]string) string {
	if len(m) == 0 {
		return "{}"
	}
	return mustJSON(m) // sorted by key
}
