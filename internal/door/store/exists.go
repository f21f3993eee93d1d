package store

import (
	"context"
	"os"
	"path/filepath"
)

// Exists reports whether a folder is a workspace that can be opened to read.
func Exists(dir string) bool {
	for _, sign := range []string{dbFile, "files"} {
		if _, err := os.Stat(filepath.Join(dir, sign)); err == nil {
			return true
		}
	}
	return false
}

// Healthy is nil when the database answers.
func (s *Store) Healthy(ctx context.Context) error {
	return s.fail(ctx, s.read.PingContext(ctx))
}
