package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"

	"fettle"
)

// onDisk lists the files that lie in a workspace's files and scratch folders.
func onDisk(t testing.TB, s *Store) []string {
	t.Helper()
	var out []string
	for _, d := range []string{"files", "scratch"} {
		err := filepath.WalkDir(filepath.Join(s.dir, d), func(path string, e fs.DirEntry, err error) error {
			if err == nil && !e.IsDir() {
				rel, _ := filepath.Rel(s.dir, path)
				out = append(out, filepath.ToSlash(rel))
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func TestBlob(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		rapid.Check(t, func(t *rapid.T) {
			want := rapid.SliceOfN(rapid.Byte(), 0, 5000).Draw(t, "content")
			b, err := s.PutBlob(ctx, iotest.OneByteReader(bytes.NewReader(want)), int64(len(want)))
			if err != nil {
				t.Fatal(err)
			}
			sum := sha256.Sum256(want)
			if b.SHA256 != hex.EncodeToString(sum[:]) || b.Bytes != int64(len(want)) {
				t.Fatalf("%+v", b)
			}
			f, again, err := s.OpenBlob(ctx, b.SHA256)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			got, err := io.ReadAll(f)
			if err != nil || !bytes.Equal(got, want) || again != b {
				t.Fatalf("%d bytes of %d, %+v, %v", len(got), len(want), again, err)
			}
			path, err := s.BlobPath(ctx, b.SHA256)
			if err != nil {
				t.Fatal(err)
			}
			if st, err := os.Stat(path); err != nil || st.Mode().Perm() != 0o400 || path != filepath.Join(s.dir, "files", b.SHA256[:2], b.SHA256) {
				t.Fatalf("%s: %v, %v", path, st.Mode(), err)
			}
		})
		if left, _ := os.ReadDir(s.Scratch()); len(left) > 0 {
			t.Errorf("%d files left in scratch", len(left))
		}
	})
}

func TestBlobRefused(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		put := func(r io.Reader, most int64) error {
			_, err := s.PutBlob(ctx, r, most)
			return err
		}
		err := put(strings.NewReader("12345"), 4)
		wants(t, err, fettle.BadFile)
		says(t, err, "larger than the 4 bytes")
		wants(t, put(strings.NewReader("12345"), 5), "")
		// An endless file is cut off at the limit, not at the disk's end.
		wants(t, put(endless{}, 1<<20), fettle.BadFile)
		broken := errors.New("connection reset")
		err = put(io.MultiReader(strings.NewReader("123"), iotest.ErrReader(broken)), 100)
		wants(t, err, fettle.BadFile)
		says(t, err, "broke off after 3 bytes", "send it again")
		if !errors.Is(err, broken) {
			t.Errorf("the cause is lost: %v", err)
		}
		full := fettle.Errorf(fettle.Denied, "said by another room")
		if err := put(iotest.ErrReader(full), 100); !errors.Is(err, full) || fettle.CodeOf(err) != fettle.Denied {
			t.Errorf("%v", err)
		}
		c, cancel := context.WithCancel(ctx)
		_, err = s.PutBlob(c, readerFunc(func(p []byte) (int, error) { cancel(); return len(p), nil }), 1<<40)
		if !errors.Is(err, context.Canceled) {
			t.Errorf("given up: %v", err)
		}
		if left := onDisk(t, s); len(left) != 1 {
			t.Errorf("left: %v", left)
		}
		for _, sha := range []string{"", "..", "../../shop.db", strings.Repeat("0", 64), strings.Repeat("\x00", 64)} {
			if _, _, err := s.OpenBlob(ctx, sha); fettle.CodeOf(err) != fettle.NotFound {
				t.Errorf("open %q: %v", sha, err)
			}
			if _, err := s.BlobPath(ctx, sha); fettle.CodeOf(err) != fettle.NotFound {
				t.Errorf("path of %q: %v", sha, err)
			}
		}
	})
}

func TestBlobTogether(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		want := bytes.Repeat([]byte("plate "), 50_000)
		crowd(20, func(int) {
			b, err := s.PutBlob(ctx, bytes.NewReader(want), 1<<20)
			if err != nil {
				t.Error(err)
				return
			}
			f, _, err := s.OpenBlob(ctx, b.SHA256) // there for good when PutBlob returns
			if err != nil {
				t.Error(err)
				return
			}
			defer f.Close()
			if got, err := io.ReadAll(f); err != nil || !bytes.Equal(got, want) {
				t.Errorf("%d bytes, %v", len(got), err)
			}
		})
		if left := onDisk(t, s); len(left) != 1 {
			t.Errorf("on the disk: %v", left)
		}
	})
}

// TestBlobSpoiled: what the disk lost is not handed out, and the same file put in
// again mends it.
func TestBlobSpoiled(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		put := func() fettle.Blob {
			return must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("solid plate"), 100))
		}
		b := put()
		path := s.blobPath(b.SHA256)
		for name, spoil := range map[string]func() error{
			"is gone":        func() error { return nil },
			"another length": func() error { return os.WriteFile(path, []byte("solid"), 0o600) },
		} {
			if err := errors.Join(os.Remove(path), spoil()); err != nil {
				t.Fatal(err)
			}
			_, _, err := s.OpenBlob(ctx, b.SHA256)
			wants(t, err, fettle.BadFile)
			says(t, err, name, "put the same file in again")
			_, err = s.BlobPath(ctx, b.SHA256)
			wants(t, err, fettle.BadFile)
			put()
			f, _, err := s.OpenBlob(ctx, b.SHA256)
			if err != nil {
				t.Fatal(err)
			}
			got, _ := io.ReadAll(f)
			f.Close()
			if string(got) != "solid plate" {
				t.Errorf("mended to %q", got)
			}
		}
	})
}

type endless struct{}

func (endless) Read(p []byte) (int, error) { return len(p), nil }

type readerFunc func(p []byte) (int, error)

func (f readerFunc) Read(p []byte) (int, error) { return f(p) }
