package store

import (
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"time"

	"fettle"
)

// Restore puts a backup in the place of what a workspace holds, in either database
// and from either. The backup is read whole before anything is touched; the new
// workspace is built beside the old one, checked, and takes its place in one stroke:
// whenever the power fails, the next Open finds the one or the other, whole. What was
// there before is kept, and the report says where.
//
// Passcodes stay as they are in the workspace. Tasks that were not done wait again.
// The workspace must not be open.
func Restore(ctx context.Context, o Options, path string, say func(what string, done, total int)) (fettle.RestoreReport, error) {
	return restore(ctx, o, path, say, nil)
}

// restoring is a restore under way.
type restoring struct {
	b     *backup
	dir   string
	log   *slog.Logger
	stamp string // names what this restore makes
	say   func(what string, done, total int)
	// at is called before each step; a test ends the process there.
	at     func(step string) error
	report fettle.RestoreReport
}

func restore(ctx context.Context, o Options, path string, say func(what string, done, total int), at func(step string) error) (fettle.RestoreReport, error) {
	if o.Dir == "" {
		panic("store: no workspace folder")
	}
	r := &restoring{say: say, at: at, log: o.Log, stamp: time.Now().UTC().Format("20060102t150405")}
	if r.say == nil {
		r.say = func(string, int, int) {}
	}
	if r.at == nil {
		r.at = func(string) error { return nil }
	}
	if r.log == nil {
		r.log = slog.New(slog.DiscardHandler)
	}
	var none fettle.RestoreReport
	f, size, err := openFile(path)
	if err != nil {
		return none, err
	}
	defer f.Close()
	if r.b, err = openBackup(ctx, f, size, path); err != nil {
		return none, err
	}
	if err := r.b.verify(ctx, r.say); err != nil {
		return none, err
	}
	m := r.b.m
	r.report = fettle.RestoreReport{From: path, Made: m.Made, Program: m.Program, Schema: m.Schema,
		Tables: tableRows(m.Tables), Files: m.Files, FileBytes: m.FileBytes, Lost: m.Lost}

	if r.dir, err = filepath.Abs(o.Dir); err != nil {
		return none, fettle.Errorf(fettle.Invalid, "%s is no path of a folder; give another: %w", o.Dir, err)
	}
	s := &Store{dir: r.dir, where: r.dir}
	if err := os.MkdirAll(r.dir, 0o700); err != nil {
		return none, s.diskError("make", r.dir, err)
	}
	unlock, err := lockAlone(r.dir)
	if err != nil {
		return none, err
	}
	defer func() { _ = unlock() }()
	if o.URL == "" {
		err = r.intoSQLite(ctx)
	} else {
		err = r.intoPostgres(ctx, o.URL, o.Schema)
	}
	if err != nil {
		return none, err
	}
	return r.report, nil
}

// openFile opens a file that somebody named, and nothing that only looks like one: a
// pipe would be waited for.
func openFile(path string) (f *os.File, size int64, err error) {
	st, err := os.Stat(path)
	if err == nil && !st.Mode().IsRegular() {
		return nil, 0, fettle.Errorf(fettle.BadFile, "%s is not a file; give the backup itself", path)
	}
	if err == nil {
		f, err = os.Open(path)
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, 0, fettle.Errorf(fettle.NotFound, "there is no file %s; check the path", path)
	case errors.Is(err, fs.ErrPermission):
		return nil, 0, fettle.Errorf(fettle.Denied, "%s may not be read; check who owns it", path)
	case err != nil:
		return nil, 0, fettle.Errorf(fettle.BadFile, "%s cannot be read; copy it to another disk: %w", path, err)
	}
	return f, st.Size(), nil
}

