package queue

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"
	"time"

	"fettle"
)

// Why a running task's context ended.
var (
	errStopped = errors.New("queue: the task was stopped")
	errLost    = errors.New("queue: the task is no longer this worker's")
	errClosing = errors.New("queue: the program is closing")
	errLimit   = errors.New("queue: the attempt took too long")
)

// work makes one attempt. River gives the job to one worker at a time; that the
// task's row still names this job is what makes the attempt ours. An error goes
// to River, which hands the job out again a little later; it is only for a
// database that does not answer.
func (q *Queue) work(ctx context.Context, job int64, id string, kind fettle.TaskKind) error {
	e, err := scan(q.db.QueryRowContext(ctx, q.sql.claim, id, job))
	if errors.Is(err, sql.ErrNoRows) {
		return q.useless(ctx, job, id)
	}
	if err != nil {
		return err
	}
	r := q.begin(ctx, e)
	kept := make(chan struct{})
	go func() {
		defer close(kept)
		r.keep()
	}()
	result, err := r.handle(q.o.Handlers[kind])
	cause := context.Cause(r.ctx)
	r.cancel(nil)
	<-kept
	for wait := 100 * time.Millisecond; ; wait = min(2*wait, 5*time.Second) {
		dbErr := r.settle(result, err, cause)
		if dbErr == nil {
			break
		}
		q.log.Error("what became of a task could not be written", "task", id, "error", dbErr)
		// The answer is there and only the database is not: wait for it, as long as
		// the program runs. After that the next start finds the attempt unfinished.
		select {
		case <-q.closed:
			q.finish(r)
			return dbErr
		case <-time.After(wait):
		}
	}
	q.finish(r)
	return nil
}

// useless is for a job whose task was stopped or given another job. Where the
// task is at this very job, it was claimed and the database's word got lost on
// its way to us, because River gives a job to one worker at a time: then that
// attempt has not been.
func (q *Queue) useless(ctx context.Context, job int64, id string) error {
	e, err := scan(q.db.QueryRowContext(ctx, q.sql.get, id))
	if err == nil && e.State == fettle.Running && e.job == job {
		return q.putBack(ctx, e, 1, e.Why, -forever, 0)
	}
	_, err = q.db.ExecContext(ctx, q.sql.deleteJob, job)
	return err
}

// begin enters a claimed task into the running ones.
func (q *Queue) begin(ctx context.Context, e entry) *run {
	r := &run{q: q, entry: e, said: e.Task}
	r.ctx, r.cancel = context.WithCancelCause(ctx)
	if q.o.Limit > 0 {
		r.limit = time.AfterFunc(q.o.Limit, func() { r.cancel(errLimit) })
	}
	q.mu.Lock()
	q.running[e.ID] = r
	if q.ending {
		r.cancel(errClosing)
	}
	q.mu.Unlock()
	q.hub.publish(e.Task)
	return r
}

func (q *Queue) finish(r *run) {
	if r.limit != nil {
		r.limit.Stop()
	}
	q.mu.Lock()
	// A task that was lost and came back to this process is another run's.
	if q.running[r.entry.ID] == r {
		delete(q.running, r.entry.ID)
	}
	q.mu.Unlock()
}

// errPanic is a handler's panic; what it said is in the log.
var errPanic = errors.New("queue: the handler panicked")

// handle runs the handler. One that does not return after its context ended is
// left behind: nothing in Go can end it, but the worker is wanted elsewhere.
func (r *run) handle(h Handler) (json.RawMessage, error) {
	type answer struct {
		result json.RawMessage
		err    error
	}
	came := make(chan answer, 1)
	go func() {
		var a answer
		defer func() {
			if p := recover(); p != nil {
				r.q.log.Error("a task panicked", "task", r.entry.ID, "kind", string(r.entry.Kind), "attempt", r.entry.Attempt,
					"panic", fmt.Sprint(p), "stack", string(debug.Stack()))
				a = answer{nil, errPanic}
			}
			came <- a
		}()
		a.result, a.err = h(r.ctx, r.entry.Args, r.say)
		if a.err == nil && a.result == nil {
			a.result = json.RawMessage("null")
		}
		if a.err == nil && !json.Valid(a.result) {
			a.err = errors.New("the answer is not JSON")
		}
	}()
	select {
	case a := <-came:
		return a.result, a.err
	case <-r.ctx.Done():
	}
	select {
	case a := <-came:
		return a.result, a.err
	case <-time.After(r.q.pace.patience):
		r.q.log.Warn("a task does not end although it was told to, and is left behind", "task", r.entry.ID, "kind", string(r.entry.Kind))
		return nil, context.Cause(r.ctx)
	}
}

