package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/door/store/storetest"
)

// without runs statements on a connection that does not hold to foreign keys.
func without(t testing.TB, s *Store, statements ...string) {
	t.Helper()
	off, on := `PRAGMA foreign_keys(0)`, `PRAGMA foreign_keys(1)`
	if s.dialect == Postgres {
		off, on = `SET session_replication_role = replica`, `RESET session_replication_role`
	}
	conn, err := s.db.Conn(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	for _, q := range append(append([]string{off}, statements...), on) {
		if _, err := conn.ExecContext(ctx, q); err != nil {
			t.Fatalf("%s: %v", q, err)
		}
	}
}

// Nothing is found in a sound shop, and every fault that is put into it is.
func TestCheckFinds(t *testing.T) {
	conform(t, func(t *testing.T, s *Store) {
		fill(t, s, 40)
		spare := made(t, s, fettle.KeptCutter, "Spare cutter")
		undone := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptGrit, Name: "undone", Body: body(1)}))
		undone.Body = body(2)
		undone = must[fettle.Record](t)(one(s, fettle.Alter, undone))
		undone = must[fettle.Record](t)(one(s, fettle.Undo, undone))
		gap := made(t, s, fettle.KeptJaws, "gap")
		for range 3 {
			gap = must[fettle.Record](t)(one(s, fettle.Alter, gap))
		}
		end := must[fettle.Record](t)(one(s, fettle.Alter, made(t, s, fettle.KeptJaws, "end")))
		target := made(t, s, fettle.KeptCustomer, "target")
		linked := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptPart, Name: "linked", Links: map[string]string{"customer": target.ID}}))
		blobs := map[string]fettle.Blob{}
		for _, name := range []string{"gone", "bent", "short", "folder", "row"} {
			blobs[name] = must[fettle.Blob](t)(s.PutBlob(ctx, strings.NewReader("blob "+name), 100))
		}
		photo := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptPhoto, Name: "photo", Files: map[string]string{"photo": blobs["row"].SHA256}}))

		c := sound(t, s)
		if c.Records < 20 || c.Revisions < c.Records+10 || c.Links < 8 || c.Tasks != 6 || c.Files != 10 || c.FileBytes < 300_000 || len(c.Leftovers) != 0 {
			t.Fatalf("%+v", c)
		}
		// Leftovers do no harm.
		stray := filepath.Join(s.dir, filesName, "ab", strings.Repeat("ab", 32))
		for _, path := range []string{stray, s.blobPath(blobs["gone"].SHA256) + ".part"} {
			if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if c = sound(t, s); len(c.Leftovers) != 2 {
			t.Fatalf("leftovers %v", c.Leftovers)
		}

		sql := func(format string, args ...any) func() {
			return func() { without(t, s, fmt.Sprintf(format, args...)) }
		}
		found := 0
		for _, fault := range []struct {
			says, about string
			do          func()
		}{
			{"is gone", blobs["gone"].SHA256, func() { _ = os.Remove(s.blobPath(blobs["gone"].SHA256)) }},
			{"was altered", blobs["bent"].SHA256, func() { overwrite(t, s.blobPath(blobs["bent"].SHA256), []byte("blob bemt")) }},
			{"has 4 bytes and should have 10", blobs["short"].SHA256, func() { overwrite(t, s.blobPath(blobs["short"].SHA256), []byte("blob")) }},
			{"is no file any more", blobs["folder"].SHA256, func() {
				_ = os.Remove(s.blobPath(blobs["folder"].SHA256))
				_ = os.Mkdir(s.blobPath(blobs["folder"].SHA256), 0o700)
			}},
			{"which is not there", linked.ID, sql(`DELETE FROM record WHERE id = '%s'`, target.ID)},
			{"which is not there", photo.ID, sql(`DELETE FROM blob WHERE sha256 = '%s'`, blobs["row"].SHA256)},
			{"which cannot be", "../x", sql(`INSERT INTO blob (sha256, bytes, made_us) VALUES ('../x', 1, 1)`)},
			{"has 3 of its 4 revisions", gap.ID, sql(`DELETE FROM revision WHERE record_id = '%s' AND rev = 2`, gap.ID)},
			{"is at revision 2 and its last revision is 1", end.ID, sql(`DELETE FROM revision WHERE record_id = '%s' AND rev = 2`, end.ID)},
			{"is no JSON", spare.ID, sql(`UPDATE revision SET body = '{' WHERE record_id = '%s'`, spare.ID)},
			{"links of revision 1", spare.ID, sql(`UPDATE revision SET links = '[' WHERE record_id = '%s'`, spare.ID)},
			{"files of revision 1", spare.ID, sql(`UPDATE revision SET files = '{"a":1}' WHERE record_id = '%s'`, spare.ID)},
			{"never stored", undone.ID, sql(`UPDATE revision SET files = '{"a":"%s"}' WHERE record_id = '%s' AND rev = 2`, strings.Repeat("d", 64), undone.ID)},
			{"should be as revision 1 was", undone.ID, sql(`UPDATE revision SET body = '{"n":9}' WHERE record_id = '%s' AND rev = 3`, undone.ID)},
			{"what was done", undone.ID, sql(`UPDATE revision SET act = 'tear' WHERE record_id = '%s' AND rev = 2`, undone.ID)},
			{"found under the name", spare.ID, sql(`UPDATE record SET folded = 'other' WHERE id = '%s'`, spare.ID)},
			{"wrongly marked", spare.ID, sql(`UPDATE record SET only_one = 0 WHERE id = '%s'`, spare.ID)},
			{"whether it was deleted", spare.ID, sql(`UPDATE record SET deleted_us = 5 WHERE id = '%s'`, spare.ID)},
			{"are found otherwise", linked.ID, sql(`UPDATE link SET role = 'other' WHERE record_id = '%s'`, linked.ID)},
			{"are found otherwise", photo.ID, sql(`DELETE FROM attachment WHERE record_id = '%s'`, photo.ID)},
			{"does not know", gap.ID, sql(`UPDATE record SET kind = 'spaceship' WHERE id = '%s'`, gap.ID)},
			{"in a state", "task40-0", sql(`UPDATE task SET state = 'lost' WHERE id = 'task40-0'`)},
			{"is no JSON", "task40-1", sql(`UPDATE task SET result = '{' WHERE id = 'task40-1'`)},
		} {
			before := must[fettle.CheckReport](t)(s.Check(ctx, nil)).Findings
			fault.do()
			c := must[fettle.CheckReport](t)(s.Check(ctx, nil))
			if c.Sound {
				t.Fatalf("sound with the fault %q", fault.says)
			}
			var news []fettle.CheckFinding
			for _, f := range c.Findings {
				old := false
				for _, b := range before {
					old = old || b == f
				}
				if !old {
					news = append(news, f)
				}
			}
			hit := false
			for _, f := range news {
				hit = hit || f.About == fault.about && strings.Contains(f.Says, fault.says)
				if strings.Contains(f.Says, "\n") || !strings.Contains(f.Says, "; ") && !strings.Contains(f.Says, ", which a backup") {
					t.Errorf("no sentence that helps: %s", f.Says)
				}
			}
			if !hit {
				t.Errorf("%q of %s is not found: %v", fault.says, fault.about, news)
			}
			found++
		}
		t.Logf("%d faults found", found)
	})
}

