package queue

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"

	"fettle"
)

// kindForm is what River takes as a job's kind.
var kindForm = regexp.MustCompile(`^[a-z][a-z0-9_]{0,99}$`)

// Ask puts a question in the queue. Where the same question (kind and key) waits,
// is worked at or was answered, that task is returned as it is; one that failed,
// was stopped or parked does not count, and a new task is made. Of many who ask
// at the same time all get the same task. For a question of how things are now, any
// task of its kind that waits will do: what was there before this call is there when
// its work begins.
func (q *Queue) Ask(ctx context.Context, a fettle.Question) (fettle.Task, error) {
	if !kindForm.MatchString(string(a.Kind)) {
		return fettle.Task{}, fettle.Errorf(fettle.Invalid, "%q is no kind of task; ask for one of those that the list of tasks shows", a.Kind)
	}
	if a.Key == "" || a.Key != clean(a.Key) {
		return fettle.Task{}, fettle.Errorf(fettle.Invalid, "a %s without a key cannot be found again; give the hash of all that the answer depends on", a.Kind)
	}
	if len(a.Args) == 0 {
		a.Args = json.RawMessage("null")
	}
	if !json.Valid(a.Args) || !utf8.Valid(a.Args) {
		return fettle.Task{}, fettle.Errorf(fettle.Invalid, "what the %s is asked about is not JSON", a.Kind)
	}
	// Between our insert being refused and our look the other task may come to an
	// end that does not count; then the next round makes one.
	for range 100 {
		e, err := scan(q.read.QueryRowContext(ctx, q.sql.live, string(a.Kind), a.Key))
		if a.Now && errors.Is(err, sql.ErrNoRows) {
			e, err = scan(q.read.QueryRowContext(ctx, q.sql.first, string(a.Kind)))
		}
		if err == nil {
			return e.Task, nil
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return fettle.Task{}, fmt.Errorf("look for a task: %w", err)
		}
		e, err = q.insert(ctx, a)
		if err == nil {
			q.hub.publish(e.Task)
			q.wake()
			return e.Task, nil
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return fettle.Task{}, fmt.Errorf("make a task: %w", err)
		}
	}
	return fettle.Task{}, fettle.Errorf(fettle.Conflict, "the same %s is asked for and stopped again and again; wait a moment, then ask again", a.Kind)
}

// insert makes a task and its job, or returns sql.ErrNoRows where the question
// is in the queue already.
func (q *Queue) insert(ctx context.Context, a fettle.Question) (entry, error) {
	id, err := uuid.NewV7()
	if err != nil {
		return entry{}, err
	}
	var e entry
	err = q.tx(ctx, func(tx *sql.Tx) error {
		job, err := q.order(ctx, tx, id.String(), a.Kind, never)
		if err != nil {
			return err
		}
		e, err = scan(tx.QueryRowContext(ctx, q.sql.insert, id.String(), string(a.Kind), a.Key, string(a.Args), clean(a.By), job))
		return err
	})
	return e, err
}

// Task is a task as it is now.
func (q *Queue) Task(ctx context.Context, id string) (fettle.Task, error) {
	e, err := scan(q.read.QueryRowContext(ctx, q.sql.get, clean(id)))
	if errors.Is(err, sql.ErrNoRows) {
		return fettle.Task{}, fettle.Errorf(fettle.NotFound, "there is no task %q; look into the list of tasks", clean(id))
	}
	if err != nil {
		return fettle.Task{}, fmt.Errorf("read a task: %w", err)
	}
	return e.Task, nil
}

// List is the tasks in some states (in any, if none is named), the newest first:
// at most limit of them (100 for 0, never more than 1000) that are older than the
// id in after. The second value, where not empty, is the after of the next page.
func (q *Queue) List(ctx context.Context, states []fettle.TaskState, after string, limit int) ([]fettle.Task, string, error) {
	switch {
	case limit <= 0:
		limit = 100
	case limit > 1000:
		limit = 1000
	}
	var where []string
	var args []any
	arg := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("$%d", len(args))
	}
	if len(states) > 0 {
		var in []string
		for _, s := range states {
			in = append(in, arg(string(s)))
		}
		where = append(where, "state IN ("+strings.Join(in, ", ")+")")
	}
	if after != "" {
		where = append(where, "id < "+arg(clean(after)))
	}
	text := q.sql.list
	if len(where) > 0 {
		text += " WHERE " + strings.Join(where, " AND ")
	}
	es, err := all(ctx, q.read, text+" ORDER BY id DESC LIMIT "+arg(limit+1), args...)
	if err != nil {
		return nil, "", fmt.Errorf("list tasks: %w", err)
	}
	next := ""
	if len(es) > limit {
		es = es[:limit]
		next = es[limit-1].ID
	}
	ts := make([]fettle.Task, len(es))
	for i, e := range es {
		ts[i] = e.Task
	}
	return ts, next, nil
}

// Stop stops a task: one that waits at once; one that runs is marked so at once,
// and its handler's context ends now, or within a second if another process runs
// it. A task that has ended stays as it is and is returned.
func (q *Queue) Stop(ctx context.Context, id string) (fettle.Task, error) {
	var e entry
	err := q.tx(ctx, func(tx *sql.Tx) error {
		var err error
		if e, err = scan(tx.QueryRowContext(ctx, q.sql.stop, clean(id), "it was stopped before it was done")); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, q.sql.deleteJob, e.job)
		return err
	})
	if errors.Is(err, sql.ErrNoRows) {
		return q.Task(ctx, id)
	}
	if err != nil {
		return fettle.Task{}, fmt.Errorf("stop a task: %w", err)
	}
	q.mu.Lock()
	if r := q.running[e.ID]; r != nil {
		r.cancel(errStopped)
	}
	q.mu.Unlock()
	q.hub.publish(e.Task)
	return e.Task, nil
}

// Again asks the question of a failed, stopped or parked task anew: it makes a
// new task, or finds the one that somebody else has made since.
func (q *Queue) Again(ctx context.Context, id string) (fettle.Task, error) {
	t, err := q.Task(ctx, id)
	if err != nil {
		return fettle.Task{}, err
	}
	switch t.State {
	case fettle.Waiting, fettle.Running:
		return fettle.Task{}, fettle.Errorf(fettle.Conflict, "this task is still %s; stop it first, or wait for it", t.State)
	case fettle.Done:
		return fettle.Task{}, fettle.Errorf(fettle.Conflict, "this task is done; to have it worked again, forget its answer and ask anew")
	}
	return q.Ask(ctx, fettle.Question{Kind: t.Kind, Key: t.Key, Args: t.Args, By: t.By})
}

// Forget takes a done task's answer away: the task counts as stopped, and the
// same question is worked again when it is next asked.
func (q *Queue) Forget(ctx context.Context, id string) error {
	e, err := scan(q.db.QueryRowContext(ctx, q.sql.forget, clean(id), "it was done, and its answer was forgotten on request"))
	if errors.Is(err, sql.ErrNoRows) {
		t, err := q.Task(ctx, id)
		if err != nil {
			return err
		}
		return fettle.Errorf(fettle.Conflict, "this task is %s, so there is no answer to forget", t.State)
	}
	if err != nil {
		return fmt.Errorf("forget an answer: %w", err)
	}
	q.hub.publish(e.Task)
	return nil
}
