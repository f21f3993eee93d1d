package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"fettle/internal/door/store"
)

// promised are the records that were answered by now.
func (s *siege) promised() []line {
	s.l.mu.Lock()
	defer s.l.mu.Unlock()
	var out []line
	for _, ln := range s.l.lines {
		out = append(out, *ln)
	}
	return out
}

// backUp gets a backup by the web door.
func (s *siege) backUp(server *child, i int) {
	must := s.promised()
	a, err := server.ask("GET", "/api/backup", nil, nil)
	if err != nil {
		return // broken off: no backup
	}
	path := filepath.Join(filepath.Dir(s.house.dir), fmt.Sprintf("door-%d.zip", i))
	if err := os.WriteFile(path, a.body, 0o600); err != nil || a.status != 200 {
		s.t.Errorf("backup: %d, %v", a.status, err)
		return
	}
	s.keepBackup(path, must, true)
}

// keepBackup notes a backup. One that was cut off is not there, or it is whole.
func (s *siege) keepBackup(path string, must []line, done bool) {
	if _, err := os.Stat(path); err != nil {
		if done {
			s.t.Errorf("a backup was done and is not there: %v", err)
		}
		s.l.counted("backups cut off, not there")
		return
	}
	s.l.mu.Lock()
	defer s.l.mu.Unlock()
	s.l.backups = append(s.l.backups, &saved{path, must})
}

// takeBackups restores what was backed up into folders of their own, and looks whether
// all is there that had been answered before.
func (s *siege) takeBackups() {
	t := s.t
	s.timed("restores", func() {
		for _, b := range s.l.backups {
			dir := b.path + ".restored"
			if _, err := store.Restore(context.Background(), store.Options{Dir: dir}, b.path, nil); err != nil {
				t.Errorf("backup %s: %v", b.path, err)
				continue
			}
			st, err := house{dir: dir}.open(false)
			if err != nil {
				t.Fatal(err)
			}
			for _, ln := range b.must {
				r, err := st.Get(context.Background(), ln.kind, ln.id)
				if err != nil || r.Rev < ln.rev || r.Rev == ln.rev && canonical(r.Body) != ln.body {
					t.Errorf("backup %s: %s %s is in revision %d, %v; answered was %d", b.path, ln.kind, ln.id, r.Rev, err, ln.rev)
				}
			}
			st.Close()
			s.l.counted("backups restored")
			if err := os.RemoveAll(dir); err != nil {
				t.Error(err)
			}
			if err := os.Remove(b.path); err != nil {
				t.Error(err)
			}
		}
		s.l.backups = nil
	})
}
