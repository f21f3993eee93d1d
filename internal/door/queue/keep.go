package queue

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

// never is no time to wait for: now.
var never time.Time

// Why a task that was running when its process ended waits again, or does not.
const diedWhy = "the program ended in the middle of it, and it is tried again"

func poisonWhy(attempts int) string {
	return fmt.Sprintf("it was tried %d times, and the last time the program ended in the middle of it, so it is not tried again by itself; look into the log, then ask for it again", attempts)
}

// rebuild makes the job queue anew from the tasks, for a process that is alone:
// every running task was left by a crash, and jobs may be there that nobody has
// or missing after a restore. The attempt that a crash ended counts, so that
// work that brings the program down is not tried forever.
func (q *Queue) rebuild(ctx context.Context) error {
	return q.tx(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, q.sql.deleteJobs); err != nil {
			return err
		}
		left, err := all(ctx, tx, q.sql.running)
		if err != nil {
			return err
		}
		for _, e := range left {
			on := []any{e.ID, e.job, e.Attempt}
			if e.Attempt >= q.pace.attempts() {
				if _, err := scan(tx.QueryRowContext(ctx, q.sql.park, append(on, poisonWhy(e.Attempt), -forever)...)); err != nil {
					return err
				}
				continue
			}
			var now int64
			if err := tx.QueryRowContext(ctx, q.sql.back, append(on, 0, diedWhy, -forever)...).Scan(&now); err != nil {
				return err
			}
		}
		waiting, err := all(ctx, tx, q.sql.waiting)
		if err != nil {
			return err
		}
		for _, e := range waiting {
			if _, err := q.reorder(ctx, tx, e, never); err != nil {
				return err
			}
		}
		return nil
	})
}

// sweepLoop looks, where several processes work, for tasks that a dead one left.
func (q *Queue) sweepLoop() {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		select {
		case <-q.closed:
			cancel()
		case <-ctx.Done():
		}
	}()
	tick := time.NewTicker(q.pace.sweep)
	defer tick.Stop()
	for {
		if err := q.sweep(ctx); err != nil && ctx.Err() == nil {
			q.log.Warn("tasks of ended processes could not be looked for", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// sweep puts tasks back whose worker shows no life, parks those that ended their
// worker as often as makes sense, and gives a job to those that have none. All
// statements name the attempt they are about, so any number of processes may
// sweep at the same time.
func (q *Queue) sweep(ctx context.Context) error {
	age := q.pace.stale.Microseconds()
	dead, err := all(ctx, q.db, q.sql.stale, age)
	if err != nil {
		return err
	}
	for _, e := range dead {
		q.log.Warn("a task's worker shows no life", "task", e.ID, "kind", string(e.Kind), "attempt", e.Attempt)
		if e.Attempt >= q.pace.attempts() {
			err = q.end(ctx, e, q.sql.park, e.ID, e.job, e.Attempt, poisonWhy(e.Attempt), age)
		} else {
			err = q.putBack(ctx, e, 0, diedWhy, age, 0)
		}
		if err != nil {
			return err
		}
	}
	orphans, err := all(ctx, q.db, q.sql.orphans, age)
	if err != nil {
		return err
	}
	for _, e := range orphans {
		err := q.tx(ctx, func(tx *sql.Tx) error {
			_, err := q.reorder(ctx, tx, e, never)
			return err
		})
		if err != nil && err != sql.ErrNoRows {
			return err
		}
	}
	if len(orphans) > 0 {
		q.wake()
	}
	return nil
}
