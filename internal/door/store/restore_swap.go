package store

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	"fettle"
)

// A restore builds the new workspace in a folder "restoring-…" beside the old one and
// then puts the file "ready" in it. Until that is on the disk the old workspace is
// the one; from then on the new one is, wherever its two halves lie, and what is
// missing is a few renames that can be done again from any point. Whoever next takes
// the workspace's lock does them.
const (
	freshPrefix  = "restoring-"
	beforePrefix = "before-"
	readyName    = "ready"
	filesName    = "files"
)

// readyNote is what "ready" says.
type readyNote struct {
	// Before is the folder for the old workspace, beside the new one.
	Before string `json:"before"`
}

// freshFolders are the workspaces being restored, finished or not.
func freshFolders(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	var names []string
	for _, e := range entries {
		if e.IsDir() && strings.HasPrefix(e.Name(), freshPrefix) {
			names = append(names, e.Name())
		}
	}
	return names, err
}

// restoreCutOff reports whether a restore is under way, or was cut off.
func restoreCutOff(dir string) bool {
	names, _ := freshFolders(dir)
	return len(names) > 0
}

// finishRestore finishes a restore that was cut off, or clears it away where it had
// not come far enough. Whoever opens a workspace calls it before anything is read.
func finishRestore(dir string) error {
	if !restoreCutOff(dir) {
		return nil
	}
	f, err := tryLock(dir, lockName, false)
	if err != nil {
		return err
	}
	return errors.Join(finishSwap(dir, nil), f.Unlock())
}

// finishSwap is finishRestore for who holds the lock. Before each change to the disk
// it calls at, where given: a test stops there.
func finishSwap(dir string, at func(step string) error) error {
	if at == nil {
		at = func(string) error { return nil }
	}
	names, err := freshFolders(dir)
	if err != nil {
		return err
	}
	for _, name := range names {
		if err := finishOne(dir, name, at); err != nil {
			return fettle.Errorf(fettle.Conflict, "a restore of the workspace %s was cut off and cannot be finished yet; close what holds files in it open, then start again: %w", dir, err)
		}
	}
	return nil
}

func finishOne(dir, name string, at func(step string) error) error {
	fresh := filepath.Join(dir, name)
	text, err := os.ReadFile(filepath.Join(fresh, readyName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := at("clear away"); err != nil {
			return err
		}
		return os.RemoveAll(fresh)
	case err != nil:
		return err
	}
	var ready readyNote
	if err := json.Unmarshal(text, &ready); err != nil {
		return err
	}
	before := filepath.Join(dir, filepath.Base(ready.Before))

	// The database goes last, and it tells how far we are: while the new one is
	// still in its folder, every database here is of the old workspace.
	newDatabase := filepath.Join(fresh, dbFile)
	if exists(newDatabase) {
		if err := at("make " + before); err != nil {
			return err
		}
		if err := os.MkdirAll(before, 0o700); err != nil {
			return err
		}
		for _, n := range []string{dbFile + "-wal", dbFile + "-shm", dbFile + "-journal", dbFile} {
			if err := moveIf(exists(filepath.Join(dir, n)), filepath.Join(dir, n), filepath.Join(before, n), at); err != nil {
				return err
			}
		}
		here, newFiles := filepath.Join(dir, filesName), filepath.Join(fresh, filesName)
		if exists(newFiles) {
			if err := moveIf(exists(here), here, filepath.Join(before, filesName), at); err != nil {
				return err
			}
		}
		if err := syncFolders(before, dir); err != nil {
			return err
		}
		if err := moveIf(exists(newFiles), newFiles, here, at); err != nil {
			return err
		}
		if err := syncFolders(dir, fresh); err != nil {
			return err
		}
		if err := moveIf(true, newDatabase, filepath.Join(dir, dbFile), at); err != nil {
			return err
		}
		if err := syncFolders(dir, fresh); err != nil {
			return err
		}
	}
	if err := at("clear up"); err != nil {
		return err
	}
	// Where nothing was before there is nothing to keep.
	_ = os.Remove(before)
	return os.RemoveAll(fresh)
}

func moveIf(there bool, from, to string, at func(step string) error) error {
	if !there {
		return nil
	}
	if err := at("move " + from); err != nil {
		return err
	}
	return os.Rename(from, to)
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// syncFolders puts what was renamed in folders on the disk. Windows knows no such
// call, and writes its directory with the rename.
func syncFolders(dirs ...string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	for _, dir := range dirs {
		f, err := os.Open(dir)
		if err != nil {
			return err
		}
		err = f.Sync()
		if err := errors.Join(ignoreUnsupported(err), f.Close()); err != nil {
			return err
		}
	}
	return nil
}

// ignoreUnsupported drops the error of file systems that cannot sync a folder.
func ignoreUnsupported(err error) error {
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		return nil
	}
	return err
}
