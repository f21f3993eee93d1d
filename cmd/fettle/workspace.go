package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/shop"
	"fettle/internal/work"
)

// place is where a shop's records are: a folder, and a database where it is not
// in the folder.
type place struct {
	Workspace string `help:"Folder of the shop's records (default: in the user's data folder)." placeholder:"DIR" env:"FETTLE_WORKSPACE"`
	Database  string `help:"PostgreSQL URL, where the records are not kept in the folder itself." placeholder:"URL" env:"FETTLE_DATABASE"`
}

// folder is the workspace's, and whether someone chose it.
func (p place) folder() (dir string, chosen bool, err error) {
	if p.Workspace != "" {
		return p.Workspace, true, nil
	}
	base := os.Getenv("XDG_DATA_HOME")
	if base == "" {
		if base = os.Getenv("LocalAppData"); base == "" {
			home, err := os.UserHomeDir()
			if err != nil {
				return "", false, fettle.Errorf(fettle.Invalid, "there is no home folder to keep records in; say where with --workspace DIR")
			}
			base = filepath.Join(home, ".local", "share")
		}
	}
	return filepath.Join(base, "fettle"), false, nil
}

// exists reports whether there is a workspace to read.
func (p place) exists() bool {
	dir, chosen, err := p.folder()
	if err != nil {
		return false
	}
	if chosen || p.Database != "" {
		return true
	}
	return store.Exists(dir)
}

// workspace is a shop that is open for one command.
type workspace struct {
	*shop.Shop
	store *store.Store
	dir   string
}

func (w *workspace) Close() { w.store.Close() }

// open opens the workspace to change it, and makes it where there is none.
func (s *streams) open(ctx context.Context) (*workspace, error) { return s.openAs(ctx, false) }

// look opens the workspace to read it only, also while another fettle works in
// it.
func (s *streams) look(ctx context.Context) (*workspace, error) { return s.openAs(ctx, true) }

func (s *streams) openAs(ctx context.Context, readOnly bool) (*workspace, error) {
	dir, _, err := s.place.folder()
	if err != nil {
		return nil, err
	}
	if readOnly && s.place.Database == "" && !store.Exists(dir) {
		return nil, fettle.Errorf(fettle.NotFound, "there is no workspace in %s yet; fettle job new makes one, or name another with --workspace DIR", dir)
	}
	st, err := store.Open(ctx, store.Options{Dir: dir, URL: s.place.Database, ReadOnly: readOnly, Log: s.log})
	if err != nil {
		return nil, err
	}
	w := &workspace{shop.New(shop.Options{Store: st, Kernel: s.kernel, Program: version()}).Saying(s.progress()), st, dir}
	if !readOnly {
		if err := w.Begin(ctx); err != nil {
			st.Close()
			return nil, err
		}
	}
	return w, nil
}

// things is the shelf that a command chooses from: a file's where one is named,
// else the workspace's where there is one, else the built-in one.
func (s *streams) things(ctx context.Context, file string) (work.Things, error) {
	if file != "" || !s.place.exists() {
		return work.Things{ShelfFile: file}, nil
	}
	w, err := s.look(ctx)
	if err != nil {
		return work.Things{}, err
	}
	defer w.Close()
	shelf, err := w.Shelf(ctx)
	return work.Things{Shelf: shelf}, err
}

// logged is the workspace's log, nil where a file is named or there is none.
func (s *streams) logged(ctx context.Context, file string) (*fettle.Logbook, error) {
	if file != "" || !s.place.exists() {
		return nil, nil
	}
	w, err := s.look(ctx)
	if err != nil {
		return nil, err
	}
	defer w.Close()
	log, err := w.Teaching(ctx)
	return &log, err
}

// find is the record of a kind that a person means: by its id, by a beginning or an
// end of it that no other has, or by its name; one that was deleted where there is
// no other.
func (w *workspace) find(ctx context.Context, kind fettle.RecordKind, what string) (fettle.Record, error) {
	r, err := w.Get(ctx, kind, what)
	if err == nil || fettle.CodeOf(err) != fettle.NotFound {
		return r, err
	}
	var found, gone []fettle.Record
	for _, deleted := range []bool{false, true} {
		q := fettle.Query{Kind: kind, Deleted: deleted, Limit: 1000}
		for {
			page, err := w.List(ctx, q)
			if err != nil {
				return r, err
			}
			for _, r := range page.Records {
				long := len(what) >= 4
				named := fettle.FoldName(r.Name) == fettle.FoldName(what)
				switch {
				case long && (strings.HasPrefix(r.ID, what) || strings.HasSuffix(r.ID, what)) || named && !deleted:
					found = append(found, r)
				case named:
					gone = append(gone, r)
				}
			}
			if page.Next == "" {
				break
			}
			q.After = page.Next
		}
	}
	if len(found) == 0 {
		found = gone // to be looked at, or brought back
	}
	switch len(found) {
	case 0:
		return r, fettle.Errorf(fettle.NotFound, "there is no %s %q; fettle %s list tells which there are", kind, what, kind)
	case 1:
		return found[0], nil
	}
	return r, fettle.Errorf(fettle.Invalid, "%d of kind %s could be meant by %q; give more of the id", len(found), kind, what)
}

// withRecord opens the workspace, finds the record that is meant, and does
// something with it.
func (s *streams) withRecord(ctx context.Context, open func(context.Context) (*workspace, error), kind fettle.RecordKind, what string, do func(*workspace, fettle.Record) error) error {
	w, err := open(ctx)
	if err != nil {
		return err
	}
	defer w.Close()
	rec, err := w.find(ctx, kind, what)
	if err != nil {
		return err
	}
	return do(w, rec)
}

// version is which build this is. What was worked out is kept by it, so a build that
// has no version of its own goes by what is in it.
var version = sync.OnceValue(func() string {
	v := "unknown"
	if info, ok := debug.ReadBuildInfo(); ok {
		v = info.Main.Version
	}
	if v != "unknown" && v != "(devel)" {
		return v
	}
	exe, err := os.Executable()
	if err != nil {
		return v
	}
	f, err := os.Open(exe)
	if err != nil {
		return v
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return v
	}
	return v + " " + hex.EncodeToString(h.Sum(nil))[:12]
})

// actor is who changes records from the command line.
const actor = "owner at the terminal"

// notThere reports whether a file is missing.
func notThere(err error) bool { return errors.Is(err, os.ErrNotExist) }