// settle writes what became of an attempt, if it is still this worker's to say.
func (r *run) settle(result json.RawMessage, err, cause error) error {
	// The context that ended the handler must not end this.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(r.ctx), dbPatience)
	defer cancel()
	q, e := r.q, r.entry
	on := []any{e.ID, e.job, e.Attempt}
	if err == nil {
		said := r.now()
		return q.end(ctx, e, q.sql.done, append(on, clean(said.Doing), said.Done, said.Total, strings.ToValidUTF8(string(result), "\uFFFD"))...)
	}
	var final *fettle.Error
	switch {
	case errors.Is(cause, errStopped), errors.Is(cause, errLost):
		return nil // whoever stopped or took it has written so
	case errors.Is(cause, errClosing):
		return q.putBack(ctx, e, 1, e.Why, -forever, 0)
	case cause == nil && errors.As(err, &final) && final.Code != fettle.Internal:
		q.log.Info("a task cannot be done as asked", "task", e.ID, "kind", string(e.Kind), "error", final.Message, "cause", final.Err)
		return q.end(ctx, e, q.sql.end, append(on, string(fettle.Failed), clean(final.Message))...)
	}
	reason := reasonFor(err, cause, q.o.Limit)
	q.log.Warn("a task went wrong", "task", e.ID, "kind", string(e.Kind), "attempt", e.Attempt, "error", err)
	if e.Attempt >= q.pace.attempts() {
		why := fmt.Sprintf("it was tried %d times and went wrong each time, the last time because %s; look into the log, then ask for it again", e.Attempt, reason)
		return q.end(ctx, e, q.sql.end, append(on, string(fettle.Parked), why)...)
	}
	return q.putBack(ctx, e, 0, "it went wrong and is tried again: "+reason, -forever, q.pace.again[e.Attempt-1])
}

// reasonFor says in plain words what happened. The text of an error that is not
// for the user stays in the log.
func reasonFor(err, cause error, limit time.Duration) string {
	var ours *fettle.Error
	switch {
	case errors.Is(cause, errLimit):
		return "it took longer than " + inWords(limit)
	case errors.Is(err, errPanic):
		return "the program made a mistake in it, which its log describes"
	case errors.As(err, &ours):
		return clean(ours.Message)
	default:
		return "something failed inside the program, which its log describes"
	}
}

func inWords(d time.Duration) string {
	switch {
	case d >= 2*time.Minute && d%time.Minute == 0:
		return fmt.Sprintf("%d minutes", d/time.Minute)
	case d >= 2*time.Second && d%time.Second == 0:
		return fmt.Sprintf("%d seconds", d/time.Second)
	default:
		return d.String()
	}
}

// end writes the last state of a task by a statement on its attempt and deletes
// the attempt's job. If the attempt was given up meanwhile, nothing is written.
func (q *Queue) end(ctx context.Context, e entry, text string, args ...any) error {
	var ended entry
	err := q.tx(ctx, func(tx *sql.Tx) error {
		var err error
		if ended, err = scan(tx.QueryRowContext(ctx, text, args...)); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, q.sql.deleteJob, e.job)
		return err
	})
	if errors.Is(err, sql.ErrNoRows) {
		q.log.Info("an attempt was given up meanwhile, and what came of it is not used", "task", e.ID, "attempt", e.Attempt)
		return nil
	}
	if err != nil {
		return err
	}
	q.hub.publish(ended.Task)
	return nil
}

const forever = int64(1) << 60

// putBack has a running task wait for another attempt, after a while, with a
// reason; off is taken off its attempts. It does so only if the attempt is still
// the one in e and its heartbeat at least as old as age (in microseconds), and
// else does nothing: so two may do it at the same time.
func (q *Queue) putBack(ctx context.Context, e entry, off int, why string, age int64, after time.Duration) error {
	var back entry
	err := q.tx(ctx, func(tx *sql.Tx) error {
		var now int64
		if err := tx.QueryRowContext(ctx, q.sql.back, e.ID, e.job, e.Attempt, off, why, age).Scan(&now); err != nil {
			return err
		}
		var at time.Time
		if after > 0 {
			at = time.UnixMicro(now).Add(after) // by the database's clock
		}
		var err error
		back, err = q.reorder(ctx, tx, e, at)
		return err
	})
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	q.hub.publish(back.Task)
	q.wake()
	return nil
}

// reorder gives a waiting task a new job instead of the one in e. The new one is
// made before the old one goes, so that no number is used twice.
func (q *Queue) reorder(ctx context.Context, tx *sql.Tx, e entry, at time.Time) (entry, error) {
	job, err := q.order(ctx, tx, e.ID, e.Kind, at)
	if err != nil {
		return entry{}, err
	}
	back, err := scan(tx.QueryRowContext(ctx, q.sql.setJob, e.ID, e.job, job))
	if err != nil {
		return entry{}, err
	}
	_, err = tx.ExecContext(ctx, q.sql.deleteJob, e.job)
	return back, err
}
