// Package queue does heavy work in its turn: once for the same question,
// stoppable, and begun again after a crash. [Open] gives a [Queue]; [Queue.Ask]
// and [Queue.Watch] are what most need.
//
// The table task is the truth and stays for good. The job queue underneath
// (River, on SQLite or PostgreSQL) holds one small job, the task's id, for every
// attempt that is to be made, and is told nothing else: who gets which job is its
// business, what became of it is ours. Each step of a task changes its row and
// its job in one transaction, so that neither can be seen without the other, and
// a job that is done with is deleted there and then.
//
// An attempt is known by its job and its number. Whoever works writes to the row
// only while it is still on that attempt; a worker that was given up for dead and
// wakes again finds nothing to write to.
package queue

import (
	"context"
	"database/sql"
	"encoding/json"
	"log/slog"
	"sync"
	"time"

	"github.com/riverqueue/river"

	"fettle"
)

// Handler answers the questions of one kind, with a small JSON value; what is
// large goes to a file. It says how far it is as often as it likes. Its error,
// where it is a *fettle.Error with any code but Internal, is final; any other,
// and a panic, is tried again.
type Handler = func(ctx context.Context, args json.RawMessage, say func(doing string, done, total int)) (json.RawMessage, error)

// Options of a queue.
type Options struct {
	Dialect string // "sqlite" or "postgres"
	// Schema, where given, is the schema of PostgreSQL that the tables are in;
	// without it they are found by the search path.
	Schema string
	// Read, where given, is a pool on the same database for questions, so that who only
	// asks does not wait for who writes.
	Read *sql.DB
	// Workers is how many tasks run here at a time; 0: this queue only asks.
	Workers int
	// Handlers do the work. Tasks of other kinds are left for a process that
	// knows them.
	Handlers map[fettle.TaskKind]Handler
	// Alone says that no other process is on this database, as the lock of the
	// workspace promises: what is marked running at the start was left by a crash.
	Alone bool
	Limit time.Duration // of one attempt; 0: none
	Log   *slog.Logger  // nil: nothing is logged
}

// pace is how often and how long; tests run faster.
type pace struct {
	tick      time.Duration // of a running task's keeper; what is said is pushed at most this often
	row       time.Duration // progress is written at most this often
	look      time.Duration // a running task looks whether it was stopped elsewhere
	heartbeat time.Duration
	stale     time.Duration // a heartbeat so old means that the worker is gone
	sweep     time.Duration
	poll      time.Duration // of a watch on work in other processes
	tell      time.Duration // a watch tells at most this often
	grace     time.Duration // that running work gets at Close
	patience  time.Duration // for a handler that was cancelled and does not return
	again     []time.Duration
}

// One attempt more than there are waits.
func (p pace) attempts() int { return len(p.again) + 1 }

func usual() pace {
	return pace{
		tick:      100 * time.Millisecond,
		row:       250 * time.Millisecond,
		look:      500 * time.Millisecond,
		heartbeat: 2 * time.Second,
		stale:     10 * time.Second,
		sweep:     3 * time.Second,
		poll:      250 * time.Millisecond,
		tell:      200 * time.Millisecond,
		grace:     2 * time.Second,
		patience:  5 * time.Second,
		again:     []time.Duration{time.Second, 5 * time.Second},
	}
}

// Queue is a queue of heavy work, and the workers of this process.
type Queue struct {
	db     *sql.DB
	read   *sql.DB
	o      Options
	pace   pace
	sql    texts
	log    *slog.Logger
	client *river.Client[*sql.Tx]
	pilot  *pilot
	hub    hub

	mu      sync.Mutex
	running map[string]*run // by the task's id
	ending  bool            // running work is cancelled, and whatever still comes in

	closeOnce sync.Once
	closed    chan struct{}
	sweeping  sync.WaitGroup
}

// Open opens a queue on a database whose tables are there, makes those of the
// job queue, takes up what a crash left, and starts the workers.
func Open(ctx context.Context, db *sql.DB, o Options) (*Queue, error) {
	return open(ctx, db, o, usual())
}

func open(ctx context.Context, db *sql.DB, o Options, p pace) (*Queue, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	q := &Queue{
		db:      db,
		read:    o.Read,
		o:       o,
		pace:    p,
		sql:     textsFor(o.Dialect, o.Schema),
		log:     o.Log,
		hub:     hub{watchers: map[string]map[*watcher]struct{}{}},
		running: map[string]*run{},
		closed:  make(chan struct{}),
	}
	if q.read == nil {
		q.read = db
	}
	if err := q.openRiver(ctx); err != nil {
		return nil, err
	}
	if o.Alone {
		if err := q.rebuild(ctx); err != nil {
			return nil, err
		}
	}
	if o.Workers == 0 {
		return q, nil
	}
	// The workers' context is not the caller's: they end with Close.
	if err := q.client.Start(context.WithoutCancel(ctx)); err != nil {
		return nil, err
	}
	q.pilot.started.Store(true)
	if !o.Alone {
		q.sweeping.Go(q.sweepLoop)
	}
	return q, nil
}

// Idle stops taking work and waits until what runs here has ended, or for ctx.
// What still waits is left for other processes and for the next start.
func (q *Queue) Idle(ctx context.Context) error {
	if q.o.Workers == 0 {
		return nil
	}
	return q.client.Stop(ctx)
}

// Close stops taking work and lets what runs end for a short grace, and no
// longer than ctx; then it is cancelled and goes back to waiting as if that
// attempt had not been. The database is the caller's to close, afterwards.
func (q *Queue) Close(ctx context.Context) error {
	var err error
	q.closeOnce.Do(func() {
		grace, cancel := context.WithTimeout(ctx, q.pace.grace)
		err = q.Idle(grace)
		cancel()
		if err != nil {
			q.cancelAll()
			// Handlers that do not return are left behind after the patience, and
			// a transaction takes its time.
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), q.pace.patience+dbPatience)
			err = q.Idle(last)
			cancel()
		}
		close(q.closed)
		q.sweeping.Wait()
	})
	return err
}

func (q *Queue) cancelAll() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.ending = true
	for _, r := range q.running {
		r.cancel(errClosing)
	}
}
