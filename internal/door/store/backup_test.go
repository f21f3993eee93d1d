package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"fettle"
)

// What comes back is what was there: row by row, byte by byte, from either
// database into either.
func TestBackupRoundTrip(t *testing.T) {
	onBoth(t, func(t *testing.T, from place) {
		s := from.open(t)
		fill(t, s, 1)
		was := content(t, s)
		path := filepath.Join(t.TempDir(), "shop.zip")
		r := must[fettle.BackupReport](t)(s.Backup(ctx, path, nil))
		if st, err := os.Stat(path); err != nil || st.Size() != r.Bytes || r.Path != path {
			t.Fatalf("the report says %d bytes in %s: %v", r.Bytes, r.Path, err)
		}
		if r.Files != 5 || r.FileBytes != 370_001 || len(r.Lost) != 0 || time.Since(r.Made) > time.Minute {
			t.Fatalf("report %+v", r)
		}
		plain := must[[]byte](t)(os.ReadFile(path))
		if unzipped := all(t, path); bytes.Contains(plain, []byte("hidden")) || strings.Contains(unzipped, "hidden") || !strings.Contains(unzipped, "Naval Brass") {
			t.Fatal("a backup holds passcodes or sessions, or lacks what is no secret")
		}
		if left, _ := filepath.Glob(filepath.Join(filepath.Dir(path), ".*")); len(left) > 0 {
			t.Fatalf("left behind: %v", left)
		}
		_, err := s.Backup(ctx, path, nil)
		wants(t, err, fettle.Conflict)

		onBoth(t, func(t *testing.T, to place) {
			old := to.open(t)
			fill(t, old, 2)
			oldContent := content(t, old)
			if _, err := Restore(ctx, to.Options, path, nil); fettle.CodeOf(err) != fettle.Conflict {
				t.Fatalf("restored over an open workspace: %v", err)
			}
			old.Close()
			r := must[fettle.RestoreReport](t)(Restore(ctx, to.Options, path, nil))
			if r.Waiting != 2 || r.Files != 5 || len(r.Notes) != 0 || r.Before == "" {
				t.Fatalf("report %+v", r)
			}
			s := to.open(t)
			if d := cmp.Diff(restored(was), content(t, s)); d != "" {
				t.Fatal(d)
			}
			sound(t, s)
			if d := cmp.Diff([]string{"hidden hash 2"}, secrets(t, s)); d != "" {
				t.Fatalf("passcodes did not stay: %s", d)
			}
			made(t, s, fettle.KeptMop, "goes on")
			s.Close()

			before := to
			if to.URL == "" {
				before.Dir = r.Before
			} else {
				before.Schema = r.Before
			}
			s = before.open(t)
			if d := cmp.Diff(oldContent, content(t, s)); d != "" {
				t.Fatalf("what was before was not kept: %s", d)
			}
			sound(t, s)
		})
	})
}

// all is everything in a zip file, unpacked by another program.
func all(t testing.TB, path string) string {
	t.Helper()
	tool, err := exec.LookPath("unzip")
	args := []string{"-p", path}
	if err != nil {
		if tool, err = exec.LookPath("python3"); err != nil {
			t.Skip("NOT COMPARED: neither unzip nor python3 is installed")
		}
		args = []string{"-c", "import sys,zipfile\nz=zipfile.ZipFile(sys.argv[1])\nassert z.testzip() is None\nfor n in z.namelist(): sys.stdout.buffer.write(z.read(n))", path}
	}
	out, err := exec.Command(tool, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v", tool, err)
	}
	return string(out)
}

