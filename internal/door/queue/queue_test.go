package queue

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
)

// TestOnce asks one question twenty times at once, and then again: it is worked
// once.
func TestOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var worked atomic.Int32
		db := b.db()
		q := b.queue(db, handle("survey", func(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			worked.Add(1)
			return args, nil
		}))
		// Half of them ask where nobody works.
		other := b.queue(db, workers(0), together)
		ids := make([]string, 20)
		var wg sync.WaitGroup
		for i := range ids {
			wg.Go(func() {
				task, err := []*Queue{q, other}[i%2].Ask(t.Context(), question("survey", "plate"))
				if err != nil {
					t.Error(err)
				}
				ids[i] = task.ID
			})
		}
		wg.Wait()
		for _, id := range ids {
			if id != ids[0] {
				t.Fatalf("two tasks for one question: %s and %s", id, ids[0])
			}
		}
		task := finished(t, q, ids[0])
		checkState(t, task, fettle.Done)
		if string(task.Result) != `{"of":"plate"}` || task.Attempt != 1 || task.Started == nil || task.Ended == nil || task.By != "bench" {
			t.Errorf("done as %+v", task)
		}
		if again := ask(t, q, "survey", "plate"); again.ID != task.ID || string(again.Result) != string(task.Result) {
			t.Errorf("asked again: %+v", again)
		}
		// The same key for another kind is another question.
		if reach := ask(t, q, "reach", "plate"); reach.ID == task.ID {
			t.Error("two kinds share a task")
		}
		if n := worked.Load(); n != 1 {
			t.Errorf("worked %d times", n)
		}
		if n := jobs(t, q); n != 1 { // that of the other kind, which nobody here knows
			t.Errorf("%d jobs in River's table", n)
		}
	})
}

// TestForget has an answer forgotten, and worked again.
func TestForget(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var worked atomic.Int32
		q := b.queue(b.db(), handle("survey", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			return json.RawMessage(fmt.Sprint(worked.Add(1))), nil
		}))
		first := finished(t, q, ask(t, q, "survey", "plate").ID)
		if err := q.Forget(t.Context(), first.ID); err != nil {
			t.Fatal(err)
		}
		if err := q.Forget(t.Context(), first.ID); fettle.CodeOf(err) != fettle.Conflict {
			t.Errorf("forgotten twice: %v", err)
		}
		second := finished(t, q, ask(t, q, "survey", "plate").ID)
		if second.ID == first.ID || string(second.Result) != "2" {
			t.Errorf("after it was forgotten: %+v", second)
		}
		old, err := q.Task(t.Context(), first.ID)
		if err != nil || old.State != fettle.Stopped || old.Result != nil || old.Why == "" {
			t.Errorf("the forgotten one: %+v, %v", old, err)
		}
	})
}

// TestAgain asks failed, stopped and parked tasks anew, and refuses it for others.
func TestAgain(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var works atomic.Bool
		q := b.queue(b.db(), handle("survey", func(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			if !works.Load() {
				return nil, fettle.Errorf(fettle.BadFile, "line 3 is not closed; save the file again")
			}
			return args, nil
		}))
		failed := finished(t, q, ask(t, q, "survey", "plate").ID)
		checkState(t, failed, fettle.Failed)
		works.Store(true)
		anew, err := q.Again(t.Context(), failed.ID)
		if err != nil {
			t.Fatal(err)
		}
		anew = finished(t, q, anew.ID)
		if anew.State != fettle.Done || anew.ID == failed.ID || anew.Attempt != 1 || string(anew.Args) != string(failed.Args) || anew.By != failed.By {
			t.Errorf("asked anew: %+v", anew)
		}
		// Once it is done, the failed one leads to the answer.
		if same, err := q.Again(t.Context(), failed.ID); err != nil || same.ID != anew.ID {
			t.Errorf("asked anew a second time: %+v, %v", same, err)
		}
		if _, err := q.Again(t.Context(), anew.ID); fettle.CodeOf(err) != fettle.Conflict {
			t.Errorf("a done one asked anew: %v", err)
		}
		for _, f := range []func() error{
			func() error { _, err := q.Again(t.Context(), "nothing"); return err },
			func() error { _, err := q.Stop(t.Context(), "no\x00thing"); return err },
			func() error { _, err := q.Task(t.Context(), ""); return err },
			func() error { return q.Forget(t.Context(), "nothing") },
			func() error { return q.Watch(t.Context(), "nothing", nil) },
		} {
			if err := f(); fettle.CodeOf(err) != fettle.NotFound {
				t.Errorf("an unknown task: %v", err)
			}
		}
	})
}

// TestRefused asks what cannot be asked.
func TestRefused(t *testing.T) {
	t.Parallel()
	b := sqliteBench(t)
	q := b.queue(b.db(), workers(0))
	for _, a := range []fettle.Question{
		{Kind: "", Key: "a"},
		{Kind: "two words", Key: "a"},
		{Kind: "survey", Key: ""},
		{Kind: "survey", Key: "a\x00"},
		{Kind: "survey", Key: "a\xff"},
		{Kind: "survey", Key: "a", Args: json.RawMessage(`{`)},
		{Kind: "survey", Key: "a", Args: json.RawMessage("\"\xff\"")},
	} {
		if _, err := q.Ask(t.Context(), a); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%+v: %v", a, err)
		}
	}
}

