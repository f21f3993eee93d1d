package store

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fettle"
	"fettle/internal/shape/cores"
)

// lying are all files that lie where stored files do, by their path from the workspace.
func (s *Store) lying() ([]string, error) {
	var found []string
	root := filepath.Join(s.dir, filesName)
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil
		case err != nil:
			return err
		case !d.IsDir():
			rel, err := filepath.Rel(s.dir, path)
			if err != nil {
				return err
			}
			found = append(found, rel)
		}
		return nil
	})
	if err != nil {
		return nil, s.diskError("read", root, err)
	}
	return found, nil
}

// files reads every stored file, and names what lies beside them.
func (c *checking) files(lying []string) error {
	says := make([]string, len(c.blobs))
	total := len(c.blobs)
	// A hundred at a time, so that progress can be told from this goroutine.
	for lo := 0; lo < total; lo += 100 {
		c.say("stored files", lo, total)
		hi := min(lo+100, total)
		if err := cores.Each(c.ctx, hi-lo, func(i int) { says[lo+i] = c.s.unlike(c.blobs[lo+i]) }); err != nil {
			return c.s.fail(c.ctx, err)
		}
	}
	for i, b := range c.blobs {
		c.report.Files++
		c.report.FileBytes += b.Bytes
		if says[i] != "" {
			c.find(b.SHA256, "the stored file %s %s; put the same file in again, or restore a backup", b.SHA256, says[i])
		}
	}
	for _, path := range lying {
		sha := filepath.Base(path)
		if !c.known[sha] || path != filepath.Join(filesName, sha[:2], sha) {
			c.report.Leftovers = append(c.report.Leftovers, filepath.ToSlash(path))
		}
	}
	return nil
}

// unlike says how a stored file is not as it was stored; "" where it is.
func (s *Store) unlike(b fettle.Blob) string {
	st, err := os.Lstat(s.blobPath(b.SHA256))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "is gone"
	case err != nil:
		return "cannot be read"
	case !st.Mode().IsRegular():
		return "is no file any more"
	case st.Size() != b.Bytes:
		return fmt.Sprintf("has %d bytes and should have %d", st.Size(), b.Bytes)
	}
	sum, _, err := sumFile(s.blobPath(b.SHA256))
	switch {
	case err != nil:
		return "cannot be read to its end"
	case sum != b.SHA256:
		return "was altered"
	}
	return ""
}

// sumFile is a file's SHA-256 and length.
func sumFile(path string) (sum string, n int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	h := sha256.New()
	n, err = io.CopyBuffer(h, struct{ io.Reader }{f}, make([]byte, 1<<17))
	return hex.EncodeToString(h.Sum(nil)), n, err
}
