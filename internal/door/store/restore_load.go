package store

import (
	"context"
	"database/sql"
	"slices"
	"strconv"
	"strings"

	"fettle"
)

// load fills an empty database with a backup's rows, in the tables as they were then,
// and brings them up to date.
func (r *restoring) load(ctx context.Context, s *Store) error {
	p, err := s.provider()
	if err != nil {
		return s.fail(ctx, err)
	}
	if err := r.at("make tables"); err != nil {
		return err
	}
	if _, err := p.UpTo(ctx, r.b.m.Schema); err != nil {
		return s.fail(ctx, err)
	}
	if err := r.at("load tables"); err != nil {
		return err
	}
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return s.fail(ctx, err)
	}
	defer func() { _ = tx.Rollback() }()
	for i, t := range r.b.tables {
		r.say("tables", i, len(r.b.tables))
		in := &inserter{tx: tx, t: t}
		err := r.b.rows(ctx, i, func(row []any) error {
			if t.name == "task" {
				r.queueAgain(t, row)
			}
			return in.add(ctx, row)
		})
		if err == nil {
			err = in.flush(ctx)
		}
		if err != nil {
			return r.refused(ctx, s, t, err)
		}
	}
	if err := tx.Commit(); err != nil {
		return s.fail(ctx, err)
	}
	if err := r.at("bring tables up to date"); err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return s.fail(ctx, err)
	}
	return nil
}

// refused tells rows that a database will not have from a database that fails.
func (r *restoring) refused(ctx context.Context, s *Store, t table, err error) error {
	switch state := sqlState(err); {
	case sqliteCode(err)&0xff == 19, strings.HasPrefix(state, "23"): // constraints
		return r.b.bad("has rows in table %q that do not go together", t.name)
	case strings.HasPrefix(state, "22"): // data that a type cannot hold
		return fettle.Errorf(fettle.BadFile, "the backup %s holds text in table %q that PostgreSQL cannot keep; restore it into a workspace without a database", r.b.name, t.name)
	}
	return s.fail(ctx, err)
}

// queueAgain lets a task that was not over wait for its turn. The queue underneath has
// forgotten all of them.
func (r *restoring) queueAgain(t table, row []any) {
	set := func(name string, v any) {
		if i := t.index(name); i >= 0 {
			row[i] = v
		}
	}
	set("job_id", int64(0))
	if i := t.index("state"); i < 0 || fettle.TaskState(text(row[i])).Over() {
		return
	}
	r.report.Waiting++
	set("state", string(fettle.Waiting))
	set("started_us", int64(0))
	set("doing", "")
	set("done", int64(0))
	set("total", int64(0))
}

// inserter puts rows in a table, many in one statement.
type inserter struct {
	tx    *sql.Tx
	t     table
	full  *sql.Stmt // for most rows
	args  []any
	bytes int
}

// mostRows and mostBytes bound a statement: SQLite takes 32766 values
// (https://www.sqlite.org/limits.html), PostgreSQL 65535, both a gigabyte.
const (
	mostRows  = 100
	mostBytes = 4 << 20
)

func (in *inserter) add(ctx context.Context, row []any) error {
	in.args = append(in.args, row...)
	for _, v := range row {
		in.bytes += len(text(v))
	}
	if len(in.args) < mostRows*len(in.t.columns) && in.bytes < mostBytes {
		return nil
	}
	return in.flush(ctx)
}

func (in *inserter) flush(ctx context.Context) (err error) {
	n := len(in.args) / len(in.t.columns)
	switch {
	case n == 0:
		return nil
	case n == mostRows:
		if in.full == nil {
			if in.full, err = in.tx.PrepareContext(ctx, insertRows(in.t, n)); err != nil {
				return err
			}
		}
		_, err = in.full.ExecContext(ctx, in.args...)
	default:
		_, err = in.tx.ExecContext(ctx, insertRows(in.t, n), in.args...)
	}
	in.args, in.bytes = in.args[:0], 0
	return err
}

// insertRows is the statement for n rows.
func insertRows(t table, n int) string {
	var q strings.Builder
	q.WriteString(`INSERT INTO ` + t.name + ` (` + t.names() + `) VALUES `)
	for i := range n * len(t.columns) {
		switch {
		case i == 0:
			q.WriteByte('(')
		case i%len(t.columns) == 0:
			q.WriteString("), (")
		default:
			q.WriteString(", ")
		}
		q.WriteByte('$')
		q.WriteString(strconv.Itoa(i + 1))
	}
	q.WriteByte(')')
	return q.String()
}

// copySecrets takes over what passcodes are checked with, as far as both sides know
// it. A database without that table has none.
func copySecrets(ctx context.Context, from querier, to *Store) error {
	all, err := shapeAt(ctx, latestSchema())
	if err != nil {
		return err
	}
	t := all[slices.IndexFunc(all, func(t table) bool { return t.name == "secret" })]
	var rows [][]any
	err = eachRow(ctx, from, `SELECT `+t.names()+` FROM secret`, nil, func(row []any) error {
		rows = append(rows, slices.Clone(row))
		return nil
	})
	if err != nil {
		return err
	}
	tx, err := to.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }()
	in := &inserter{tx: tx, t: t}
	for _, row := range rows {
		if err := in.add(ctx, row); err != nil {
			return err
		}
	}
	if err := in.flush(ctx); err != nil {
		return err
	}
	return tx.Commit()
}
