package store

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"fettle"
)

// mostFindings is how many findings are listed: past that it is one trouble, not many.
const mostFindings = 1000

// Check looks whether all that the shop keeps is as it was stored: that the database
// is sound in itself, that every reference leads somewhere, that revisions follow each
// other and the last is the record, and that every stored file holds what its name
// says. It changes nothing, and others may go on working meanwhile.
func (s *Store) Check(ctx context.Context, say func(what string, done, total int)) (fettle.CheckReport, error) {
	if say == nil {
		say = func(string, int, int) {}
	}
	return s.check(ctx, say, true)
}

func (s *Store) check(ctx context.Context, say func(what string, done, total int), files bool) (fettle.CheckReport, error) {
	c := &checking{s: s, ctx: ctx, say: say}
	c.report.Leftovers, c.report.Findings = []string{}, []fettle.CheckFinding{}
	// Files are listed before rows: a file gets its row after its place.
	var lying []string
	if files {
		var err error
		if lying, err = s.lying(); err != nil {
			return fettle.CheckReport{}, err
		}
	}
	err := s.oneMoment(ctx, func(tx *sql.Tx) error {
		c.tx = tx
		for i, part := range []struct {
			name string
			look func() error
		}{
			{"the database", c.database},
			{"references", c.references},
			{"stored files", c.listBlobs},
			{"records", c.records},
			{"revisions", c.revisions},
			{"links", c.links},
			{"tasks", c.tasks},
		} {
			say(part.name, i, 7)
			if err := part.look(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return fettle.CheckReport{}, s.fail(ctx, err)
	}
	if s.dialect == Postgres {
		if err := c.indexes(); err != nil {
			return fettle.CheckReport{}, s.fail(ctx, err)
		}
	}
	if files {
		if err := c.files(lying); err != nil {
			return fettle.CheckReport{}, err
		}
	}
	c.report.Sound = len(c.report.Findings) == 0
	return c.report, nil
}

// checking is a check under way.
type checking struct {
	s      *Store
	ctx    context.Context
	tx     *sql.Tx
	say    func(what string, done, total int)
	blobs  []fettle.Blob
	known  map[string]bool // their SHA-256
	report fettle.CheckReport
}

func (c *checking) find(about, format string, args ...any) {
	if len(c.report.Findings) == mostFindings {
		c.report.More++
		return
	}
	c.report.Findings = append(c.report.Findings, fettle.CheckFinding{About: about, Says: fmt.Sprintf(format, args...)})
}

func (c *checking) each(query string, f func(row []any) error) error {
	return eachRow(c.ctx, c.tx, query, nil, f)
}

// database asks SQLite to look through its own file
// (https://www.sqlite.org/pragma.html#pragma_integrity_check).
func (c *checking) database() error {
	if c.s.dialect != SQLite {
		return nil
	}
	return c.each(`PRAGMA integrity_check(100)`, func(row []any) error {
		if says := text(row[0]); says != "ok" {
			c.find(dbFile, "the database is damaged (%s); restore a backup", strings.TrimSpace(says))
		}
		return nil
	})
}

// indexes asks PostgreSQL's module amcheck, where it is installed, to look through
// the indexes of the shop's tables.
func (c *checking) indexes() error {
	var at string
	err := eachRow(c.ctx, c.s.read, `SELECT n.nspname FROM pg_extension e JOIN pg_namespace n ON n.oid = e.extnamespace WHERE e.extname = 'amcheck'`, nil,
		func(row []any) error { at = text(row[0]); return nil })
	if err != nil || at == "" {
		return err
	}
	var names []string
	err = eachRow(c.ctx, c.s.read, `SELECT c.relname FROM pg_class c JOIN pg_index i ON i.indexrelid = c.oid JOIN pg_am a ON a.oid = c.relam
WHERE c.relnamespace = current_schema()::regnamespace AND a.amname = 'btree' AND i.indisvalid ORDER BY c.relname`, nil,
		func(row []any) error { names = append(names, text(row[0])); return nil })
	if err != nil {
		return err
	}
	for _, name := range names {
		_, err := c.s.read.ExecContext(c.ctx, `SELECT "`+strings.ReplaceAll(at, `"`, `""`)+`".bt_index_check(quote_ident($1)::regclass)`, name)
		switch state := sqlState(err); {
		case err == nil:
		case state == "XX001" || state == "XX002": // data_corrupted, index_corrupted
			c.find(name, "the index %s of the database is damaged; let who looks after it rebuild it (REINDEX), or restore a backup", name)
		case state == "42501": // not ours to ask
			return nil
		default:
			return err
		}
	}
	return nil
}

// references looks where every foreign key leads, as the tables declare them.
func (c *checking) references() error {
	tables, err := shapeAt(c.ctx, latestSchema())
	if err != nil {
		return err
	}
	for _, t := range tables {
		for _, p := range t.parents {
			err := c.each(fmt.Sprintf(`SELECT c.%s, c.%s FROM %s c LEFT JOIN %s p ON p.%s = c.%s WHERE c.%s IS NOT NULL AND p.%s IS NULL ORDER BY 1, 2`,
				t.key[0], p.column, t.name, p.table, p.of, p.column, p.column, p.of), func(row []any) error {
				c.find(text(row[0]), "a %s of %s leads to the %s %s, which is not there; restore a backup, or change the record so that it leads elsewhere", t.name, text(row[0]), p.table, text(row[1]))
				return nil
			})
			if err != nil {
				return err
			}
		}
	}
	return nil
}

func (c *checking) listBlobs() error {
	c.known = map[string]bool{}
	return c.each(`SELECT sha256, bytes FROM blob ORDER BY sha256`, func(row []any) error {
		n, _ := row[1].(int64)
		b := fettle.Blob{SHA256: text(row[0]), Bytes: n}
		if !isSHA(b.SHA256) || n < 0 {
			c.find(b.SHA256, "a stored file is listed as %.80q with %d bytes, which cannot be; restore a backup", b.SHA256, n)
			return nil
		}
		c.blobs = append(c.blobs, b)
		c.known[b.SHA256] = true
		return nil
	})
}