// A backup shows one moment: what was entered together is there together, while
// eight go on entering.
func TestBackupShowsOneMoment(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		pairs := make([][2]fettle.Record, 8)
		for i := range pairs {
			for j := range 2 {
				pairs[i][j] = must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptJob, Name: fmt.Sprint(i, "/", j), Body: body(0)}))
			}
		}
		stop := make(chan bool)
		var wg sync.WaitGroup
		for i := range pairs {
			wg.Go(func() {
				for n := 1; ; n++ {
					select {
					case <-stop:
						return
					default:
					}
					// Both get the same number, and a third with it is made.
					a, b := pairs[i][0], pairs[i][1]
					a.Body, b.Body = body(n), body(n)
					blob, err := s.PutBlob(ctx, strings.NewReader(fmt.Sprint(i, n)), 100)
					if err != nil {
						t.Error(err)
						return
					}
					out, err := s.Apply(ctx, fettle.Edit{By: "Ben", Changes: []fettle.Change{{Act: fettle.Alter, Record: a}, {Act: fettle.Alter, Record: b},
						{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPhoto, Name: "third", Links: map[string]string{"job": a.ID}, Files: map[string]string{"photo": blob.SHA256}, Body: body(n)}}}})
					if err != nil {
						t.Error(err)
						return
					}
					pairs[i] = [2]fettle.Record{out[0], out[1]}
				}
			})
		}
		var paths []string
		for range 3 {
			time.Sleep(30 * time.Millisecond)
			paths = append(paths, saved(t, s))
		}
		close(stop)
		wg.Wait()
		last := int64(-1)
		for _, path := range paths {
			to := Options{Dir: t.TempDir()}
			must[fettle.RestoreReport](t)(Restore(ctx, to, path, nil))
			b := place{to}.open(t)
			sound(t, b)
			total := int64(0)
			for i := range pairs {
				x := must[fettle.Record](t)(b.Get(ctx, fettle.KeptJob, pairs[i][0].ID))
				y := must[fettle.Record](t)(b.Get(ctx, fettle.KeptJob, pairs[i][1].ID))
				thirds := must[fettle.RecordPage](t)(b.List(ctx, fettle.Query{Kind: fettle.KeptPhoto, Role: "job", Target: x.ID, Limit: 1000}))
				if string(x.Body) != string(y.Body) || x.Rev != y.Rev || len(thirds.Records) != int(x.Rev)-1 {
					t.Fatalf("half an edit: %s at %d, %s at %d, %d thirds", x.Body, x.Rev, y.Body, y.Rev, len(thirds.Records))
				}
				total += x.Rev
			}
			if total <= last {
				t.Fatalf("%d edits after %d: nothing was written meanwhile", total, last)
			}
			last = total
		}
	})
}

// A backup can be made beside the process that serves, and to a stream.
func TestBackupBesideOther(t *testing.T) {
	onBoth(t, func(t *testing.T, p place) {
		s := p.open(t)
		fill(t, s, 3)
		p.ReadOnly = true
		r := p.open(t)
		path := saved(t, r)
		var stream bytes.Buffer
		rep := must[fettle.BackupReport](t)(s.WriteBackup(ctx, &stream, nil))
		if rep.Bytes != int64(stream.Len()) {
			t.Fatalf("%d bytes told, %d written", rep.Bytes, stream.Len())
		}
		streamed := filepath.Join(t.TempDir(), "b.zip")
		if err := os.WriteFile(streamed, stream.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		if all(t, path) == "" {
			t.Fatal("empty")
		}
		want := restored(content(t, s))
		for _, path := range []string{path, streamed} {
			to := Options{Dir: t.TempDir()}
			must[fettle.RestoreReport](t)(Restore(ctx, to, path, nil))
			if d := cmp.Diff(want, content(t, place{to}.open(t))); d != "" {
				t.Fatal(d)
			}
		}
	})
}

// A file that the shop has lost does not keep the rest from being saved.
func TestBackupWithoutLostFiles(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		fill(t, s, 4)
		gone := must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("gone"), 10))
		bent := must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("bent"), 10))
		if err := os.Remove(s.blobPath(gone.SHA256)); err != nil {
			t.Fatal(err)
		}
		overwrite(t, s.blobPath(bent.SHA256), []byte("BENT"))
		path := filepath.Join(t.TempDir(), "shop.zip")
		lost := []string{bent.SHA256, gone.SHA256}
		slices.Sort(lost)
		r := must[fettle.BackupReport](t)(s.Backup(ctx, path, nil))
		if d := cmp.Diff(lost, r.Lost); d != "" || r.Files != 5 {
			t.Fatalf("%d files, lost %s", r.Files, d)
		}
		to := Options{Dir: t.TempDir()}
		back := must[fettle.RestoreReport](t)(Restore(ctx, to, path, nil))
		if len(back.Notes) != 1 || cmp.Diff(lost, back.Lost) != "" {
			t.Fatalf("%+v", back)
		}
		c := must[fettle.CheckReport](t)(place{to}.open(t).Check(ctx, nil))
		if c.Sound || len(c.Findings) != 2 || c.Findings[0].About != lost[0] {
			t.Fatalf("%+v", c.Findings)
		}
	})
}

