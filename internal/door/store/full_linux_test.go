package store

import (
	"bytes"
	"crypto/rand"
	"errors"
	"strings"
	"syscall"
	"testing"

	"fettle"
)

// TestDiskFull fills a small disk: with a file that does not fit, and with records.
func TestDiskFull(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=3m"); err != nil {
		t.Skipf("NOT COMPARED: a small disk can only be mounted by root (%v)", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	s := place{Options{Dir: dir}}.open(t)
	small := must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("plate"), 10))
	before := onDisk(t, s)
	large := make([]byte, 4<<20)
	_, _ = rand.Read(large)
	_, err := s.PutBlob(ctx, bytes.NewReader(large), 1<<30)
	wants(t, err, fettle.Full)
	says(t, err, "no room left on the disk that holds "+dir, "free some and try again")
	if !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("the cause is lost: %v", errors.Unwrap(err))
	}
	same(t, before, onDisk(t, s))
	// Records, until there is no room for the next.
	var kept []fettle.Record
	for i := range 1000 {
		r, err := one(s, fettle.Make, fettle.Record{Kind: fettle.KeptReading, Body: []byte(`"` + strings.Repeat("x", 50_000) + `"`)})
		if err != nil {
			wants(t, err, fettle.Full)
			plain(t, err)
			if i < 5 {
				t.Fatalf("full after %d records", i)
			}
			break
		}
		kept = append(kept, r)
	}
	// A file for which there is no row.
	for range 50 {
		if _, err = s.PutBlob(ctx, bytes.NewReader(large[:1000]), 1000); err != nil {
			wants(t, err, fettle.Full)
			break
		}
		large = large[1000:]
	}
	// All that was answered is there, and can be read.
	same(t, kept, must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptReading, Limit: 1000})).Records)
	must[string](t)(s.BlobPath(ctx, small.SHA256))
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	s = place{Options{Dir: dir, ReadOnly: true}}.open(t)
	same(t, kept, must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptReading, Limit: 1000})).Records)
}
