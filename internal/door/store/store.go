// Package store keeps a shop's records and files: in one SQLite file in the
// workspace folder, or in PostgreSQL by a URL, with content-addressed files beside
// it. [Open] gives a [Store].
//
// The workspace folder holds
//
//	shop.db   the records, where no URL is given
//	files/    stored files, files/ab/abcd… by their SHA-256
//	scratch/  work in progress, emptied at every start
//	lock      held by the one process that writes
//
// One SQL text serves both databases. What is kept is never overwritten: every
// revision of a record stays in the table revision, and the table record only
// says which one is the last.
package store

import (
	"context"
	"database/sql"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"fettle"
)

// Dialect is which database a store lies in.
type Dialect string

// The dialects.
const (
	SQLite   Dialect = "sqlite"
	Postgres Dialect = "postgres"
)

// DefaultSchema is the schema of a PostgreSQL database that a shop lies in.
const DefaultSchema = "fettle"

// Options says where a store lies.
type Options struct {
	// Dir is the workspace folder; it is made if it is missing.
	Dir string
	// URL of a PostgreSQL database; empty for SQLite in the workspace.
	URL string
	// Schema within that database; empty for [DefaultSchema].
	Schema string
	// ReadOnly opens beside whoever holds the workspace, and changes nothing.
	ReadOnly bool
	Log      *slog.Logger // nil: none
}

// Store keeps a shop's records and files. It may be used from many goroutines.
type Store struct {
	// db writes, read only reads. On PostgreSQL they are the same pool. On SQLite,
	// which has one writer at a time, db is one connection: who waits for it waits
	// in turn and as long as his context lets him, where SQLite's own waiting is by
	// chance.
	db, read *sql.DB
	ask      asker // read, for questions that are asked again and again
	dialect  Dialect
	dir      string
	where    string // the database, for people: a path, or "shop at localhost:5432"
	readOnly bool
	log      *slog.Logger
	unlock   func() error
	now      func() time.Time

	// blobs is held from putting a file in its place until its row is there, so
	// that nobody clears away what another has just stored.
	blobs sync.Mutex
}

// Open opens a workspace, makes what is missing in it and brings its tables up to
// date. Only one process may have it open, besides those that only read.
func Open(ctx context.Context, o Options) (_ *Store, err error) {
	if o.Dir == "" {
		panic("store: no workspace folder")
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Schema == "" {
		o.Schema = DefaultSchema
	}
	dir, err := filepath.Abs(o.Dir)
	if err != nil {
		return nil, fettle.Errorf(fettle.Invalid, "%s is no path of a folder; give another: %w", o.Dir, err)
	}
	s := &Store{dir: dir, readOnly: o.ReadOnly, log: o.Log, now: time.Now, where: dir}
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	if err := s.folders(o.URL != ""); err != nil {
		return nil, err
	}
	if o.URL == "" {
		err = s.openSQLite(ctx)
	} else {
		err = s.openPostgres(ctx, o.URL, o.Schema)
	}
	if err != nil {
		return nil, err
	}
	return s, nil
}

// folders makes and locks the workspace, or looks that it is there.
func (s *Store) folders(shared bool) error {
	if s.readOnly {
		if st, err := os.Stat(s.dir); err != nil || !st.IsDir() {
			return fettle.Errorf(fettle.NotFound, "there is no workspace at %s; check the path", s.dir)
		}
		unlock, err := lockReader(s.dir)
		if err != nil {
			return err
		}
		s.unlock = unlock
		return nil
	}
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return s.diskError("make", s.dir, err)
	}
	// The lock also empties the scratch folder, when nobody else is there.
	unlock, err := lockDir(s.dir, shared)
	if err != nil {
		return err
	}
	s.unlock = unlock
	for _, d := range []string{s.Scratch(), filepath.Join(s.dir, "files")} {
		if err := os.MkdirAll(d, 0o700); err != nil {
			return s.diskError("make", d, err)
		}
	}
	return nil
}

// Close lets go of the database and the workspace.
func (s *Store) Close() error {
	var first error
	note := func(err error) {
		if first == nil {
			first = err
		}
	}
	if s.read != nil && s.read != s.db {
		note(s.read.Close())
	}
	if s.db != nil {
		note(s.db.Close()) // the last to close a WAL folds it into the file
	}
	if s.unlock != nil {
		note(s.unlock())
		s.unlock = nil
	}
	return first
}

// DB is the database, for tables that are not this room's. On SQLite it is a single
// connection that begins transactions as a writer: whoever holds a transaction or
// rows of it open must end them before he asks it for anything else, or changes
// anything in the store, or he waits for himself.
func (s *Store) DB() *sql.DB { return s.db }

// Read is a pool that only reads, beside whoever holds [Store.DB]; what was committed
// there is seen here.
func (s *Store) Read() *sql.DB { return s.read }

// Dialect is which database it is.
func (s *Store) Dialect() Dialect { return s.dialect }

// Dir is the workspace folder.
func (s *Store) Dir() string { return s.dir }

// Scratch is a folder on the same disk for work in progress; it is emptied at every
// start.
func (s *Store) Scratch() string { return filepath.Join(s.dir, "scratch") }

// blobPath is where the file with this SHA-256 lies or would lie.
func (s *Store) blobPath(sha string) string {
	return filepath.Join(s.dir, "files", sha[:2], sha)
}

// micros is a time as the tables hold it; zero for no time.
func micros(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

// instant is the time of a column of microseconds.
func instant(us int64) time.Time {
	if us == 0 {
		return time.Time{}
	}
	return time.UnixMicro(us).UTC()
}