func overwrite(t testing.TB, path string, b []byte) {
	t.Helper()
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// Rows go through JSON unharmed, and the standard library reads them so too.
func TestBackupRows(t *testing.T) {
	columns := []column{{name: "a"}, {name: "n", number: true}, {name: "z", null: true}}
	rapid.Check(t, func(t *rapid.T) {
		row := []any{string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")), rapid.Int64().Draw(t, "n"), any(nil)}
		if rapid.Bool().Draw(t, "text") {
			row[0] = rapid.String().Draw(t, "text")
			row[2] = row[0]
		}
		line, err := appendRow(nil, columns, row)
		if err != nil || bytes.Count(line, []byte{'\n'}) != 1 {
			t.Fatalf("%q: %v", line, err)
		}
		back := make([]any, 3)
		if err := readRow(line, columns, back); err != nil || cmp.Diff(row, back) != "" {
			t.Fatalf("%q gave %q: %v", row, back, err)
		}
		var std struct {
			A any
			N int64
			Z *string
		}
		if err := json.Unmarshal(line, &std); err != nil || std.N != row[1] || row[2] != nil && (*std.Z != row[2] || std.A != row[0]) {
			t.Fatalf("%q is %+v to the standard library: %v", line, std, err)
		}
	})
}

// Whoever gives up gets his reason back, and leaves nothing behind.
func TestBackupStops(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		fill(t, s, 5)
		for n := range 8 {
			stopping, stop := contextAfter(n)
			dir := t.TempDir()
			_, err := s.Backup(stopping, filepath.Join(dir, "shop.zip"), func(string, int, int) { stop() })
			if err == nil {
				continue
			}
			wantsStopped(t, err)
			if left, _ := os.ReadDir(dir); len(left) > 0 {
				t.Fatalf("left behind: %v", left)
			}
		}
		if left, _ := os.ReadDir(s.Scratch()); len(left) > 0 {
			t.Fatalf("left behind in scratch: %v", left)
		}
	})
}

// Files that are too large to be held in memory go through too, and so does word of
// one that was altered.
func TestBackupLargeFile(t *testing.T) {
	if testing.Short() {
		t.Skip("writes 100 MB")
	}
	s := place{Options{Dir: t.TempDir()}}.open(t)
	large := must[fettle.Blob](t)(s.PutBlob(ctx, io.LimitReader(zeros{}, batchBytes+1), 1<<30))
	bent := must[fettle.Blob](t)(s.PutBlob(ctx, io.MultiReader(strings.NewReader("x"), io.LimitReader(zeros{}, batchBytes)), 1<<30))
	small := must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("small"), 1<<30))
	if err := os.Chmod(s.blobPath(bent.SHA256), 0o600); err != nil {
		t.Fatal(err)
	}
	f := must[*os.File](t)(os.OpenFile(s.blobPath(bent.SHA256), os.O_WRONLY, 0))
	_, _ = f.WriteAt([]byte("y"), batchBytes/2)
	f.Close()
	path := filepath.Join(t.TempDir(), "shop.zip")
	r := must[fettle.BackupReport](t)(s.Backup(ctx, path, nil))
	if r.Files != 2 || r.FileBytes != large.Bytes+small.Bytes || len(r.Lost) != 1 || r.Lost[0] != bent.SHA256 {
		t.Fatalf("%+v", r)
	}
	if r.Bytes > 1<<20 {
		t.Fatalf("zeros took %d bytes", r.Bytes)
	}
	to := Options{Dir: t.TempDir()}
	must[fettle.RestoreReport](t)(Restore(ctx, to, path, nil))
	c := must[fettle.CheckReport](t)(place{to}.open(t).Check(ctx, nil))
	if len(c.Findings) != 1 || c.Findings[0].About != bent.SHA256 || c.Files != 3 {
		t.Fatalf("%+v", c)
	}
}
