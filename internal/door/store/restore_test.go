package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"fettle"
	"fettle/internal/door/store/storetest"
)

// TestRestoreChild restores, and is killed before one of its steps.
func TestRestoreChild(t *testing.T) {
	onlyChild(t)
	o := Options{Dir: os.Getenv("FETTLE_TEST_DIR"), URL: os.Getenv("FETTLE_TEST_URL"), Schema: os.Getenv("FETTLE_TEST_SCHEMA")}
	var at int
	fmt.Sscan(os.Getenv("FETTLE_TEST_STEP"), &at)
	_, err := restore(ctx, o, os.Getenv("FETTLE_TEST_BACKUP"), nil, func(step string) error {
		if at--; at < 0 {
			me, err := os.FindProcess(os.Getpid())
			if err == nil {
				err = me.Kill()
			}
			if err != nil {
				return err
			}
			select {} // until the kill comes
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("restored")
}

// A restore that is killed, at whatever step, leaves the old shop or the new one,
// whole; and the next restore is not disturbed by it.
func TestRestoreKilled(t *testing.T) {
	var backups [2]string
	var contents [2]map[string][]string
	for i := range backups {
		s := place{Options{Dir: t.TempDir()}}.open(t)
		fill(t, s, uint64(10+i))
		backups[i], contents[i] = saved(t, s), restored(content(t, s))
		s.Close()
	}
	onBoth(t, func(t *testing.T, p place) {
		must[fettle.RestoreReport](t)(Restore(ctx, p.Options, backups[0], nil))
		is, changed, stayed := 0, 0, 0
		step, stride := 0, 1
		if testing.Short() {
			stride = 3
		}
		for ; ; step += stride {
			c := child(t, "TestRestoreChild", "FETTLE_TEST_DIR="+p.Dir, "FETTLE_TEST_URL="+p.URL, "FETTLE_TEST_SCHEMA="+p.Schema,
				"FETTLE_TEST_BACKUP="+backups[1-is], fmt.Sprint("FETTLE_TEST_STEP=", step))
			out, err := c.Output()
			s := p.open(t)
			got := content(t, s)
			sound(t, s)
			s.Close()
			if left, _ := filepath.Glob(filepath.Join(p.Dir, freshPrefix+"*")); len(left) > 0 {
				t.Fatalf("step %d: left behind: %v", step, left)
			}
			switch {
			case cmp.Equal(got, contents[is]):
				stayed++
			case cmp.Equal(got, contents[1-is]):
				changed++
				is = 1 - is
			default:
				t.Fatalf("step %d: neither the old nor the new: %s", step, cmp.Diff(contents[is], got))
			}
			if strings.Contains(string(out), "restored\n") {
				if err != nil {
					t.Fatal(err)
				}
				break
			}
			if err == nil {
				t.Fatalf("step %d: not killed and not restored: %s", step, out)
			}
		}
		t.Logf("killed before each of %d steps: %d times the old stayed, %d times the new was there", step, stayed, changed)
		if step < 8 || stayed < 6/stride || changed < 1 {
			t.Fatalf("%d steps, %d stayed, %d changed: not every step was tried", step, stayed, changed)
		}
	})
}

// The renames that put a restored workspace in its place are themselves cut off
// before each of them, and gone on with.
func TestRestoreFinishCutOff(t *testing.T) {
	p := place{Options{Dir: t.TempDir()}}
	s := p.open(t)
	fill(t, s, 20)
	old := content(t, s)
	s.Close()
	n := place{Options{Dir: t.TempDir()}}.open(t)
	fill(t, n, 21)
	path, want := saved(t, n), restored(content(t, n))

	cut := errors.New("cut off")
	_, err := restore(ctx, p.Options, path, nil, func(step string) error {
		if strings.HasPrefix(step, "make "+p.Dir) {
			return cut
		}
		return nil
	})
	if !errors.Is(err, cut) {
		t.Fatal(err)
	}
	// A database that was not closed leaves these beside it; they belong to the old.
	for _, end := range []string{"-wal", "-shm"} {
		if err := os.WriteFile(filepath.Join(p.Dir, dbFile+end), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	// The first try gets one step far, the second two, and so on.
	tries := 0
	for ; restoreCutOff(p.Dir); tries++ {
		left := tries
		err := finishSwap(p.Dir, func(string) error {
			if left--; left < 0 {
				return cut
			}
			return nil
		})
		if err != nil {
			wants(t, err, fettle.Conflict)
		}
	}
	if tries < 4 {
		t.Fatalf("%d tries: hardly cut off", tries)
	}
	s = p.open(t)
	if d := cmp.Diff(want, content(t, s)); d != "" {
		t.Fatal(d)
	}
	sound(t, s)
	before, _ := filepath.Glob(filepath.Join(p.Dir, beforePrefix+"*"))
	if len(before) != 1 {
		t.Fatalf("kept: %v", before)
	}
	b := place{Options{Dir: before[0]}}.open(t)
	if d := cmp.Diff(old, content(t, b)); d != "" {
		t.Fatal(d)
	}
}

// Where nothing was, nothing is kept; where the database is beyond reading, a
// restore helps all the same.
func TestRestoreOverRuins(t *testing.T) {
	n := place{Options{Dir: t.TempDir()}}.open(t)
	fill(t, n, 22)
	path, want := saved(t, n), restored(content(t, n))
	for name, ruin := range map[string]func(dir string) error{
		"nothing":   func(string) error { return nil },
		"no folder": func(dir string) error { return os.Remove(dir) },
		"garbage": func(dir string) error {
			return os.WriteFile(filepath.Join(dir, dbFile), []byte(strings.Repeat("no database ", 999)), 0o600)
		},
		"leftovers": func(dir string) error { return os.MkdirAll(filepath.Join(dir, freshPrefix+"x", filesName), 0o700) },
	} {
		t.Run(name, func(t *testing.T) {
			p := place{Options{Dir: t.TempDir()}}
			if err := ruin(p.Dir); err != nil {
				t.Fatal(err)
			}
			r := must[fettle.RestoreReport](t)(Restore(ctx, p.Options, path, nil))
			if damaged := name == "garbage"; damaged != (r.Before != "") || damaged != (len(r.Notes) == 1) {
				t.Fatalf("%+v", r)
			}
			s := p.open(t)
			if d := cmp.Diff(want, content(t, s)); d != "" {
				t.Fatal(d)
			}
			sound(t, s)
			if left, _ := filepath.Glob(filepath.Join(p.Dir, freshPrefix+"*")); len(left) > 0 {
				t.Fatalf("left behind: %v", left)
			}
		})
	}
}

// On PostgreSQL the files lie in the workspace all the time: those that are there
// stay, those that are spoiled are mended.
func TestRestoreMendsFiles(t *testing.T) {
	p := place{Options{Dir: t.TempDir(), URL: storetest.Postgres(t), Schema: storetest.Schema(t)}}
	s := p.open(t)
	fill(t, s, 23)
	path, want := saved(t, s), restored(content(t, s))
	var blobs []string
	if err := s.each(ctx, `SELECT sha256 FROM blob ORDER BY bytes`, nil, func(row []any) error {
		blobs = append(blobs, s.blobPath(text(row[0])))
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	s.Close()
	overwrite(t, blobs[1], []byte("x!"))
	if err := os.Remove(blobs[2]); err != nil {
		t.Fatal(err)
	}
	st := must[os.FileInfo](t)(os.Stat(blobs[4]))
	must[fettle.RestoreReport](t)(Restore(ctx, p.Options, path, nil))
	s = p.open(t)
	if d := cmp.Diff(want, content(t, s)); d != "" {
		t.Fatal(d)
	}
	if now := must[os.FileInfo](t)(os.Stat(blobs[4])); !now.ModTime().Equal(st.ModTime()) {
		t.Fatal("a whole file was written again")
	}
	sound(t, s)
}

// A text that SQLite holds and PostgreSQL cannot is refused, and nothing changes.
func TestRestoreNotForPostgres(t *testing.T) {
	n := place{Options{Dir: t.TempDir()}}.open(t)
	made(t, n, fettle.KeptMop, "cotton")
	exec1(t, n, `UPDATE revision SET by_whom = $1`, "A\x00\xff")
	path, want := saved(t, n), content(t, n)
	to := Options{Dir: t.TempDir()}
	must[fettle.RestoreReport](t)(Restore(ctx, to, path, nil))
	if d := cmp.Diff(want, content(t, place{to}.open(t))); d != "" {
		t.Fatal(d)
	}
	p := place{Options{Dir: t.TempDir(), URL: storetest.Postgres(t), Schema: storetest.Schema(t)}}
	s := p.open(t)
	made(t, s, fettle.KeptMop, "stays")
	s.Close()
	_, err := Restore(ctx, p.Options, path, nil)
	wants(t, err, fettle.BadFile)
	s = p.open(t)
	must[fettle.Record](t)(s.Named(ctx, fettle.KeptMop, "stays"))
	var n2 int
	if err := s.db.QueryRow(`SELECT COUNT(*) FROM pg_namespace WHERE nspname LIKE '%\_restoring\_%'`).Scan(&n2); err != nil || n2 != 0 {
		t.Fatalf("%d schemas left behind: %v", n2, err)
	}
}

// What an older program saved is loaded into the tables of its time and brought up to
// date; what a newer one saved is refused.
func TestRestoreOlder(t *testing.T) {
	first := must[[]byte](t)(migrations.ReadFile("migrations/00001_shop.sql"))
	two := fstest.MapFS{
		"migrations/00001_shop.sql": {Data: first},
		"migrations/09999_more.sql": {Data: []byte("-- +goose Up\nALTER TABLE record ADD COLUMN shelf TEXT NOT NULL DEFAULT 'left';\n" +
			"ALTER TABLE task DROP COLUMN why;\nCREATE TABLE drawer (id TEXT PRIMARY KEY, record_id TEXT REFERENCES record (id), n BIGINT);\n" +
			"-- +goose Down\nDROP TABLE drawer;\n")},
	}
	one := fstest.MapFS{"migrations/00001_shop.sql": {Data: first}}
	use := func(files fs.FS) { migrationFiles = files; shapes.Clear() }
	t.Cleanup(func() { use(migrations) })

	use(one)
	p := place{Options{Dir: t.TempDir()}}
	s := p.open(t)
	fill(t, s, 24)
	older, rows := saved(t, s), content(t, s)
	s.Close()
	use(two)
	s = p.open(t) // brought up to date where it lies
	exec1(t, s, `INSERT INTO drawer (id, record_id, n) SELECT 'd', id, NULL FROM record LIMIT 1`)
	newer, want := saved(t, s), restored(content(t, s))
	exec1(t, s, `DELETE FROM drawer`)
	fromOlder := restored(content(t, s))
	s.Close()
	onBoth(t, func(t *testing.T, p place) {
		for path, want := range map[string]map[string][]string{older: fromOlder, newer: want} {
			must[fettle.RestoreReport](t)(Restore(ctx, p.Options, path, nil))
			s := p.open(t)
			if d := cmp.Diff(want, content(t, s)); d != "" {
				t.Fatal(d)
			}
			sound(t, s)
			s.Close()
		}
		use(one)
		defer use(two)
		p.Dir, p.Schema = t.TempDir(), p.Schema+"_x"
		_, err := Restore(ctx, p.Options, newer, nil)
		wants(t, err, fettle.BadFile)
		if !strings.Contains(err.Error(), "newer fettle") {
			t.Fatal(err)
		}
		must[fettle.RestoreReport](t)(Restore(ctx, p.Options, older, nil))
		if d := cmp.Diff(restored(rows), content(t, p.open(t))); d != "" {
			t.Fatal(d)
		}
	})
}
