package queue

import (
	"context"
	"database/sql"
	"fmt"
	"hash/fnv"
	"log/slog"
	"sync/atomic"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivershared/baseservice"
	"github.com/riverqueue/river/rivershared/riverpilot"
	"github.com/riverqueue/river/rivertype"

	"fettle"
)

// What River is asked to do: hand out jobs, to no more workers than there are.
//
// Its leader is not elected, because electing one writes to the disk every five
// seconds for as long as the program runs, and a laptop's disk would never sleep.
// With the leader go its services, and nothing of them is missed: finished jobs
// are deleted with the step that ended them, retries are new jobs that are
// available at their time, lost ones are found by our heartbeat, and there are
// no periodic jobs. What is left of River while nothing happens: a look for jobs
// five times a second and at its queue's settings every two (both only read
// while there is nothing, and from the cache), and one row touched every ten
// minutes.
const (
	fetchCooldown = 20 * time.Millisecond
	fetchPoll     = 200 * time.Millisecond
	// riverQueue is the one queue of River that is used.
	riverQueue = river.QueueDefault
)

// order is all that a job of River carries.
type order struct {
	Task string `json:"task"`
	kind fettle.TaskKind
}

// Kind tells River's workers which jobs are theirs.
func (o order) Kind() string { return "task." + string(o.kind) }

// worker is River's view of a handler.
type worker struct {
	river.WorkerDefaults[order]
	q    *Queue
	kind fettle.TaskKind
}

func (w *worker) Work(ctx context.Context, job *river.Job[order]) error {
	return w.q.work(ctx, job.ID, job.Args.Task, w.kind)
}

// Timeout switches River's own limit off: ours says in words what happened.
func (w *worker) Timeout(*river.Job[order]) time.Duration { return -1 }

// NextRetry is for jobs whose task could not even be read or written. It stays
// under the five seconds from which on River would need its leader.
func (w *worker) NextRetry(*river.Job[order]) time.Time { return time.Now().Add(2 * time.Second) }

// driver is a driver without notices, which SQLite would keep in a table that
// only the leader cleans, and with our pilot.
type driver struct {
	riverdriver.Driver[*sql.Tx]
	pilot *pilot
}

func (d driver) SupportsListener() bool             { return false }
func (d driver) SupportsListenNotify() bool         { return false }
func (d driver) PluginInit(*baseservice.Archetype)  {}
func (d driver) PluginPilot() riverpilot.Pilot      { return d.pilot }
func (d driver) plain() riverdriver.Driver[*sql.Tx] { return d.Driver }

// pilot is River's usual one; it is there to get hold of the function that makes
// River look for jobs at once. River calls it itself after an insert of its own,
// but cannot know when a transaction of ours is through.
type pilot struct {
	riverpilot.StandardPilot
	notify  func(context.Context, []*rivertype.JobInsertResult)
	started atomic.Bool
}

// PilotInit keeps the function.
func (p *pilot) PilotInit(a *baseservice.Archetype, params *riverpilot.PilotInitParams) {
	p.StandardPilot.PilotInit(a, params)
	p.notify = params.NotifyNonTxJobInsert
}

// JobSetStateIfRunningMany is River's last word on jobs that came to their end.
// Those that were worked are gone already, with the step that ended them, and
// need no visit to the database.
func (p *pilot) JobSetStateIfRunningMany(ctx context.Context, exec riverdriver.Executor, params *riverdriver.JobSetStateIfRunningManyParams) ([]*rivertype.JobRow, error) {
	for _, s := range params.State {
		if s != rivertype.JobStateCompleted {
			return p.StandardPilot.JobSetStateIfRunningMany(ctx, exec, params)
		}
	}
	return nil, nil
}

// wake has the workers of this process look for jobs now.
func (q *Queue) wake() {
	if q.pilot.started.Load() {
		q.pilot.notify(context.Background(), []*rivertype.JobInsertResult{{Job: &rivertype.JobRow{Queue: riverQueue}}})
	}
}

