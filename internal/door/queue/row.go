package queue

import (
	"context"
	"database/sql"
	"encoding/json"
	"strings"
	"time"

	"fettle"
)

// dbPatience is how long the database may take for one small step.
const dbPatience = 15 * time.Second

const columns = `id, kind, task_key, state, doing, done, total, attempt, why, args, result, by_whom, job_id, made_us, started_us, changed_us, ended_us`

// texts are the statements, for one database. {task} and {job} stand for the
// tables and {now} for the database's clock, so that the clocks of several
// computers need not agree.
type texts struct {
	get, live, first, insert         string
	claim, progress, heartbeat, look string
	done, end, park, back, setJob    string
	stop, forget                     string
	stale, orphans, running, waiting string
	available, deleteJob, deleteJobs string
	list                             string // without its conditions
}

// The attempt that a statement is about: the task, its job, its number.
const onAttempt = ` WHERE id = $1 AND state = 'running' AND job_id = $2 AND attempt = $3`

func textsFor(dialect, schema string) texts {
	var now, fetchedLongAgo, prefix string
	switch dialect {
	case "sqlite":
		now = `CAST(unixepoch('subsec') * 1000000 AS INTEGER)`
		fetchedLongAgo = `j.attempted_at < strftime('%Y-%m-%d %H:%M:%f', 'now', '-' || ($1 / 1000000.0) || ' seconds')`
	case "postgres":
		now = `CAST(extract(epoch FROM clock_timestamp()) * 1000000 AS BIGINT)`
		fetchedLongAgo = `j.attempted_at < now() - $1 * interval '1 microsecond'`
		if schema != "" {
			prefix = `"` + strings.ReplaceAll(schema, `"`, `""`) + `".`
		}
	default:
		panic("queue: unknown dialect " + dialect)
	}
	r := strings.NewReplacer("{task}", prefix+"task", "{job}", prefix+"river_job", "{now}", now, "{long ago}", fetchedLongAgo, "{columns}", columns)
	text := func(s string) string { return r.Replace(s) }
	return texts{
		get:  text(`SELECT {columns} FROM {task} WHERE id = $1`),
		live: text(`SELECT {columns} FROM {task} WHERE kind = $1 AND task_key = $2 AND state IN ('waiting', 'running', 'done')`),
		// Who waits longest begins next.
		first: text(`SELECT {columns} FROM {task} WHERE state = 'waiting' AND kind = $1 ORDER BY id LIMIT 1`),
		insert: text(`INSERT INTO {task} ({columns})
			VALUES ($1, $2, $3, 'waiting', '', 0, 0, 0, '', $4, '', $5, $6, {now}, 0, {now}, 0)
			ON CONFLICT DO NOTHING RETURNING {columns}`),

		claim: text(`UPDATE {task} SET state = 'running', attempt = attempt + 1, doing = '', done = 0, total = 0, started_us = {now}, changed_us = {now}
			WHERE id = $1 AND job_id = $2 AND state = 'waiting' RETURNING {columns}`),
		progress:  text(`UPDATE {task} SET doing = $4, done = $5, total = $6, changed_us = {now}` + onAttempt),
		heartbeat: text(`UPDATE {task} SET changed_us = {now}` + onAttempt),
		look:      text(`SELECT 1 FROM {task}` + onAttempt),
		done: text(`UPDATE {task} SET state = 'done', doing = $4, done = $5, total = $6, result = $7, why = '', changed_us = {now}, ended_us = {now}` +
			onAttempt + ` RETURNING {columns}`),
		end: text(`UPDATE {task} SET state = $4, why = $5, changed_us = {now}, ended_us = {now}` + onAttempt + ` RETURNING {columns}`),
		park: text(`UPDATE {task} SET state = 'parked', why = $4, changed_us = {now}, ended_us = {now}` +
			onAttempt + ` AND changed_us <= {now} - $5 RETURNING {columns}`),
		// $4 is taken off the attempts, $5 is the reason, $6 how fresh a heartbeat
		// (in microseconds) keeps the task where it is; -1 for any.
		back: text(`UPDATE {task} SET state = 'waiting', attempt = attempt - $4, why = $5, doing = '', done = 0, total = 0, changed_us = {now}` +
			onAttempt + ` AND changed_us <= {now} - $6 RETURNING changed_us`),
		setJob: text(`UPDATE {task} SET job_id = $3 WHERE id = $1 AND job_id = $2 AND state = 'waiting' RETURNING {columns}`),

		stop: text(`UPDATE {task} SET state = 'stopped', why = $2, changed_us = {now}, ended_us = {now}
			WHERE id = $1 AND state IN ('waiting', 'running') RETURNING {columns}`),
		forget: text(`UPDATE {task} SET state = 'stopped', why = $2, result = '', changed_us = {now} WHERE id = $1 AND state = 'done' RETURNING {columns}`),

		stale:   text(`SELECT {columns} FROM {task} WHERE state = 'running' AND changed_us <= {now} - $1 ORDER BY id`),
		running: text(`SELECT {columns} FROM {task} WHERE state = 'running' ORDER BY id`),
		waiting: text(`SELECT {columns} FROM {task} WHERE state = 'waiting' ORDER BY id`),
		// Waiting, and no job that will ever come: none, one that is not this
		// task's (a restored database counts anew), or one that was handed to a
		// worker $1 microseconds ago that has not begun: it died in between.
		orphans: text(`SELECT {columns} FROM {task} AS t WHERE state = 'waiting' AND NOT EXISTS (SELECT 1 FROM {job} AS j
			WHERE j.id = t.job_id AND j.args ->> 'task' = t.id AND (j.state = 'available' OR j.state = 'running' AND NOT {long ago})) ORDER BY t.id`),

		available:  text(`UPDATE {job} SET state = 'available' WHERE id = $1`),
		deleteJob:  text(`DELETE FROM {job} WHERE id = $1`),
		deleteJobs: text(`DELETE FROM {job}`),
		list:       text(`SELECT {columns} FROM {task}`),
	}
}

