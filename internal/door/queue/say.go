package queue

import (
	"context"
	"database/sql"
	"errors"
	"sync"
	"time"

	"fettle"
)

// run is an attempt at work in this process.
type run struct {
	q      *Queue
	entry  entry // as claimed
	ctx    context.Context
	cancel context.CancelCauseFunc
	limit  *time.Timer

	mu   sync.Mutex
	said fettle.Task // the entry's, with what the handler said last
	news int         // counts what it said
}

// say takes down what the handler says. It is called from the inside of loops,
// so it does no more than that; keep passes it on in its own time. Workers of a
// handler may say it out of order: within one doing the count only grows.
func (r *run) say(doing string, done, total int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := &r.said
	if doing == s.Doing && total == s.Total && done <= s.Done {
		return
	}
	s.Doing, s.Done, s.Total = doing, done, total
	r.news++
}

// now is the task with what was said last.
func (r *run) now() fettle.Task {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.said
}

// keep passes on what is said, keeps the heartbeat and looks whether the attempt
// is still ours, until the handler is through.
func (r *run) keep() {
	p := r.q.pace
	tick := time.NewTicker(p.tick)
	defer tick.Stop()
	var pushed, written int
	begun := time.Now()
	wrote, looked := begun.Add(-p.row), begun
	// A heartbeat of a process that is alone has nobody to see it.
	beats := !r.q.o.Alone
	for {
		select {
		case <-r.ctx.Done():
			return
		case <-tick.C:
		}
		r.mu.Lock()
		said, news := r.said, r.news
		r.mu.Unlock()
		if news != pushed {
			pushed = news
			said.Changed = time.Now().UTC()
			r.q.hub.publish(said)
		}
		now := time.Now()
		var here bool
		var err error
		switch {
		case news != written && now.Sub(wrote) >= p.row:
			here, err = r.touch(r.q.sql.progress, clean(said.Doing), said.Done, said.Total)
			written, wrote, looked = news, now, now
		case beats && now.Sub(wrote) >= p.heartbeat:
			here, err = r.touch(r.q.sql.heartbeat)
			wrote, looked = now, now
		case now.Sub(looked) >= p.look:
			here, err = r.look()
			looked = now
		default:
			continue
		}
		if err != nil {
			if r.ctx.Err() == nil {
				r.q.log.Warn("a running task could not be kept", "task", r.entry.ID, "error", err)
			}
			continue
		}
		if !here {
			r.lost()
			return
		}
	}
}

// touch writes to the row, and reports whether the attempt is still this one.
func (r *run) touch(text string, args ...any) (bool, error) {
	ctx, cancel := context.WithTimeout(r.ctx, dbPatience)
	defer cancel()
	res, err := r.q.db.ExecContext(ctx, text, append([]any{r.entry.ID, r.entry.job, r.entry.Attempt}, args...)...)
	if err != nil {
		return false, err
	}
	n, err := res.RowsAffected()
	return n == 1, err
}

func (r *run) look() (bool, error) {
	ctx, cancel := context.WithTimeout(r.ctx, dbPatience)
	defer cancel()
	var one int
	err := r.q.db.QueryRowContext(ctx, r.q.sql.look, r.entry.ID, r.entry.job, r.entry.Attempt).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}

// lost ends the handler of a task that was stopped in another process or given
// to another worker, and lets the watches here know.
func (r *run) lost() {
	r.cancel(errLost)
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.ctx), dbPatience)
	defer cancel()
	if t, err := r.q.Task(ctx, r.entry.ID); err == nil {
		r.q.hub.publish(t)
	}
}
