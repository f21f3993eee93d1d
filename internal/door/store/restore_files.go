package store

import (
	"cmp"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"fettle"
)

// files writes the stored files of a backup to where a store has them, on the disk
// for good when it returns. Those that are there already, and as they should be, are
// left alone.
func (r *restoring) files(ctx context.Context, s *Store, there func(sha string) bool) error {
	root := filepath.Join(s.dir, filesName)
	folders := map[string]bool{s.dir: true, root: true}
	err := os.MkdirAll(root, 0o700)
	if err == nil {
		err = r.b.batches(ctx, func(blobs []fettle.Blob, done int) error {
			r.say("files", done, r.b.m.Files)
			for _, b := range blobs {
				folders[filepath.Dir(s.blobPath(b.SHA256))] = true
			}
			return r.someFiles(ctx, s, blobs, there)
		})
	}
	if err == nil {
		all := []string{}
		for f := range folders {
			if exists(f) {
				all = append(all, f)
			}
		}
		slices.Sort(all)
		err = syncFolders(all...)
	}
	var ours *fettle.Error
	if err == nil || errors.As(err, &ours) || ctx.Err() != nil {
		return err
	}
	return s.diskError("write files in", root, err)
}

// someFiles writes files beside their places and renames them when they are on the
// disk. The disk is waited for with all of them at once: waiting for each takes longer
// than writing it.
func (r *restoring) someFiles(ctx context.Context, s *Store, blobs []fettle.Blob, there func(sha string) bool) error {
	open := make([]*os.File, len(blobs))
	err := together(ctx, len(blobs), func(i int) (err error) {
		if there(blobs[i].SHA256) {
			return nil
		}
		path := s.blobPath(blobs[i].SHA256)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			return err
		}
		if open[i], err = os.OpenFile(path+".part", os.O_CREATE|os.O_WRONLY|os.O_TRUNC, 0o600); err != nil {
			return err
		}
		return r.b.file(ctx, blobs[i], into{open[i]})
	})
	errs := make([]error, len(blobs))
	var wg sync.WaitGroup
	for i, f := range open {
		if f == nil {
			continue
		}
		wg.Go(func() {
			if err != nil {
				_ = f.Close()
				_ = os.Remove(f.Name())
				return
			}
			errs[i] = settleFile(f, s.blobPath(blobs[i].SHA256))
		})
	}
	wg.Wait()
	return cmp.Or(append(errs, err)...)
}

// settleFile puts a file on the disk and gives it its name.
func settleFile(f *os.File, path string) error {
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Chmod(f.Name(), 0o400); err != nil {
		return err
	}
	err := os.Rename(f.Name(), path)
	if err != nil && exists(path) {
		// Not every system renames over a file that may not be written.
		err = errors.Join(os.Remove(path), os.Rename(f.Name(), path))
	}
	return err
}

// into marks errors of what is written to, apart from those of what is read.
type into struct{ w io.Writer }

func (i into) Write(p []byte) (int, error) {
	n, err := i.w.Write(p)
	if err != nil {
		err = &writeError{err}
	}
	return n, err
}