// TestList pages through tasks, the newest first.
func TestList(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		// With the schema named and not only on the search path.
		q := b.queue(db, handle("survey", echo), func(o *Options, _ *pace) { o.Schema = b.options.Schema })
		var want []string
		for i := range 7 {
			want = append(want, finished(t, q, ask(t, q, "survey", fmt.Sprint(i)).ID).ID)
		}
		waits := ask(t, q, "plan", "plate")
		slices.Reverse(want)
		var got []string
		var next string
		for pages := 0; pages == 0 || next != ""; pages++ {
			var page []fettle.Task
			var err error
			if page, next, err = q.List(t.Context(), []fettle.TaskState{fettle.Done, fettle.Failed}, next, 3); err != nil {
				t.Fatal(err)
			}
			for _, task := range page {
				got = append(got, task.ID)
			}
			if pages > 3 {
				t.Fatal("the pages do not end")
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("listed %v, want %v", got, want)
		}
		page, next, err := q.List(t.Context(), nil, "", 8)
		if err != nil || len(page) != 8 || next != "" || page[0].ID != waits.ID {
			t.Errorf("all: %d tasks, next %q, %v", len(page), next, err)
		}
	})
}

// TestNotTwice has two queues, on PostgreSQL with a pool each, work many tasks:
// none is run by both at the same time, or at all a second time.
func TestNotTwice(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var mu sync.Mutex
		runs, at := map[string]int{}, map[string]bool{}
		h := func(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			key := string(args)
			mu.Lock()
			if at[key] {
				t.Errorf("%s runs twice at the same time", key)
			}
			at[key] = true
			runs[key]++
			mu.Unlock()
			time.Sleep(3 * time.Millisecond)
			mu.Lock()
			at[key] = false
			mu.Unlock()
			return args, nil
		}
		one := b.queue(b.db(), handle("survey", h), together, workers(4))
		two := b.queue(b.db(), handle("survey", h), together, workers(4))
		n := 60
		if testing.Short() {
			n = 8
		}
		var ids []string
		for i := range n {
			ids = append(ids, ask(t, []*Queue{one, two}[i%2], "survey", fmt.Sprint(i)).ID)
		}
		for _, id := range ids {
			checkState(t, finished(t, one, id), fettle.Done)
		}
		for key, n := range runs {
			if n != 1 {
				t.Errorf("%s ran %d times", key, n)
			}
		}
		if len(runs) != n {
			t.Errorf("%d ran, want %d", len(runs), n)
		}
	})
}

// TestRestored empties River's tables, as a restored backup has them, and takes
// what was running for left behind.
func TestRestored(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		asker := b.queue(db, workers(0), together)
		var ids []string
		for i := range 5 {
			ids = append(ids, ask(t, asker, "survey", fmt.Sprint(i)).ID)
		}
		for _, text := range []string{
			"DELETE FROM river_job",
			"UPDATE task SET state = 'running', attempt = 1, changed_us = changed_us - 60000000 WHERE id = '" + ids[1] + "'",
			// A new count of jobs comes upon the old numbers: this one names another task.
			"UPDATE task SET job_id = job_id + 100 WHERE id = '" + ids[2] + "'",
		} {
			if _, err := db.ExecContext(t.Context(), text); err != nil {
				t.Fatal(err)
			}
		}
		q := b.queue(db, handle("survey", echo))
		for i, id := range ids {
			task := finished(t, q, id)
			checkState(t, task, fettle.Done)
			want := 1
			if i == 1 {
				want = 2 // the one that a crash cut off counts
			}
			if task.Attempt != want {
				t.Errorf("task %d was done at attempt %d, want %d", i, task.Attempt, want)
			}
		}
		if n := jobs(t, q); n != 0 {
			t.Errorf("%d jobs left in River's table", n)
		}
	})
}

// TestAtOnce opens six queues on a database without River's tables at once.
func TestAtOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		b.bare()
		var wg sync.WaitGroup
		for range 6 {
			db := b.db()
			wg.Go(func() {
				q, err := Open(t.Context(), db, Options{Dialect: b.dialect})
				if err != nil {
					t.Error(err)
					return
				}
				q.Close(context.Background())
			})
		}
		wg.Wait()
	})
}

// TestRest watches the files of an idle queue: a laptop's disk may sleep.
func TestRest(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for seconds")
	}
	t.Parallel()
	b := sqliteBench(t)
	o := Options{Dialect: "sqlite", Workers: 2, Alone: true, Handlers: map[fettle.TaskKind]Handler{"survey": echo}}
	q, err := Open(t.Context(), b.db(), o)
	if err != nil {
		t.Fatal(err)
	}
	defer q.Close(context.Background())
	finished(t, q, ask(t, q, "survey", "plate").ID)
	time.Sleep(500 * time.Millisecond) // River's own last word on the job
	state := func() string {
		var s strings.Builder
		err := filepath.WalkDir(b.options.Dir, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.HasSuffix(path, "-shm") { // shared memory, not the disk
				return err
			}
			info, err := os.Stat(path)
			if err == nil {
				fmt.Fprintln(&s, path, info.Size(), info.ModTime().UnixNano())
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return s.String()
	}
	before := state()
	time.Sleep(4500 * time.Millisecond) // twice River's slowest look but the one every ten minutes
	if after := state(); after != before {
		t.Errorf("files changed while nothing was to do:\n%s\n%s", before, after)
	}
	if !strings.Contains(before, "shop.db-wal") {
		t.Errorf("no journal among\n%s", before)
	}
}
