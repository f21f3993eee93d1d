package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"fettle"
)

// PutBlob stores a file of at most so many bytes; it is there for good when PutBlob
// returns: its bytes, its name in its folder and its row are on the disk, in this
// order. The same content is stored once, and stored again it mends a file that was
// damaged.
func (s *Store) PutBlob(ctx context.Context, r io.Reader, most int64) (fettle.Blob, error) {
	if s.readOnly {
		return fettle.Blob{}, s.denied()
	}
	f, err := os.CreateTemp(s.Scratch(), "file-")
	if err != nil {
		return fettle.Blob{}, s.diskError("write to", s.Scratch(), err)
	}
	name := f.Name()
	defer os.Remove(name) // where it was not renamed
	b, err := s.receive(ctx, f, r, most)
	if err == nil {
		if err = f.Sync(); err != nil {
			err = s.diskError("write", name, err)
		}
	}
	if e := f.Close(); err == nil && e != nil {
		err = s.diskError("write", name, e)
	}
	if err != nil {
		return fettle.Blob{}, err
	}
	return b, s.place(ctx, name, b)
}

// receive copies what comes into a file.
func (s *Store) receive(ctx context.Context, f *os.File, r io.Reader, most int64) (fettle.Blob, error) {
	h := sha256.New()
	var n int64
	buf := make([]byte, 256<<10)
	for {
		if ctx.Err() != nil {
			return fettle.Blob{}, fmt.Errorf("store: %w", context.Cause(ctx))
		}
		k, err := r.Read(buf)
		if n += int64(k); n > most {
			return fettle.Blob{}, fettle.Errorf(fettle.BadFile, "the file is larger than the %s that are taken; send a smaller one", size(most))
		}
		h.Write(buf[:k])
		if _, err := f.Write(buf[:k]); err != nil {
			return fettle.Blob{}, s.diskError("write", f.Name(), err)
		}
		if err == io.EOF {
			return fettle.Blob{SHA256: hex.EncodeToString(h.Sum(nil)), Bytes: n}, nil
		}
		if err != nil {
			var ours *fettle.Error
			if errors.As(err, &ours) {
				return fettle.Blob{}, err
			}
			if ctx.Err() != nil {
				return fettle.Blob{}, fmt.Errorf("store: %w", context.Cause(ctx))
			}
			return fettle.Blob{}, &fettle.Error{Code: fettle.BadFile, Message: fmt.Sprintf("the file broke off after %s; send it again", size(n)), Err: err}
		}
	}
}

// size is a number of bytes for people.
func size(n int64) string {
	switch {
	case n >= 10<<20:
		return fmt.Sprintf("%d MB", n>>20)
	case n >= 10<<10:
		return fmt.Sprintf("%d kB", n>>10)
	}
	return fmt.Sprintf("%d bytes", n)
}

// place renames a received file to where it belongs and writes its row.
func (s *Store) place(ctx context.Context, name string, b fettle.Blob) error {
	s.blobs.Lock()
	defer s.blobs.Unlock()
	at := s.blobPath(b.SHA256)
	folder := filepath.Dir(at)
	_, err := os.Stat(folder)
	newFolder := errors.Is(err, fs.ErrNotExist)
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return s.diskError("make", folder, err)
	}
	_, err = os.Stat(at)
	newFile := errors.Is(err, fs.ErrNotExist)
	if err := os.Chmod(name, 0o400); err != nil {
		return s.diskError("protect", name, err)
	}
	if err := os.Rename(name, at); err != nil {
		// Not every system renames over a file that somebody reads.
		if s.lies(b) != nil {
			return s.diskError("write", at, err)
		}
	}
	folders := []string{folder}
	if newFolder {
		folders = append(folders, filepath.Dir(folder))
	}
	if err := syncFolders(folders...); err != nil {
		return s.diskError("write to", folder, err)
	}
	err = s.exec(ctx, `INSERT INTO blob (sha256, bytes, made_us) VALUES ($1, $2, $3) ON CONFLICT (sha256) DO NOTHING`,
		b.SHA256, b.Bytes, micros(s.now()))
	// A file without a row is in nobody's way, but on a full disk it takes room. On
	// PostgreSQL another process may have written the row just now.
	if fettle.CodeOf(err) == fettle.Full && newFile && s.dialect == SQLite {
		_ = os.Remove(at)
	}
	return err
}

// OpenBlob opens a stored file.
func (s *Store) OpenBlob(ctx context.Context, sha256 string) (io.ReadSeekCloser, fettle.Blob, error) {
	b, err := s.blob(ctx, sha256)
	if err != nil {
		return nil, fettle.Blob{}, err
	}
	f, err := os.Open(s.blobPath(sha256))
	if err != nil {
		return nil, fettle.Blob{}, s.spoiled(b, err)
	}
	if st, err := f.Stat(); err != nil || !st.Mode().IsRegular() || st.Size() != b.Bytes {
		f.Close()
		return nil, fettle.Blob{}, s.spoiled(b, err)
	}
	return f, b, nil
}

// BlobPath is where a stored file lies on the disk, to be read only.
func (s *Store) BlobPath(ctx context.Context, sha256 string) (string, error) {
	b, err := s.blob(ctx, sha256)
	if err != nil {
		return "", err
	}
	return s.blobPath(sha256), s.lies(b)
}

// blob is the row of a stored file.
func (s *Store) blob(ctx context.Context, sha string) (fettle.Blob, error) {
	missing := fettle.Errorf(fettle.NotFound, "no file with the SHA-256 %s is stored; store it first", show(sha))
	if !isSHA(sha) {
		return fettle.Blob{}, missing
	}
	b := fettle.Blob{SHA256: sha}
	err := s.once(ctx, func() error {
		return s.ask.QueryRowContext(ctx, `SELECT bytes FROM blob WHERE sha256 = $1`, sha).Scan(&b.Bytes)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Blob{}, missing
	}
	return b, err
}

// lies looks that a stored file is in its place with its length.
func (s *Store) lies(b fettle.Blob) error {
	st, err := os.Stat(s.blobPath(b.SHA256))
	if err != nil || !st.Mode().IsRegular() || st.Size() != b.Bytes {
		return s.spoiled(b, err)
	}
	return nil
}

// spoiled is the error of a stored file that is not as it was stored.
func (s *Store) spoiled(b fettle.Blob, err error) error {
	if errors.Is(err, fs.ErrPermission) {
		return s.diskError("read", s.blobPath(b.SHA256), err)
	}
	what := "has another length than when it was stored"
	if errors.Is(err, fs.ErrNotExist) {
		what = "is gone"
	}
	return &fettle.Error{Code: fettle.BadFile, Message: fmt.Sprintf("the stored file %s %s; put the same file in again, or restore a backup", s.blobPath(b.SHA256), what), Err: err}
}