// intoSQLite builds a workspace in a folder of its own and swaps it in.
func (r *restoring) intoSQLite(ctx context.Context) (err error) {
	here := &Store{dir: r.dir, where: r.dir}
	if err := r.at("make the folder"); err != nil {
		return err
	}
	fresh, err := os.MkdirTemp(r.dir, freshPrefix+r.stamp+"-")
	if err != nil {
		return here.diskError("make a folder in", r.dir, err)
	}
	ready := false
	defer func() {
		if !ready {
			_ = os.RemoveAll(fresh)
		}
	}()
	if err := r.build(ctx, fresh); err != nil {
		return err
	}
	before := r.freeName(beforePrefix + r.stamp)
	if err := r.at("say that it is ready"); err != nil {
		return err
	}
	// From here on the new one is the workspace, whatever happens.
	if err := writeReady(fresh, readyNote{Before: before}); err != nil {
		return here.diskError("write in", fresh, err)
	}
	ready = true
	if err := finishSwap(r.dir, r.at); err != nil {
		return err
	}
	if exists(filepath.Join(r.dir, before)) {
		r.report.Before = filepath.Join(r.dir, before)
	}
	return nil
}

// freeName is a name in the workspace that is not taken.
func (r *restoring) freeName(name string) string {
	free := name
	for n := 'b'; exists(filepath.Join(r.dir, free)); n++ {
		free = name + string(n)
	}
	return free
}

// build makes a whole workspace in an empty folder, on the disk when it returns.
func (r *restoring) build(ctx context.Context, fresh string) error {
	path := filepath.Join(fresh, dbFile)
	// Until it is ready nobody needs this file back after a crash, so it is
	// written without a journal and put on the disk once.
	db, err := sqlitePool(path, "mode=rwc", "_pragma=journal_mode(MEMORY)", "_pragma=synchronous(OFF)")
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	s := &Store{db: db, read: db, dialect: SQLite, dir: fresh, where: r.dir, log: r.log, now: time.Now}
	if err := r.load(ctx, s); err != nil {
		return err
	}
	if err := r.at("take over passcodes"); err != nil {
		return err
	}
	if old := filepath.Join(r.dir, dbFile); exists(old) {
		if err := r.secretsFrom(ctx, old, s); err != nil {
			return err
		}
	}
	if err := r.at("write files"); err != nil {
		return err
	}
	if err := r.files(ctx, s, func(sha string) bool { return false }); err != nil {
		return err
	}
	if err := r.at("check"); err != nil {
		return err
	}
	if err := r.look(ctx, s); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, `PRAGMA journal_mode(WAL)`); err != nil {
		return s.fail(ctx, err)
	}
	if err := db.Close(); err != nil {
		return s.fail(ctx, err)
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return s.diskError("open", path, err)
	}
	if err := errors.Join(f.Sync(), f.Close(), syncFolders(fresh)); err != nil {
		return s.diskError("write", path, err)
	}
	return nil
}

// secretsFrom takes over the passcodes of the workspace as it is. Where its database
// is too damaged for that the restore goes on: it is most wanted then.
func (r *restoring) secretsFrom(ctx context.Context, old string, s *Store) error {
	db, err := sqlitePool(old, "mode=rw")
	if err == nil {
		defer db.Close()
		err = copySecrets(ctx, db, s)
	}
	if err != nil && ctx.Err() == nil {
		r.log.Warn("passcodes are not taken over", "err", err)
		r.report.Notes = append(r.report.Notes, "the passcodes of the workspace as it was could not be read; set them again")
		return nil
	}
	return s.fail(ctx, err)
}

// look checks the rows that were loaded; the files were checked on their way.
func (r *restoring) look(ctx context.Context, s *Store) error {
	c, err := s.check(ctx, r.say, false)
	if err != nil {
		return err
	}
	if n := len(c.Findings) + c.More; n > 0 {
		r.report.Notes = append(r.report.Notes, "what came back was not sound when it was saved; let the workspace be checked, for "+c.Findings[0].Says)
	}
	if len(r.b.m.Lost) > 0 {
		r.report.Notes = append(r.report.Notes, "some files were lost already when the backup was made; look for them in an older one")
	}
	return nil
}

func writeReady(fresh string, note readyNote) error {
	text, err := json.Marshal(note)
	if err != nil {
		return err
	}
	temp := filepath.Join(fresh, readyName+".part")
	f, err := os.OpenFile(temp, os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	// The folder itself must be there before it can be the workspace.
	if err := syncFolders(filepath.Dir(fresh)); err != nil {
		return err
	}
	if err := os.Rename(temp, filepath.Join(fresh, readyName)); err != nil {
		return err
	}
	return syncFolders(fresh)
}
