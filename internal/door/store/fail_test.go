package store

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/door/store/storetest"
)

// TestFull: a database that may not grow is said in a sentence, nothing of the edit
// stays, and when there is room again it goes on.
func TestFull(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		before := made(t, s, fettle.KeptPart, "before")
		sql := func(text string) {
			t.Helper()
			if _, err := s.DB().ExecContext(ctx, text); err != nil {
				t.Fatal(err)
			}
		}
		if s.Dialect() == SQLite {
			sql(`PRAGMA max_page_count = 1`) // at most what it has
		} else {
			// What the server says when its disk is full: class 53 in Appendix A of its manual.
			sql(`CREATE FUNCTION full_up() RETURNS trigger AS $$ BEGIN RAISE 'could not extend file "base/1"' USING ERRCODE = '53100'; END $$ LANGUAGE plpgsql`)
			sql(`CREATE TRIGGER full_up BEFORE INSERT ON revision FOR EACH ROW EXECUTE FUNCTION full_up()`)
			sql(`CREATE TRIGGER full_up BEFORE INSERT ON blob FOR EACH ROW EXECUTE FUNCTION full_up()`)
		}
		large := fettle.Edit{By: "Anna", Key: "k", Changes: []fettle.Change{
			{Act: fettle.Alter, Record: before},
			{Act: fettle.Make, Record: fettle.Record{Kind: fettle.KeptPart, Body: []byte(`"` + strings.Repeat("x", 1<<20) + `"`)}},
		}}
		_, err := s.Apply(ctx, large)
		wants(t, err, fettle.Full)
		says(t, err, "no room left on the disk that holds", "free some and try again")
		plain(t, err)
		same(t, before, must[fettle.Record](t)(s.Get(ctx, before.Kind, before.ID)))
		if s.Dialect() == Postgres {
			_, err := s.PutBlob(ctx, strings.NewReader("plate"), 10)
			wants(t, err, fettle.Full)
			sql(`DROP FUNCTION full_up CASCADE`)
		} else {
			sql(`PRAGMA max_page_count = 1000000`)
		}
		if out := must[[]fettle.Record](t)(s.Apply(ctx, large)); out[0].Rev != 2 {
			t.Errorf("revision %d", out[0].Rev)
		}
	})
}

// TestAskedAgain: what PostgreSQL asks to try again is tried again, a few times.
func TestAskedAgain(t *testing.T) {
	s := onPostgres(t).open(t)
	// A sequence counts on when a transaction is taken back.
	for _, text := range []string{
		`CREATE SEQUENCE tried`,
		`CREATE FUNCTION not_yet() RETURNS trigger AS $$ BEGIN
			IF nextval('tried') <= 3 THEN RAISE 'could not serialize access' USING ERRCODE = '40001'; END IF;
			RETURN NEW; END $$ LANGUAGE plpgsql`,
		`CREATE TRIGGER not_yet BEFORE INSERT ON revision FOR EACH ROW EXECUTE FUNCTION not_yet()`,
	} {
		if _, err := s.DB().ExecContext(ctx, text); err != nil {
			t.Fatal(err)
		}
	}
	r := made(t, s, fettle.KeptPart, "a")
	same(t, []fettle.Record{r}, must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: r.Kind})).Records)
	if _, err := s.DB().ExecContext(ctx, `SELECT setval('tried', 1); ALTER SEQUENCE tried INCREMENT 1 MAXVALUE 2 CYCLE`); err != nil {
		t.Fatal(err)
	}
	_, err := one(s, fettle.Delete, r) // it never comes to pass
	wants(t, err, fettle.Conflict)
	says(t, err, "try again in a moment")
	plain(t, err)
	same(t, r, must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID)))
}

