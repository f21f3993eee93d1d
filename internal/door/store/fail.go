package store

import (
	"context"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"

	"fettle"
)

// Codes of SQLite (https://www.sqlite.org/rescode.html) that somebody can do
// something about. The low byte is the primary one.
const (
	sqliteBusy      = 5
	sqliteLocked    = 6
	sqliteReadOnly  = 8
	sqliteInterrupt = 9
	sqliteIOErr     = 10
	sqliteCorrupt   = 11
	sqliteFull      = 13
	sqliteCantOpen  = 14
	sqliteNotADB    = 26
	sqliteIOWrite   = sqliteIOErr | 3<<8

	sqliteUnique     = 19 | 8<<8 // SQLITE_CONSTRAINT_UNIQUE
	sqlitePrimaryKey = 19 | 6<<8
)

// sqliteCode is the extended result code in an error's chain, or 0.
func sqliteCode(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code()
	}
	return 0
}

// sqlState is PostgreSQL's code in an error's chain, or "": Appendix A of its
// manual.
func sqlState(err error) string {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

// fail turns what a driver says into what a person can use. What nobody can do
// anything about stays as it is: its text is for the log.
func (s *Store) fail(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	var ours *fettle.Error
	if errors.As(err, &ours) {
		return err
	}
	// Whoever gave up gets his own reason back, whatever the driver made of it.
	if ctx.Err() != nil {
		return fmt.Errorf("store: %w", context.Cause(ctx))
	}
	say := func(code fettle.Code, format string, args ...any) error {
		return &fettle.Error{Code: code, Message: fmt.Sprintf(format, args...), Err: err}
	}
	code, state := sqliteCode(err), sqlState(err)
	switch {
	case code&0xff == sqliteFull || code == sqliteIOWrite && noRoom(err) || state == "53100":
		return say(fettle.Full, "there is no room left on the disk that holds %s; free some and try again", s.where)
	case code&0xff == sqliteReadOnly || state == "25006":
		if s.readOnly {
			return s.denied()
		}
		return say(fettle.Denied, "%s may not be written; check the rights on it", s.where)
	case code&0xff == sqliteCantOpen:
		return say(fettle.Denied, "%s cannot be opened; check that it is a file and the rights on it and its folder", s.where)
	case state == "42501":
		return say(fettle.Denied, "the user of the database %s has no right to this; ask who looks after it", s.where)
	case code&0xff == sqliteCorrupt || code&0xff == sqliteNotADB:
		return say(fettle.BadFile, "%s is damaged or is no shop's; restore a backup", s.where)
	case code&0xff == sqliteBusy || code&0xff == sqliteLocked || again(err):
		return say(fettle.Conflict, "the shop is busy with other changes; try again in a moment")
	case lost(err):
		return say(fettle.Internal, "the database %s does not answer; look whether it runs, then try again", s.where)
	}
	return fmt.Errorf("store: %w", err)
}

// lostTries is how often something is tried while connections are lost: a server that
// was restarted may leave every one in the pool dead, and each try finds out about one.
func (s *Store) lostTries() int { return s.db.Stats().MaxOpenConnections + 2 }

// once runs a statement that may as well run twice, again where its connection was
// lost or PostgreSQL asks for it, and turns its error into what a person can use.
func (s *Store) once(ctx context.Context, f func() error) error {
	for try := 1; ; try++ {
		err := f()
		if err == nil || try == s.lostTries() || ctx.Err() != nil || !lost(err) && !again(err) {
			return s.fail(ctx, err)
		}
		s.log.Debug("statement tried again", "try", try, "err", err)
	}
}

// exec runs a statement on its own that may as well run twice.
func (s *Store) exec(ctx context.Context, text string, args ...any) error {
	return s.once(ctx, func() error {
		_, err := s.db.ExecContext(ctx, text, args...)
		return err
	})
}

// again reports whether PostgreSQL asks to try the whole transaction again.
func again(err error) bool {
	switch sqlState(err) {
	case "40001", // serialization_failure
		"40P01", // deadlock_detected
		"55P03": // lock_not_available
		return true
	}
	return false
}

// taken reports whether a name or key was there already.
func taken(err error) bool {
	c := sqliteCode(err)
	return c == sqliteUnique || c == sqlitePrimaryKey || sqlState(err) == "23505"
}

// lost reports whether the connection is gone, or was never made.
func lost(err error) bool {
	var n net.Error
	var c *pgconn.ConnectError
	if errors.As(err, &c) || errors.As(err, &n) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) {
		return true
	}
	switch st := sqlState(err); {
	case len(st) == 5 && st[:2] == "08", // connection exceptions
		st == "57P01", st == "57P02", st == "57P03", // shut down, crashed, starting
		st == "53300": // too many connections
		return true
	}
	return false
}

// missingTable reports whether a table is not there.
func missingTable(err error) bool {
	st := sqlState(err)
	return st == "42P01" || st == "3F000" || sqliteCode(err) == 1 // SQLITE_ERROR
}

// unreachable says why a database could not be opened.
func (s *Store) unreachable(ctx context.Context, c *pgx.ConnConfig, err error) error {
	if ctx.Err() != nil {
		return fmt.Errorf("store: %w", context.Cause(ctx))
	}
	say := func(code fettle.Code, format string, args ...any) error {
		return &fettle.Error{Code: code, Message: fmt.Sprintf(format, args...), Err: err}
	}
	switch sqlState(err) {
	case "28P01", "28000":
		return say(fettle.Denied, "the database at %s:%d does not let %q in; check user and password in its address", c.Host, c.Port, c.User)
	case "3D000":
		return say(fettle.NotFound, "there is no database %q at %s:%d; make it first, or check its address", c.Database, c.Host, c.Port)
	case "53300":
		return say(fettle.Conflict, "the database at %s:%d has no connection left; try again in a moment", c.Host, c.Port)
	}
	return say(fettle.NotFound, "the database at %s:%d does not answer; look whether PostgreSQL runs there, and check its address", c.Host, c.Port)
}

// denied is the answer to who wants to write through a store that only reads.
func (s *Store) denied() error {
	return fettle.Errorf(fettle.Denied, "the workspace %s is open for reading only; nothing can be changed in it", s.dir)
}

// diskError says what a folder or file would not do.
func (s *Store) diskError(do, path string, err error) error {
	say := func(code fettle.Code, format string, args ...any) error {
		return &fettle.Error{Code: code, Message: fmt.Sprintf(format, args...), Err: err}
	}
	switch {
	case noRoom(err):
		return say(fettle.Full, "there is no room left on the disk that holds %s; free some and try again", s.dir)
	case errors.Is(err, fs.ErrPermission):
		return say(fettle.Denied, "cannot %s %s: no right to it; check who owns it", do, path)
	}
	return say(fettle.BadFile, "cannot %s %s; check that it is in a folder of yours and the disk is well", do, path)
}
