package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"slices"
	"strings"
	"sync"

	"github.com/pressly/goose/v3"

	"fettle"
)

// A backup holds all that the shop entered or worked out. Left out are
//
//   - session: who is logged in on which browser. A stick in a drawer must not let
//     anybody in, and whoever comes back logs in again;
//   - secret: what passcodes are checked with, for the same reason. A restore keeps
//     those that are there;
//   - edit: answers to edits that may be asked for a second time when a line fails.
//     After a restore such an answer would tell of records that are no longer so.
//
// The tables of the queue underneath are not the shop's: they are made anew from the
// tasks that wait.
var leftOut = []string{"session", "secret", "edit"}

// table is one of the shop's tables as a version of the program made it.
type table struct {
	name    string
	columns []column
	key     []string
	parents []parent
}

type column struct {
	name   string
	number bool // a BIGINT; else TEXT
	null   bool
}

// parent is a column that must hold the value of another table's column, or nothing.
type parent struct{ column, table, of string }

// index is where a column stands, or -1.
func (t table) index(name string) int {
	return slices.IndexFunc(t.columns, func(c column) bool { return c.name == name })
}

func (t table) names() string {
	names := make([]string, len(t.columns))
	for i, c := range t.columns {
		names[i] = c.name
	}
	return strings.Join(names, ", ")
}

// latestSchema is the version that this program gives the tables.
func latestSchema() int64 {
	files, err := fs.ReadDir(migrationFiles, "migrations")
	latest := int64(0)
	for _, f := range files {
		n, bad := goose.NumericComponent(f.Name())
		err = errors.Join(err, bad)
		latest = max(latest, n)
	}
	if err != nil {
		panic("store: migrations cannot be read: " + err.Error())
	}
	return latest
}

// shapes are the tables of versions that were looked at: []table by int64.
var shapes sync.Map

// shapeAt is the tables as they were at a version, parents before their children; not
// to be changed.
func shapeAt(ctx context.Context, version int64) ([]table, error) {
	if known, ok := shapes.Load(version); ok {
		return known.([]table), nil
	}
	tables, err := lookAt(ctx, version)
	if err == nil {
		shapes.Store(version, tables)
	}
	return tables, err
}

// lookAt makes the tables in memory and looks: the migrations are the one place that
// knows them.
func lookAt(ctx context.Context, version int64) ([]table, error) {
	db, err := sqlitePool("/shape", "mode=memory")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1) // each connection has a memory of its own
	s := &Store{db: db, read: db, dialect: SQLite, log: slog.New(slog.DiscardHandler)}
	p, err := s.provider()
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(p.ListSources(), func(src *goose.Source) bool { return src.Version == version }) {
		return nil, fettle.Errorf(fettle.BadFile, "no version of this program made tables of version %d", version)
	}
	if _, err := p.UpTo(ctx, version); err != nil {
		return nil, err
	}
	var names []string
	err = s.each(ctx, `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> $1 ORDER BY name`,
		[]any{migrationTable}, func(row []any) error {
			names = append(names, text(row[0]))
			return nil
		})
	if err != nil {
		return nil, err
	}
	var found []table
	for _, name := range names {
		t := table{name: name}
		err := s.each(ctx, `SELECT name, type, "notnull", pk FROM pragma_table_info($1) ORDER BY cid`, []any{name}, func(row []any) error {
			c := column{name: text(row[0]), number: text(row[1]) == "BIGINT", null: row[2] == int64(0)}
			if !c.number && text(row[1]) != "TEXT" {
				panic(fmt.Sprintf("store: column %s of %s is neither TEXT nor BIGINT", c.name, name))
			}
			if row[3] != int64(0) {
				t.key, c.null = append(t.key, c.name), false
			}
			t.columns = append(t.columns, c)
			return nil
		})
		if err != nil {
			return nil, err
		}
		err = s.each(ctx, `SELECT "from", "table", "to" FROM pragma_foreign_key_list($1) ORDER BY id, seq`, []any{name}, func(row []any) error {
			t.parents = append(t.parents, parent{text(row[0]), text(row[1]), text(row[2])})
			return nil
		})
		if err != nil {
			return nil, err
		}
		found = append(found, t)
	}
	return parentsFirst(found), nil
}

func parentsFirst(tables []table) []table {
	var out []table
	done := map[string]bool{}
	for len(out) < len(tables) {
		before := len(out)
		for _, t := range tables {
			if !done[t.name] && !slices.ContainsFunc(t.parents, func(p parent) bool { return p.table != t.name && !done[p.table] }) {
				done[t.name] = true
				out = append(out, t)
			}
		}
		if len(out) == before {
			panic("store: tables refer to each other in a circle")
		}
	}
	return out
}

// kept are the tables that a backup holds.
func kept(all []table) []table {
	return slices.DeleteFunc(slices.Clone(all), func(t table) bool { return slices.Contains(leftOut, t.name) })
}

// each calls f with every row of a question.
func (s *Store) each(ctx context.Context, query string, args []any, f func(row []any) error) error {
	return eachRow(ctx, s.read, query, args, f)
}

func text(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case []byte:
		return string(v)
	}
	return ""
}