// TestServerRestarted: the connections in the pool are dead, and nobody notices.
func TestServerRestarted(t *testing.T) {
	p := onPostgres(t)
	s := p.open(t)
	p.Dir, p.Schema = t.TempDir(), storetest.Schema(t)
	other := p.open(t)
	r := made(t, s, fettle.KeptPart, "a")
	kill := func() {
		t.Helper()
		const pool = ` FROM pg_stat_activity
WHERE application_name = 'fettle' AND pid <> pg_backend_pid() AND query LIKE '%FROM record r%'`
		var n int
		for range 1000 { // until several are in the pool, whoever gets to run when
			crowd(6, func(int) { _, _ = s.Get(ctx, r.Kind, r.ID) })
			if err := other.DB().QueryRowContext(ctx, `SELECT count(*)`+pool).Scan(&n); err != nil {
				t.Fatal(err)
			}
			if n >= 2 {
				break
			}
		}
		if err := other.DB().QueryRowContext(ctx, `SELECT count(pg_terminate_backend(pid))`+pool).Scan(&n); err != nil || n < 2 {
			t.Fatalf("%d connections killed, %v", n, err)
		}
	}
	kill()
	r.Body = body(1)
	r = must[fettle.Record](t)(one(s, fettle.Alter, r))
	kill()
	same(t, r, must[fettle.Record](t)(s.Get(ctx, r.Kind, r.ID)))
	kill()
	if err := s.SetSecret(ctx, "a", "b"); err != nil {
		t.Error(err)
	}
}

// TestKilledChild works until it is killed, and tells each thing that was answered.
func TestKilledChild(t *testing.T) {
	onlyChild(t)
	s := place{Options{Dir: os.Getenv("FETTLE_TEST_DIR"), URL: os.Getenv("FETTLE_TEST_URL"), Schema: os.Getenv("FETTLE_TEST_SCHEMA")}}.open(t)
	crowd(4, func(i int) {
		for n := 0; ; n++ {
			b, err := s.PutBlob(ctx, strings.NewReader(strings.Repeat(fmt.Sprintf("%d %d ", i, n), 20_000)), 1<<20)
			if err != nil {
				t.Error(err)
				return
			}
			job := must[string](t)(newID())
			make := func(r fettle.Record) fettle.Change {
				r.Body = body(n)
				return fettle.Change{Act: fettle.Make, Record: r}
			}
			out, err := s.Apply(ctx, fettle.Edit{By: "Anna", Key: job, Changes: []fettle.Change{
				make(fettle.Record{Kind: fettle.KeptJob, ID: job}),
				make(fettle.Record{Kind: fettle.KeptPlan, Links: map[string]string{"job": job}, Files: map[string]string{"plan": b.SHA256}}),
			}})
			if err != nil {
				t.Error(err)
				return
			}
			fmt.Println("kept", job, out[1].ID, b.SHA256)
		}
	})
}

// TestKilled: a process that is killed at any moment leaves whole edits and whole
// files, and all that it was told is kept.
func TestKilled(t *testing.T) {
	onBoth(t, func(t *testing.T, p place) {
		rounds := 3
		if testing.Short() {
			rounds = 1
		}
		for round := range rounds {
			c := child(t, "TestKilledChild", "FETTLE_TEST_DIR="+p.Dir, "FETTLE_TEST_URL="+p.URL, "FETTLE_TEST_SCHEMA="+p.Schema)
			out, err := c.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			var told [][]string
			lines := bufio.NewScanner(out)
			for lines.Scan() {
				if f := strings.Fields(lines.Text()); len(f) == 4 && f[0] == "kept" {
					told = append(told, f[1:])
				}
				if len(told) == 5+7*round {
					_ = c.Process.Kill()
				}
			}
			_ = c.Wait()
			if len(told) < 5 {
				t.Fatalf("it only told of %d edits", len(told))
			}
			s := p.open(t)
			for _, f := range told {
				must[fettle.Record](t)(s.Get(ctx, fettle.KeptJob, f[0]))
				plan := must[fettle.Record](t)(s.Get(ctx, fettle.KeptPlan, f[1]))
				if plan.Links["job"] != f[0] || plan.Files["plan"] != f[2] {
					t.Errorf("%+v", plan)
				}
				must[string](t)(s.BlobPath(ctx, f[2]))
			}
			jobs := must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptJob, Limit: 1000})).Records
			for _, job := range jobs {
				plans := must[fettle.RecordPage](t)(s.List(ctx, fettle.Query{Kind: fettle.KeptPlan, Target: job.ID})).Records
				if len(plans) != 1 {
					t.Errorf("job %s has %d plans: an edit was cut in two", job.ID, len(plans))
				}
			}
			for _, name := range onDisk(t, s) {
				if f := filepath.Join(p.Dir, name); sumOf(t, f) != filepath.Base(f) {
					t.Errorf("%s is not what its name says", name)
				}
			}
			s.Close()
		}
	})
}

func sumOf(t testing.TB, path string) string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		t.Fatal(err)
	}
	return hex.EncodeToString(h.Sum(nil))
}
