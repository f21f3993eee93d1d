package store

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"fettle"
)

// smallDisk is a file system of so many kilobytes.
func smallDisk(t *testing.T, kb int) string {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("NOT TRIED: only root may mount a small disk to fill; run the tests as root")
	}
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%dk", kb)); err != nil {
		t.Skipf("NOT TRIED: no small disk can be mounted to fill (%v); run the tests where root may mount", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// On a full disk everything that writes says so in a sentence; when there is room
// again all that was acknowledged is there, and the shop goes on.
func TestBackupFullDisk(t *testing.T) {
	disk := smallDisk(t, 12<<10)
	p := place{Options{Dir: filepath.Join(disk, "shop")}}
	s := p.open(t)
	defer s.Close()
	fill(t, s, 50)
	var blobs []fettle.Blob
	var records []fettle.Record

	filler := filepath.Join(disk, "filler")
	full := func(leave int64) {
		t.Helper()
		f := must[*os.File](t)(os.Create(filler))
		n, err := io.Copy(f, zeros{})
		if !errors.Is(err, syscall.ENOSPC) {
			t.Fatal(err)
		}
		if err := errors.Join(f.Truncate(n-leave), f.Close()); err != nil {
			t.Fatal(err)
		}
	}
	sentence := func(err error) {
		t.Helper()
		wants(t, err, fettle.Full)
		if says := err.Error(); strings.Contains(says, "\n") || !strings.Contains(says, "room") || !strings.Contains(says, disk) {
			t.Fatalf("no sentence that helps: %s", says)
		}
	}
	for _, leave := range []int64{0, 40 << 10, 300 << 10} {
		full(leave)
		var noBlob, noRecord error
		for i := 0; noBlob == nil || noRecord == nil; i++ {
			b, err := s.PutBlob(ctx, io.LimitReader(rand.Reader, 30<<10), 1<<20)
			if err == nil {
				blobs = append(blobs, b)
			} else {
				sentence(err)
				noBlob = err
			}
			r, err := one(s, fettle.Make, fettle.Record{Kind: fettle.KeptPhoto, Name: fmt.Sprint(leave, "/", i), Body: []byte(`"` + strings.Repeat("x", 20<<10) + `"`)})
			if err == nil {
				records = append(records, r)
			} else {
				sentence(err)
				noRecord = err
			}
			if i > 1000 {
				t.Fatal("the disk does not get full")
			}
		}
		path := filepath.Join(disk, "backup.zip")
		_, err := s.Backup(ctx, path, nil)
		sentence(err)
		if left, _ := filepath.Glob(filepath.Join(disk, "*backup*")); len(left) > 0 {
			t.Fatalf("left behind: %v", left)
		}
		if left, _ := filepath.Glob(filepath.Join(disk, ".*")); len(left) > 0 {
			t.Fatalf("left behind: %v", left)
		}
	}
	elsewhere := filepath.Join(t.TempDir(), "backup.zip")
	r, err := s.Backup(ctx, elsewhere, nil)
	if err != nil && fettle.CodeOf(err) != fettle.Full {
		t.Fatalf("%+v: %v", r, err)
	}

	// Restoring onto the full disk changes nothing either.
	n := place{Options{Dir: t.TempDir()}}.open(t)
	fill(t, n, 51)
	other := saved(t, n)
	s.Close()
	_, err = Restore(ctx, p.Options, other, nil)
	sentence(err)

	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	s = p.open(t)
	for _, b := range blobs {
		f, _, err := s.OpenBlob(ctx, b.SHA256)
		if err != nil {
			t.Fatal(err)
		}
		f.Close()
	}
	for _, r := range records {
		must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID))
	}
	if c := sound(t, s); c.Files != int64(len(blobs)+5) {
		t.Fatalf("%d files, %d acknowledged", c.Files, len(blobs)+5)
	}
	if len(records) == 0 || len(blobs) == 0 {
		t.Fatalf("%d records and %d files: nothing was acknowledged on a nearly full disk", len(records), len(blobs))
	}
	made(t, s, fettle.KeptMop, "goes on")
	t.Logf("%d files and %d records were acknowledged on a nearly full disk, and are there", len(blobs), len(records))
}