func (q *Queue) openRiver(ctx context.Context) error {
	q.pilot = &pilot{}
	d := driver{pilot: q.pilot}
	switch q.o.Dialect {
	case "sqlite":
		d.Driver = riversqlite.New(q.db)
	case "postgres":
		d.Driver = riverdatabasesql.New(q.db)
	}
	log := slog.New(atLeast{q.log.Handler(), slog.LevelWarn})
	if err := q.migrate(ctx, d.plain(), log); err != nil {
		return fmt.Errorf("tables of the job queue: %w", err)
	}
	c := &river.Config{
		FetchCooldown:          fetchCooldown,
		FetchPollInterval:      fetchPoll,
		FetchOnlyKnownKinds:    true,
		JobTimeout:             -1,
		LeaderElectionDisabled: true,
		Logger:                 log,
		MaxAttempts:            1 << 14, // ours are counted in the task
		PollOnly:               true,
		Schema:                 q.o.Schema,
		SkipUnknownJobCheck:    true,
	}
	if q.o.Workers > 0 {
		c.Queues = map[string]river.QueueConfig{riverQueue: {MaxWorkers: q.o.Workers}}
		c.Workers = river.NewWorkers()
		for kind := range q.o.Handlers {
			river.AddWorkerArgs(c.Workers, order{kind: kind}, &worker{q: q, kind: kind})
		}
	}
	var err error
	q.client, err = river.NewClient(d, c)
	return err
}

// migrate makes River's tables. Processes that start together take turns on
// PostgreSQL. On SQLite the second finds the first one's tables half-way: each
// step is a transaction, so it tries again until all are there.
func (q *Queue) migrate(ctx context.Context, d riverdriver.Driver[*sql.Tx], log *slog.Logger) error {
	m, err := rivermigrate.New(d, &rivermigrate.Config{Logger: log, Schema: q.o.Schema})
	if err != nil {
		return err
	}
	if q.o.Dialect == "postgres" {
		conn, err := q.db.Conn(ctx)
		if err != nil {
			return err
		}
		defer conn.Close()
		h := fnv.New32a()
		h.Write([]byte("fettle queue " + q.o.Schema))
		if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock($1)", int64(h.Sum32())); err != nil {
			return err
		}
		defer conn.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1)", int64(h.Sum32()))
	}
	for try := 0; ; try++ {
		_, err := m.Migrate(ctx, rivermigrate.DirectionUp, nil)
		if err == nil {
			return nil
		}
		if try == 20 || q.o.Dialect == "postgres" {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// order puts a job for a task into River's table and returns its id. Where at is
// not zero the job is available from then on.
func (q *Queue) order(ctx context.Context, tx *sql.Tx, task string, kind fettle.TaskKind, at time.Time) (int64, error) {
	res, err := q.client.InsertTx(ctx, tx, order{Task: task, kind: kind}, &river.InsertOpts{ScheduledAt: at})
	if err != nil {
		return 0, err
	}
	if !at.IsZero() {
		// River's "scheduled" waits for the leader to make it "available"; a job
		// that is available is not handed out before its time either.
		if _, err := tx.ExecContext(ctx, q.sql.available, res.Job.ID); err != nil {
			return 0, err
		}
	}
	return res.Job.ID, nil
}

// atLeast is a log handler that keeps the quieter levels out.
type atLeast struct {
	slog.Handler
	least slog.Level
}

// Enabled reports whether a level is loud enough.
func (h atLeast) Enabled(ctx context.Context, l slog.Level) bool {
	return l >= h.least && h.Handler.Enabled(ctx, l)
}

// WithAttrs keeps the bar.
func (h atLeast) WithAttrs(a []slog.Attr) slog.Handler {
	return atLeast{h.Handler.WithAttrs(a), h.least}
}

// WithGroup keeps the bar.
func (h atLeast) WithGroup(name string) slog.Handler {
	return atLeast{h.Handler.WithGroup(name), h.least}
}
