package queue

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
)

// deaf is a worker that shows no life and notices nothing, as one whose computer
// sleeps.
func deaf(p *pace) {
	p.row, p.look, p.heartbeat, p.sweep = time.Hour, time.Hour, time.Hour, time.Hour
}

// TestFence has a worker lose its task and come back with an answer: while
// another is on it, and after that one is done. Neither time is it taken.
func TestFence(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		late, wanted := make(chan string), make(chan struct{}, 1)
		db := b.db()
		slow := b.queue(db, workers(1), together, atPace(deaf), handle("survey", func(_ context.Context, _ json.RawMessage, say func(string, int, int)) (json.RawMessage, error) {
			wanted <- struct{}{}
			answer := <-late
			say("late", 7, 7)
			return json.RawMessage(answer), nil
		}))
		task := ask(t, slow, "survey", "plate")
		<-wanted
		if _, err := db.ExecContext(t.Context(), "UPDATE task SET changed_us = changed_us - 11000000"); err != nil {
			t.Fatal(err)
		}
		go0, running := make(chan struct{}), make(chan struct{})
		brisk := b.queue(b.db(), together, handle("survey", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			close(running)
			<-go0
			return json.RawMessage(`"brisk"`), nil
		}))
		<-running
		late <- `"slow"`
		// The slow one is through with it when it no longer runs there.
		until(t, slow, task.ID, func(fettle.Task) bool { return !slow.runs(task.ID) })
		now := until(t, brisk, task.ID, func(fettle.Task) bool { return true })
		if now.State != fettle.Running || now.Attempt != 2 || now.Doing == "late" || now.Result != nil {
			t.Errorf("the late answer shows: %+v", now)
		}
		close(go0)
		now = finished(t, brisk, task.ID)
		checkState(t, now, fettle.Done)
		if string(now.Result) != `"brisk"` || now.Attempt != 2 {
			t.Errorf("%+v", now)
		}
		if n := jobs(t, brisk); n != 0 {
			t.Errorf("%d jobs left in River's table", n)
		}
	})
}

// TestLost takes a task from a worker that is alive: its handler is told.
func TestLost(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		var runs atomic.Int32
		told := make(chan error, 1)
		begun := make(chan struct{}, 1)
		q := b.queue(db, workers(1), together, atPace(func(p *pace) { p.sweep = time.Hour }), handle("survey", func(ctx context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			if runs.Add(1) > 1 {
				return args, nil
			}
			begun <- struct{}{}
			<-ctx.Done()
			told <- context.Cause(ctx)
			return nil, ctx.Err()
		}))
		task := ask(t, q, "survey", "plate")
		<-begun
		e, err := scan(db.QueryRowContext(t.Context(), q.sql.get, task.ID))
		if err != nil {
			t.Fatal(err)
		}
		if err := q.putBack(t.Context(), e, 0, diedWhy, -forever, 0); err != nil {
			t.Fatal(err)
		}
		if err := <-told; err != errLost {
			t.Errorf("told %v", err)
		}
		task = finished(t, q, task.ID)
		checkState(t, task, fettle.Done)
		if task.Attempt != 2 {
			t.Errorf("done at attempt %d", task.Attempt)
		}
	})
}

// TestSweepRace has many sweep at once after tasks whose worker is gone: each is
// put back once, those at their third attempt are parked, and those that live are
// let be.
func TestSweepRace(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		one := b.queue(db, workers(0), together)
		two := b.queue(b.db(), workers(0), together)
		const n = 9
		var ids []string
		for i := range n {
			task := ask(t, one, "survey", fmt.Sprint(i))
			ids = append(ids, task.ID)
			// Of three, one's worker died at its first attempt, one's at its third,
			// and one is being worked at.
			attempt, age := 1, 11_000_000
			switch i % 3 {
			case 1:
				attempt = 3
			case 2:
				age = 1_000_000
			}
			text := fmt.Sprintf("UPDATE task SET state = 'running', attempt = %d, changed_us = changed_us - %d WHERE id = '%s'", attempt, age, task.ID)
			if _, err := db.ExecContext(t.Context(), text); err != nil {
				t.Fatal(err)
			}
		}
		var wg sync.WaitGroup
		for i := range 10 {
			wg.Go(func() {
				if err := []*Queue{one, two}[i%2].sweep(t.Context()); err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
		want := []fettle.TaskState{fettle.Waiting, fettle.Parked, fettle.Running}
		for i, id := range ids {
			task, err := one.Task(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			checkState(t, task, want[i%3])
			if i%3 == 1 && (task.Why != poisonWhy(3) || task.Ended == nil) {
				t.Errorf("parked as %+v", task)
			}
		}
		// One job for each that waits or runs.
		if got := jobs(t, one); got != 2*n/3 {
			t.Errorf("%d jobs, want %d", got, 2*n/3)
		}
	})
}

// TestFetchedOnly leaves a job as a worker does that died between River's word
// and ours.
func TestFetchedOnly(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		asker := b.queue(db, workers(0), together)
		old, fresh := ask(t, asker, "survey", "old"), ask(t, asker, "survey", "fresh")
		past := map[string]string{
			"sqlite":   "strftime('%%Y-%%m-%%d %%H:%%M:%%f', 'now', '-%d seconds')",
			"postgres": "now() - interval '%d seconds'",
		}[b.dialect]
		for id, age := range map[string]int{old.ID: 61, fresh.ID: 20} {
			text := fmt.Sprintf("UPDATE river_job SET state = 'running', attempt = 1, attempted_at = "+past+" WHERE id = (SELECT job_id FROM task WHERE id = '%s')", age, id)
			if _, err := db.ExecContext(t.Context(), text); err != nil {
				t.Fatal(err)
			}
		}
		q := b.queue(b.db(), together, atPace(func(p *pace) { p.stale = time.Minute }), handle("survey", echo))
		checkState(t, finished(t, q, old.ID), fettle.Done)
		time.Sleep(3 * q.pace.sweep)
		task, err := q.Task(t.Context(), fresh.ID)
		if err != nil {
			t.Fatal(err)
		}
		checkState(t, task, fettle.Waiting)
	})
}

// TestUnseenClaim has the database take a claim and its word of it get lost: River
// gives the same job out again, and the task is done all the same.
func TestUnseenClaim(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		asker := b.queue(db, workers(0), together)
		task := ask(t, asker, "survey", "plate")
		if _, err := db.ExecContext(t.Context(), "UPDATE task SET state = 'running', attempt = 1 WHERE id = '"+task.ID+"'"); err != nil {
			t.Fatal(err)
		}
		// No sweep could help: its heartbeat counts as fresh.
		q := b.queue(b.db(), together, atPace(func(p *pace) { p.stale = time.Hour }), handle("survey", echo))
		task = finished(t, q, task.ID)
		checkState(t, task, fettle.Done)
		if task.Attempt != 1 {
			t.Errorf("done at attempt %d", task.Attempt)
		}
	})
}
