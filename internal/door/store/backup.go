package store

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"fettle"
)

// backupFormat is the first thing that a backup says of itself.
const backupFormat = "fettle backup 1"

// A backup is a zip file (APPNOTE 6.3, deflated or stored) that needs no database to be read:
//
//	tables/<table>.jsonl  a row in each line, as a JSON object
//	files/<sha256>        stored files
//	manifest.json         what it is, and what must be in it
type manifest struct {
	Format  string     `json:"format"`
	Program string     `json:"program"`
	Schema  int64      `json:"schema"`
	Made    time.Time  `json:"made"`
	Tables  []tableSum `json:"tables"`
	// Files and FileBytes count what the table blob lists, less what was lost.
	Files     int      `json:"files"`
	FileBytes int64    `json:"file_bytes"`
	Lost      []string `json:"lost"`
}

type tableSum struct {
	Table  string `json:"table"`
	Rows   int64  `json:"rows"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// blobTable lists the stored files, by these columns.
const (
	blobTable = "blob"
	blobSHA   = "sha256"
	blobBytes = "bytes"
)

// Backup writes all that the shop keeps to one file, and reads it back before it
// gives the file its name: a backup with that name is whole. Others may go on writing
// meanwhile; it shows one moment. A file that is there already is left alone.
//
// A stored file that is gone or altered on the disk does not stop it: it is told as
// lost, and the rest is saved.
func (s *Store) Backup(ctx context.Context, path string, say func(what string, done, total int)) (_ fettle.BackupReport, err error) {
	var none fettle.BackupReport
	path, err = filepath.Abs(path)
	if err != nil {
		return none, fettle.Errorf(fettle.Invalid, "%s is no path of a file; give another: %w", path, err)
	}
	if exists(path) {
		return none, backupThere(path)
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*.part")
	if err != nil {
		return none, backupError(path, err)
	}
	defer func() {
		_ = f.Close()
		_ = os.Remove(f.Name())
	}()
	w := bufio.NewWriterSize(f, 1<<20)
	r, err := s.WriteBackup(ctx, w, say)
	if err == nil {
		err = errors.Join(w.Flush(), f.Sync())
	}
	if err != nil {
		return none, backupError(path, err)
	}
	b, err := openBackup(ctx, f, r.Bytes, path)
	if err == nil {
		b.ours = true
		err = b.verify(ctx, say)
	}
	if err != nil {
		return none, err
	}
	if err := f.Close(); err != nil {
		return none, backupError(path, err)
	}
	if err := nameBackup(f.Name(), path); err != nil {
		return none, backupError(path, err)
	}
	r.Path = path
	return r, nil
}

// nameBackup renames without ever overwriting.
func nameBackup(temp, path string) error {
	err := os.Link(temp, path)
	if errors.Is(err, fs.ErrExist) {
		return backupThere(path)
	}
	if err != nil {
		// A stick's file system may know no links.
		if exists(path) {
			return backupThere(path)
		}
		if err := os.Rename(temp, path); err != nil {
			return err
		}
	}
	return syncFolders(filepath.Dir(path))
}

func backupThere(path string) error {
	return fettle.Errorf(fettle.Conflict, "there is a file %s already, and a backup overwrites nothing; give another name", path)
}

// backupError says why a file could not be written.
func backupError(path string, err error) error {
	var ours *fettle.Error
	switch {
	case errors.As(err, &ours):
		return err
	case noRoom(err):
		return fettle.Errorf(fettle.Full, "there is no room left on the disk for %s; free some, or take another disk", path)
	case errors.Is(err, fs.ErrNotExist):
		return fettle.Errorf(fettle.NotFound, "there is no folder for %s; make it first", path)
	case errors.Is(err, fs.ErrPermission):
		return fettle.Errorf(fettle.Denied, "%s may not be written; take another folder", path)
	}
	return err
}

// WriteBackup writes what Backup does to a stream, which it cannot read back: a
// stream that was cut off is refused by a restore.
func (s *Store) WriteBackup(ctx context.Context, w io.Writer, say func(what string, done, total int)) (fettle.BackupReport, error) {
	if say == nil {
		say = func(string, int, int) {}
	}
	spool, err := s.spool()
	if err != nil {
		return fettle.BackupReport{}, s.diskError("make a file for the backup in", s.Scratch(), err)
	}
	defer func() {
		_ = spool.Close()
		_ = os.Remove(spool.Name())
	}()
	// The rows are set aside first, so that the moment is not held for as long as
	// somebody takes to receive them.
	say("tables", 0, 1)
	m, blobs, err := s.spoolTables(ctx, spool)
	if err != nil {
		if ours := (&spoolError{}); errors.As(err, &ours) {
			return fettle.BackupReport{}, s.diskError("write", spool.Name(), ours.err)
		}
		return fettle.BackupReport{}, s.fail(ctx, err)
	}
	out := &counting{w: w, ctx: ctx}
	z := zip.NewWriter(out)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	if _, err := spool.Seek(0, io.SeekStart); err != nil {
		return fettle.BackupReport{}, s.diskError("read", spool.Name(), err)
	}
	for _, t := range m.Tables {
		entry, err := z.CreateHeader(&zip.FileHeader{Name: tableEntry(t.Table), Method: zip.Deflate, Modified: m.Made})
		if err != nil {
			return fettle.BackupReport{}, err
		}
		if _, err := io.CopyN(entry, spool, t.Bytes); err != nil {
			return fettle.BackupReport{}, err
		}
	}
	files := &blobWriter{s: s, z: z, made: m.Made}
	for i := 0; i < len(blobs); {
		say("files", i, len(blobs))
		n := batch(blobs[i:])
		whole, err := files.write(ctx, blobs[i:i+n])
		if err != nil {
			return fettle.BackupReport{}, err
		}
		for k, b := range blobs[i : i+n] {
			if !whole[k] {
				m.Lost = append(m.Lost, b.SHA256)
				continue
			}
			m.Files++
			m.FileBytes += b.Bytes
		}
		i += n
	}
	say("files", len(blobs), len(blobs))
	entry, err := z.CreateHeader(&zip.FileHeader{Name: manifestEntry, Method: zip.Deflate, Modified: m.Made})
	if err != nil {
		return fettle.BackupReport{}, err
	}
	e := json.NewEncoder(entry)
	e.SetIndent("", "  ")
	if err := errors.Join(e.Encode(m), z.Close()); err != nil {
		return fettle.BackupReport{}, err
	}
	r := fettle.BackupReport{Bytes: out.n, Made: m.Made, Program: m.Program, Schema: m.Schema, Files: m.Files, FileBytes: m.FileBytes, Lost: m.Lost}
	r.Tables = tableRows(m.Tables)
	return r, nil
}

func tableRows(sums []tableSum) []fettle.TableRows {
	rows := make([]fettle.TableRows, len(sums))
	for i, t := range sums {
		rows[i] = fettle.TableRows{Table: t.Table, Rows: t.Rows}
	}
	return rows
}

// spool is a file for the rows, in the workspace or, where that may not be written
// to, with the system's temporary files.
func (s *Store) spool() (*os.File, error) {
	f, err := os.CreateTemp(s.Scratch(), "backup-*")
	if err != nil && !noRoom(err) {
		f, err = os.CreateTemp("", "fettle-backup-*")
	}
	return f, err
}

// spoolError is a failure of the spool, not of the database.
type spoolError struct{ err error }

func (e *spoolError) Error() string { return e.err.Error() }

// spoolTables writes all tables one after the other, as they are at one moment: in
// PostgreSQL the snapshot of REPEATABLE READ, in SQLite that of a read transaction on a
// WAL file (https://www.sqlite.org/isolation.html).
func (s *Store) spoolTables(ctx context.Context, w io.Writer) (manifest, []fettle.Blob, error) {
	m := manifest{Format: backupFormat, Program: program(), Lost: []string{}}
	var blobs []fettle.Blob
	err := s.oneMoment(ctx, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, `SELECT MAX(version_id) FROM `+migrationTable).Scan(&m.Schema); err != nil {
			return err
		}
		m.Made = s.now().UTC().Truncate(time.Microsecond)
		tables, err := shapeAt(ctx, m.Schema)
		if err != nil {
			return err
		}
		buffered := bufio.NewWriterSize(w, 1<<18)
		for _, t := range kept(tables) {
			sum, err := spoolTable(ctx, tx, t, buffered, func(row []any) {
				if t.name == blobTable {
					sha, _ := row[t.index(blobSHA)].(string)
					n, _ := row[t.index(blobBytes)].(int64)
					blobs = append(blobs, fettle.Blob{SHA256: sha, Bytes: n})
				}
			})
			if err != nil {
				return err
			}
			m.Tables = append(m.Tables, sum)
		}
		if err := buffered.Flush(); err != nil {
			return &spoolError{err}
		}
		return nil
	})
	return m, blobs, err
}

func spoolTable(ctx context.Context, q querier, t table, w io.Writer, see func(row []any)) (tableSum, error) {
	sum := tableSum{Table: t.name}
	h := sha256.New()
	var line []byte
	order := ""
	for i, k := range t.key {
		order += map[bool]string{true: " ORDER BY ", false: ", "}[i == 0] + k
	}
	err := eachRow(ctx, q, `SELECT `+t.names()+` FROM `+t.name+order, nil, func(row []any) (err error) {
		if line, err = appendRow(line[:0], t.columns, row); err != nil {
			return err
		}
		see(row)
		sum.Rows++
		sum.Bytes += int64(len(line))
		h.Write(line)
		if _, err := w.Write(line); err != nil {
			return &spoolError{err}
		}
		return nil
	})
	sum.SHA256 = hex.EncodeToString(h.Sum(nil))
	return sum, err
}

// oneMoment runs f in a transaction that only reads and sees nothing of what others
// do meanwhile.
func (s *Store) oneMoment(ctx context.Context, f func(tx *sql.Tx) error) error {
	o := &sql.TxOptions{ReadOnly: true}
	if s.dialect == Postgres {
		o.Isolation = sql.LevelRepeatableRead
	}
	tx, err := s.read.BeginTx(ctx, o)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }()
	return f(tx)
}

// counting counts what goes through, and stops with its context.
type counting struct {
	w   io.Writer
	ctx context.Context
	n   int64
}

func (c *counting) Write(p []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, fmt.Errorf("store: %w", context.Cause(c.ctx))
	}
	n, err := c.w.Write(p)
	c.n += int64(n)
	return n, err
}

// program is the version of this program.
func program() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unknown"
}