// entry is a task and the job of its attempt.
type entry struct {
	fettle.Task
	job int64
}

func scan(row interface{ Scan(...any) error }) (entry, error) {
	var e entry
	var args, result string
	var made, started, changed, ended int64
	err := row.Scan(&e.ID, &e.Kind, &e.Key, &e.State, &e.Doing, &e.Done, &e.Total, &e.Attempt, &e.Why,
		&args, &result, &e.By, &e.job, &made, &started, &changed, &ended)
	if err != nil {
		return entry{}, err
	}
	e.Args = json.RawMessage(args)
	if result != "" {
		e.Result = json.RawMessage(result)
	}
	e.Made = time.UnixMicro(made).UTC()
	e.Changed = time.UnixMicro(changed).UTC()
	e.Started = moment(started)
	e.Ended = moment(ended)
	return e, nil
}

func moment(us int64) *time.Time {
	if us == 0 {
		return nil
	}
	t := time.UnixMicro(us).UTC()
	return &t
}

// all reads every row of a query.
func all(ctx context.Context, on interface {
	QueryContext(context.Context, string, ...any) (*sql.Rows, error)
}, text string, args ...any) ([]entry, error) {
	rows, err := on.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var es []entry
	for rows.Next() {
		e, err := scan(rows)
		if err != nil {
			return nil, err
		}
		es = append(es, e)
	}
	return es, rows.Err()
}

// tx runs f in a transaction.
func (q *Queue) tx(ctx context.Context, f func(*sql.Tx) error) error {
	tx, err := q.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		tx.Rollback()
		return err
	}
	return tx.Commit()
}

// clean makes a text fit for both databases: valid UTF-8 without NUL.
func clean(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "")
}
