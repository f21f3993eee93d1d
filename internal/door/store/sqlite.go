package store

import (
	"context"
	"database/sql"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"modernc.org/sqlite"

	"fettle"
)

// dbFile is the SQLite file of a workspace.
const dbFile = "shop.db"

// readers is how many connections only read; a shop's screens ask a handful of
// questions at a time.
const readers = 6

// openSQLite opens the file in the workspace. WAL lets readers go on while
// somebody writes; synchronous FULL makes what was answered survive a power cut
// (https://www.sqlite.org/pragma.html#pragma_synchronous).
func (s *Store) openSQLite(ctx context.Context) error {
	s.dialect = SQLite
	path := filepath.Join(s.dir, dbFile)
	s.where = path
	if s.readOnly {
		if _, err := os.Stat(path); err != nil {
			return fettle.Errorf(fettle.NotFound, "there is no workspace at %s: it holds no %s; check the path", s.dir, dbFile)
		}
		db, err := sqlitePool(path, "mode=ro", "_pragma=query_only(1)")
		if err != nil {
			return err
		}
		db.SetMaxOpenConns(readers)
		s.db, s.read, s.ask = db, db, &prepared{DB: db}
		return s.checkVersion(ctx)
	}
	// SQLite would make it readable for all; what it makes beside it has the same
	// rights.
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return s.diskError("open", path, err)
	}
	if err := f.Close(); err != nil {
		return s.diskError("open", path, err)
	}
	if s.db, err = sqlitePool(path, "mode=rwc", "_pragma=journal_mode(WAL)", "_pragma=synchronous(FULL)", "_txlock=immediate"); err != nil {
		return err
	}
	s.db.SetMaxOpenConns(1)
	s.db.SetMaxIdleConns(1)
	if err := s.migrate(ctx); err != nil {
		return err
	}
	if s.read, err = sqlitePool(path, "mode=rw", "_pragma=query_only(1)"); err != nil {
		return err
	}
	s.read.SetMaxOpenConns(readers)
	s.read.SetMaxIdleConns(readers)
	s.ask = &prepared{DB: s.read}
	return nil
}

// sqlitePool opens a pool on a file whose path may hold any characters.
func sqlitePool(path string, settings ...string) (*sql.DB, error) {
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p // C:/shop
	}
	settings = append(settings, "_pragma=busy_timeout(10000)", "_pragma=foreign_keys(1)")
	u := url.URL{Scheme: "file", Path: p, RawQuery: strings.Join(settings, "&")}
	c, err := sqlite.NewConnector(u.String())
	if err != nil {
		return nil, err
	}
	return sql.OpenDB(c), nil
}