// A database file that was damaged on the disk is noticed, by its own check or when
// it is read.
func TestCheckDamagedDatabase(t *testing.T) {
	p := place{Options{Dir: t.TempDir()}}
	s := p.open(t)
	fill(t, s, 41)
	s.Close()
	path := filepath.Join(p.Dir, dbFile)
	whole := must[[]byte](t)(os.ReadFile(path))
	tried := 0
	for page := 2; page < len(whole)/4096; page += 4 {
		b := append([]byte(nil), whole...)
		for i := range 64 {
			b[page*4096+i] ^= 0x5a // the header of a page, where its cells are listed
		}
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(ctx, p.Options)
		if err == nil {
			var c fettle.CheckReport
			c, err = s.Check(ctx, nil)
			if err == nil && c.Sound {
				t.Errorf("page %d: sound", page)
			}
			s.Close()
		}
		tried++
	}
	if tried < 5 {
		t.Fatalf("only %d pages tried", tried)
	}
}

// Where everything is wrong the list ends, and says so.
func TestCheckListEnds(t *testing.T) {
	s := place{Options{Dir: t.TempDir()}}.open(t)
	c := &checking{s: s, ctx: context.Background()}
	for i := range mostFindings + 7 {
		c.find("x", "finding %d; nothing to do", i)
	}
	if len(c.report.Findings) != mostFindings || c.report.More != 7 {
		t.Fatalf("%d and %d", len(c.report.Findings), c.report.More)
	}
}

// Where PostgreSQL has its own check of indexes, it is asked.
func TestCheckIndexes(t *testing.T) {
	s := place{Options{Dir: t.TempDir(), URL: storetest.Postgres(t), Schema: storetest.Schema(t)}}.open(t)
	if _, err := s.db.ExecContext(ctx, `CREATE EXTENSION IF NOT EXISTS amcheck SCHEMA public`); err != nil {
		t.Skipf("NOT TRIED: this PostgreSQL has no amcheck: %v", err)
	}
	defer exec1(t, s, `DROP EXTENSION amcheck`)
	fill(t, s, 42)
	sound(t, s)
	// An index that finds a name where the table has another.
	conn, err := s.db.Conn(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	for _, q := range []string{
		`CREATE FUNCTION turned(a text, b text) RETURNS int LANGUAGE sql IMMUTABLE AS 'SELECT bttextcmp(a, b)'`,
		`CREATE OPERATOR CLASS turned_ops FOR TYPE text USING btree AS OPERATOR 1 <, OPERATOR 2 <=, OPERATOR 3 =, OPERATOR 4 >=, OPERATOR 5 >, FUNCTION 1 turned(text, text)`,
		`CREATE INDEX turned_index ON record (folded turned_ops)`,
		`CREATE OR REPLACE FUNCTION turned(a text, b text) RETURNS int LANGUAGE sql IMMUTABLE AS 'SELECT bttextcmp(b, a)'`,
	} {
		if _, err := conn.ExecContext(ctx, q); err != nil {
			t.Fatalf("%s: %v", q, err)
		}
	}
	c := must[fettle.CheckReport](t)(s.Check(ctx, nil))
	if c.Sound || len(c.Findings) != 1 || c.Findings[0].About != "turned_index" {
		t.Fatalf("%+v", c.Findings)
	}
}
