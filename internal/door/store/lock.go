package store

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"
	"time"

	"github.com/gofrs/flock"

	"fettle"
)

// A workspace is locked while it is in use: by the kernel, on the file "lock", so
// that a process that dies takes its lock with it. What stands in "lock.json" is for
// words alone.
//
// With SQLite the lock is exclusive. One process writes, and at its start it takes
// back the tasks that a dead one left half-done, which it may only do when nobody else
// can be doing them. Who only reads is in nobody's way: SQLite gives every reader one
// moment, and stored files never change. He shares a second lock, "lock.read", that
// only a restore wants alone.
//
// With PostgreSQL the database keeps processes apart, row by row, and the queue
// gives each task to one of them; the folder only holds stored files, that are made
// beside their place and renamed. So one process that serves and many that work share
// the lock, and only what moves the folder itself, a restore, wants it alone.
const (
	lockName = "lock"
	readName = "lock.read"
	noteName = "lock.json"
)

// lockNote says who holds a lock.
type lockNote struct {
	Process int       `json:"process"`
	Since   time.Time `json:"since"`
}

// shareWait is how long one who shares waits for another who is just coming in.
var shareWait = 2 * time.Second

// lockDir takes the workspace for this process, or shares it with others that share
// it, and gives the function that lets go of it. The first to come in finishes a
// restore that was cut off and empties the scratch folder. A workspace that is held is
// a Conflict.
func lockDir(dir string, shared bool) (release func() error, err error) {
	for until := time.Now().Add(shareWait); ; time.Sleep(20 * time.Millisecond) {
		f, err := tryLock(dir, lockName, false)
		if err == nil {
			if err := errors.Join(finishSwap(dir, nil), emptyScratch(dir)); err != nil {
				_ = f.Unlock()
				return nil, err
			}
			if !shared {
				return holdLock(dir, f), nil
			}
			// Not every system can turn one lock into the other: it is let go and
			// asked for again.
			_ = f.Unlock()
		}
		if !shared {
			return nil, err
		}
		f, err = tryLock(dir, lockName, true)
		if err == nil && !restoreCutOff(dir) {
			return holdLock(dir, f), nil
		}
		if err == nil {
			_ = f.Unlock() // a restore came between, and was cut off
			err = heldBy(dir)
		}
		if fettle.CodeOf(err) != fettle.Conflict || time.Now().After(until) {
			return nil, err
		}
	}
}

// emptyScratch throws away what belonged to processes that are gone.
func emptyScratch(dir string) error {
	scratch := filepath.Join(dir, "scratch")
	if err := os.RemoveAll(scratch); err != nil {
		return fettle.Errorf(fettle.Denied, "cannot empty %s; check who owns it: %w", scratch, err)
	}
	return nil
}

// lockReader is [lockDir] for who only reads: it keeps a restore away, and nobody else.
func lockReader(dir string) (release func() error, err error) {
	if err := finishRestore(dir); err != nil {
		return nil, err
	}
	f, err := tryLock(dir, readName, true)
	switch code := fettle.CodeOf(err); {
	case code == fettle.Conflict:
		return nil, fettle.Errorf(fettle.Conflict, "the workspace %s is being restored; wait until that is done", dir)
	case code == fettle.Denied || code == fettle.Full:
		// A folder that cannot be written to cannot be restored into either.
		return func() error { return nil }, nil
	case err != nil:
		return nil, err
	}
	return sync.OnceValue(f.Unlock), nil
}

// lockAlone is [lockDir] for a restore: nobody writes and nobody reads.
func lockAlone(dir string) (release func() error, err error) {
	one, err := lockDir(dir, false)
	if err != nil {
		return nil, err
	}
	f, err := tryLock(dir, readName, false)
	if err != nil {
		_ = one()
		if fettle.CodeOf(err) == fettle.Conflict {
			err = fettle.Errorf(fettle.Conflict, "the workspace %s is being read, perhaps by a backup; wait until that is done", dir)
		}
		return nil, err
	}
	return sync.OnceValue(func() error { return errors.Join(f.Unlock(), one()) }), nil
}

// tryLock takes the kernel's lock, or says who has it.
func tryLock(dir, name string, shared bool) (*flock.Flock, error) {
	f := flock.New(filepath.Join(dir, name), flock.SetFlag(os.O_CREATE|os.O_RDWR), flock.SetPermissions(0o600))
	try := f.TryLock
	if shared {
		try = f.TryRLock
	}
	switch ok, err := try(); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fettle.Errorf(fettle.NotFound, "there is no folder %s; make it first", dir)
	case err != nil && noRoom(err):
		return nil, fettle.Errorf(fettle.Full, "there is no room left on the disk that holds %s; free some and try again", dir)
	case err != nil:
		return nil, fettle.Errorf(fettle.Denied, "the workspace %s cannot be locked; it must be on a disk that you may write to: %w", dir, err)
	case !ok:
		return nil, heldBy(dir)
	}
	return f, nil
}

// holdLock leaves word of who holds the lock.
func holdLock(dir string, f *flock.Flock) (release func() error) {
	note := filepath.Join(dir, noteName)
	// A note that cannot be written costs words, nothing else.
	text, _ := json.Marshal(lockNote{Process: os.Getpid(), Since: time.Now().Truncate(time.Second)})
	_ = os.WriteFile(note, append(text, '\n'), 0o600)
	return sync.OnceValue(func() error {
		if n, ok := readNote(dir); ok && n.Process == os.Getpid() {
			_ = os.Remove(note)
		}
		return f.Unlock()
	})
}

func readNote(dir string) (lockNote, bool) {
	var n lockNote
	text, err := os.ReadFile(filepath.Join(dir, noteName))
	if err != nil || json.Unmarshal(text, &n) != nil || n.Process <= 0 {
		return lockNote{}, false
	}
	return n, true
}

// heldBy is the refusal, by name where the holder left one.
func heldBy(dir string) error {
	n, ok := readNote(dir)
	switch {
	case ok && n.Process == os.Getpid():
		return fettle.Errorf(fettle.Conflict, "the workspace %s is already open in this process; close it there first", dir)
	case ok && alive(n.Process):
		return fettle.Errorf(fettle.Conflict, "the workspace %s is in use by fettle (process %d, since %s); stop it, or ask it through its page", dir, n.Process, clock(n.Since, time.Now()))
	}
	// One of several that share it, or one that could not leave word.
	return fettle.Errorf(fettle.Conflict, "the workspace %s is in use by another fettle; stop it, or ask it through its page", dir)
}

// clock is a moment as one says it: the hour today, else with its day.
func clock(t, now time.Time) string {
	t, now = t.Local(), now.Local()
	if t.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return t.Format("15:04")
	}
	return t.Format("15:04 on 2006-01-02")
}

// alive reports whether there is such a process, as far as one can see: a note may
// outlive its writer while others share the lock.
func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	defer func() { _ = p.Release() }()
	if runtime.GOOS == "windows" {
		return true // FindProcess opened it
	}
	err = p.Signal(syscall.Signal(0))
	return err == nil || errors.Is(err, syscall.EPERM)
}
