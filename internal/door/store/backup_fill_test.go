package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fettle"
)

// odd is text that formats stumble over.
const odd = "Ré \"sat\\in\"\t\n\u2028 </script> \U0001F527 'x' %s $1"

// fill makes a small shop with everything in it: links, files, history, deletions,
// tasks in every state, and what no backup may hold.
func fill(t testing.TB, s *Store, seed uint64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 7))
	put := func(n int, kind byte) fettle.Blob {
		b := make([]byte, n)
		for i := range b {
			if b[i] = kind; kind == 0 {
				b[i] = byte(r.Uint32())
			}
		}
		copy(b, fmt.Sprint(seed))
		return must[fettle.Blob](t)(s.PutBlob(ctx, bytes.NewReader(b), 1<<30))
	}
	files := []fettle.Blob{put(0, 0), put(1, 0), put(200_000, 0), put(100_000, 'v'), put(70_000, 0)}
	c := made(t, s, fettle.KeptCustomer, fmt.Sprint("Customer ", seed, odd))
	for i := range 6 {
		p := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptPart, Name: fmt.Sprint("escutcheon plate ", i),
			Links: map[string]string{"customer": c.ID}, Body: must[[]byte](t)(json.Marshal(map[string]string{"notes": odd}))}))
		f := must[fettle.Record](t)(one(s, fettle.Make, fettle.Record{Kind: fettle.KeptFile, Name: "plate.step",
			Links: map[string]string{"part": p.ID}, Files: map[string]string{"model": files[i%len(files)].SHA256}, Body: body(i)}))
		for n := range i {
			f.Body = body(100 + n)
			f = must[fettle.Record](t)(one(s, fettle.Alter, f))
		}
		switch i {
		case 3:
			f = must[fettle.Record](t)(one(s, fettle.Undo, f))
		case 4:
			must[fettle.Record](t)(one(s, fettle.Delete, f))
		case 5:
			f = must[fettle.Record](t)(one(s, fettle.Delete, f))
			must[fettle.Record](t)(one(s, fettle.Undo, f))
		}
	}
	made(t, s, fettle.KeptMaterial, "Naval Brass")
	if _, err := s.Apply(ctx, fettle.Edit{By: "Anna", Key: fmt.Sprint("k", seed), Changes: []fettle.Change{{Act: fettle.Make,
		Record: fettle.Record{Kind: fettle.KeptLook, Name: "satin", Body: body(1)}}}}); err != nil {
		t.Fatal(err)
	}
	for i, state := range taskStates {
		exec1(t, s, `INSERT INTO task (id, kind, task_key, state, doing, done, total, attempt, why, args, result, by_whom, job_id, made_us, started_us, changed_us, ended_us)
VALUES ($1, 'plan', $2, $3, 'looks', 3, 9, 1, '', '{"a":1}', '', 'Anna', 77, 5, 6, 7, 0)`, fmt.Sprintf("task%d-%d", seed, i), fmt.Sprintf("key%d-%d", seed, i), string(state))
	}
	exec1(t, s, `INSERT INTO secret (name, value, changed_us) VALUES ('passcode', $1, 1)`, fmt.Sprint("hidden hash ", seed))
	exec1(t, s, `INSERT INTO session (token, role, made_us, seen_us, ends_us, agent) VALUES ($1, 'owner', 1, 1, 1, 'browser')`, fmt.Sprint("hidden token ", seed))
}

func exec1(t testing.TB, s *Store, query string, args ...any) {
	t.Helper()
	if _, err := s.db.ExecContext(ctx, query, args...); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

// content is every row that a backup keeps, as text, and every stored file.
func content(t testing.TB, s *Store) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	for _, tab := range kept(must[[]table](t)(shapeAt(ctx, latestSchema()))) {
		rows := []string{}
		err := eachRow(ctx, s.read, `SELECT `+tab.names()+` FROM `+tab.name, nil, func(row []any) error {
			rows = append(rows, fmt.Sprintf("%#v", row))
			if tab.name == blobTable {
				f, b, err := s.OpenBlob(ctx, text(row[0]))
				if err != nil {
					return err
				}
				defer f.Close()
				all, err := io.ReadAll(f)
				rows = append(rows, fmt.Sprintf("%s %d %x", b.SHA256, b.Bytes, all))
				return err
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		slices.Sort(rows)
		out[tab.name] = rows
	}
	return out
}

// restored is a content as it comes back: tasks that were not over wait again.
func restored(c map[string][]string) map[string][]string {
	c = maps.Clone(c)
	tasks := []string{}
	for _, row := range c["task"] {
		if strings.Contains(row, `"waiting"`) || strings.Contains(row, `"running"`) {
			row = strings.Replace(row, `"running"`, `"waiting"`, 1)
			row = strings.Replace(row, `"looks", 3, 9, 1`, `"", 0, 0, 1`, 1)
			row = strings.Replace(row, `5, 6, 7, 0}`, `5, 0, 7, 0}`, 1)
		}
		tasks = append(tasks, strings.Replace(row, `, 77, `, `, 0, `, 1))
	}
	slices.Sort(tasks)
	c["task"] = tasks
	return c
}

// secrets is what a store checks passcodes with.
func secrets(t testing.TB, s *Store) []string {
	t.Helper()
	out := []string{}
	if err := eachRow(ctx, s.read, `SELECT value FROM secret`, nil, func(row []any) error {
		out = append(out, text(row[0]))
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return out
}

func sound(t testing.TB, s *Store) fettle.CheckReport {
	t.Helper()
	c, err := s.Check(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !c.Sound {
		t.Fatalf("not sound: %v", c.Findings)
	}
	return c
}

// saved is a backup of a store in a folder of its own.
func saved(t testing.TB, s *Store) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "shop.zip")
	must[fettle.BackupReport](t)(s.Backup(ctx, path, nil))
	return path
}
