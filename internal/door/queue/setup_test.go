package queue

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"flag"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store"
	"fettle/internal/door/store/storetest"
)

func TestMain(m *testing.M) {
	if os.Getenv(crashDir) != "" {
		crashChild()
		return
	}
	// Tests of a queue mostly wait.
	flag.Parse()
	flag.Set("test.parallel", "8")
	os.Exit(storetest.Main(m))
}

// bench is one database for a test, that any number of queues can be opened on.
type bench struct {
	t       testing.TB
	dialect string
	options store.Options
	log     bytes.Buffer
	logMu   sync.Mutex
	store   *store.Store // the last that was opened
	wipe    bool         // another test's tasks are in it
}

// onBoth runs a test on both databases.
func onBoth(t *testing.T, f func(t *testing.T, b *bench)) {
	t.Helper()
	t.Parallel()
	t.Run("sqlite", func(t *testing.T) {
		t.Parallel()
		f(t, sqliteBench(t))
	})
	t.Run("postgres", func(t *testing.T) {
		t.Parallel()
		f(t, postgresBench(t))
	})
}

func sqliteBench(t testing.TB) *bench {
	return &bench{t: t, dialect: "sqlite", options: store.Options{Dir: t.TempDir()}}
}

func postgresBench(t testing.TB) *bench {
	b := &bench{t: t, dialect: "postgres", options: store.Options{Dir: t.TempDir(), URL: storetest.Postgres(t)}}
	// Making the tables takes longer than most tests: they are handed on.
	used.Lock()
	defer used.Unlock()
	if n := len(used.schemas); n > 0 {
		b.options.Schema, used.schemas = used.schemas[n-1], used.schemas[:n-1]
		b.wipe = true
	} else {
		b.options.Schema = storetest.Schema(t)
	}
	t.Cleanup(func() {
		used.Lock()
		defer used.Unlock()
		used.schemas = append(used.schemas, b.options.Schema)
	})
	return b
}

// used are the schemas that tests are through with.
var used struct {
	sync.Mutex
	schemas []string
}

// Write takes a log in.
func (b *bench) Write(p []byte) (int, error) {
	b.logMu.Lock()
	defer b.logMu.Unlock()
	return b.log.Write(p)
}

func (b *bench) logged() string {
	b.logMu.Lock()
	defer b.logMu.Unlock()
	return b.log.String()
}

// db is a pool of its own on PostgreSQL, and on SQLite the store's only one.
func (b *bench) db() *sql.DB {
	b.t.Helper()
	if b.dialect == "sqlite" && b.store != nil {
		return b.store.DB()
	}
	s, err := store.Open(b.t.Context(), b.options)
	if err != nil {
		b.t.Fatal(err)
	}
	b.store = s
	b.t.Cleanup(func() { s.Close() })
	if b.wipe {
		if _, err := s.DB().ExecContext(b.t.Context(), "TRUNCATE task, river_job"); err != nil {
			b.t.Fatal(err)
		}
		b.wipe = false
	}
	return s.DB()
}

// quick is a pace that tests can wait for.
func quick() pace {
	p := usual()
	p.tick, p.row, p.look = 20*time.Millisecond, 60*time.Millisecond, 60*time.Millisecond
	p.heartbeat, p.stale, p.sweep = 100*time.Millisecond, time.Second, 100*time.Millisecond
	p.poll, p.tell = 50*time.Millisecond, 40*time.Millisecond
	p.grace, p.patience = 150*time.Millisecond, 400*time.Millisecond
	p.again = []time.Duration{50 * time.Millisecond, 150 * time.Millisecond}
	return p
}

type setting func(*Options, *pace)

func workers(n int) setting              { return func(o *Options, _ *pace) { o.Workers = n } }
func limit(d time.Duration) setting      { return func(o *Options, _ *pace) { o.Limit = d } }
func atPace(change func(*pace)) setting  { return func(_ *Options, p *pace) { change(p) } }
func handle(k string, h Handler) setting { return handleKind(fettle.TaskKind(k), h) }

// together says that other queues are on the database.
func together(o *Options, _ *pace) { o.Alone = false }

func handleKind(k fettle.TaskKind, h Handler) setting {
	return func(o *Options, _ *pace) { o.Handlers[k] = h }
}

// queue opens a queue on a pool, with two workers, and closes it with the test.
func (b *bench) queue(db *sql.DB, settings ...setting) *Queue {
	b.t.Helper()
	o := Options{
		Dialect:  b.dialect,
		Workers:  2,
		Handlers: map[fettle.TaskKind]Handler{},
		Alone:    b.dialect == "sqlite",
		Log:      slog.New(slog.NewTextHandler(b, &slog.HandlerOptions{Level: slog.LevelInfo})),
	}
	p := quick()
	for _, s := range settings {
		s(&o, &p)
	}
	q, err := open(b.t.Context(), db, o, p)
	if err != nil {
		b.t.Fatal(err)
	}
	b.t.Cleanup(func() {
		if err := q.Close(context.Background()); err != nil {
			b.t.Errorf("close: %v", err)
		}
	})
	return q
}

func question(kind, key string) fettle.Question {
	return fettle.Question{Kind: fettle.TaskKind(kind), Key: key, Args: json.RawMessage(fmt.Sprintf(`{"of":%q}`, key)), By: "bench"}
}

func ask(t testing.TB, q *Queue, kind, key string) fettle.Task {
	t.Helper()
	task, err := q.Ask(t.Context(), question(kind, key))
	if err != nil {
		t.Fatal(err)
	}
	return task
}

// finished waits for a task's last state.
func finished(t testing.TB, q *Queue, id string) fettle.Task {
	t.Helper()
	return until(t, q, id, func(task fettle.Task) bool { return task.State.Over() })
}

// until waits until a task is as wanted.
func until(t testing.TB, q *Queue, id string, is func(fettle.Task) bool) fettle.Task {
	t.Helper()
	var task fettle.Task
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		var err error
		if task, err = q.Task(t.Context(), id); err != nil {
			t.Fatal(err)
		}
		if is(task) {
			return task
		}
	}
	t.Fatalf("the task stays %+v", task)
	return task
}

// jobs is how many jobs River's table holds.
func jobs(t testing.TB, q *Queue) int {
	t.Helper()
	var n int
	if err := q.db.QueryRowContext(t.Context(), "SELECT count(*) FROM river_job").Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// echo answers with what it was asked.
func echo(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
	return args, nil
}

func checkState(t testing.TB, task fettle.Task, want fettle.TaskState) {
	t.Helper()
	if task.State != want {
		t.Fatalf("state %s, want %s (%+v)", task.State, want, task)
	}
}
