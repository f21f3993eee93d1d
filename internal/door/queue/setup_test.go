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
	"path/filepath"
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
	flag.Set("test.parallel", "6")
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
	careful bool         // SQLite waits for the disk, as it does in a shop
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
	b := &bench{t: t, dialect: "sqlite", options: store.Options{Dir: t.TempDir()}}
	// Making the tables takes longer than most tests: they are copied.
	file, err := template()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(b.options.Dir, "shop.db"), file, 0o600); err != nil {
		t.Fatal(err)
	}
	return b
}

// template is a SQLite file with all tables and nothing in them.
var template = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "fettle-queue-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	s, err := store.Open(ctx, store.Options{Dir: dir})
	if err != nil {
		return nil, err
	}
	defer s.Close()
	if _, err := Open(ctx, s.DB(), Options{Dialect: "sqlite"}); err != nil {
		return nil, err
	}
	if err := s.Close(); err != nil { // folds the journal into the file
		return nil, err
	}
	return os.ReadFile(filepath.Join(dir, "shop.db"))
})

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

// bare takes a database that has not seen River's tables.
func (b *bench) bare() {
	if b.dialect == "postgres" {
		b.options.Schema, b.wipe = storetest.Schema(b.t), false
		return
	}
	if err := os.Remove(filepath.Join(b.options.Dir, "shop.db")); err != nil {
		b.t.Fatal(err)
	}
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
	if !b.careful {
		carefree(b.t, s)
	}
	if b.wipe {
		if _, err := s.DB().ExecContext(b.t.Context(), "TRUNCATE task, river_job"); err != nil {
			b.t.Fatal(err)
		}
		b.wipe = false
	}
	return s.DB()
}

// carefree has SQLite not wait for the disk: what these tests kill is processes,
// not the power.
func carefree(t testing.TB, s *store.Store) {
	if s.Dialect() != store.SQLite {
		return
	}
	if _, err := s.DB().Exec("PRAGMA synchronous = OFF"); err != nil {
		if t == nil {
			panic(err)
		}
		t.Fatal(err)
	}
}

// quick is a pace that tests can wait for.
func quick() pace {
	p := usual()
	p.tick, p.row, p.look = 20*time.Millisecond, 60*time.Millisecond, 100*time.Millisecond
	p.heartbeat, p.sweep = 200*time.Millisecond, 250*time.Millisecond
	p.poll, p.tell = 100*time.Millisecond, 40*time.Millisecond
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

// mortal has a worker be given up sooner than a busy computer would allow for.
func mortal(p *pace) { p.stale = time.Second }

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
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	if err := q.Watch(ctx, id, func(fettle.Task) error { return nil }); err != nil {
		task, _ := q.Task(t.Context(), id)
		t.Fatalf("%v; the task stays %+v", err, task)
	}
	task, err := q.Task(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return task
}

// patience is how long a test waits for what should come soon, on a computer that
// has much else to do.
const patience = 30 * time.Second

// until waits until a task is as wanted.
func until(t testing.TB, q *Queue, id string, is func(fettle.Task) bool) fettle.Task {
	t.Helper()
	var task fettle.Task
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
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
