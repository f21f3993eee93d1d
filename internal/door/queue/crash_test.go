package queue

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
	"fettle/internal/door/store"
)

// What a re-executed test process is told: the database, and where it notes what
// it begins.
const (
	crashDir    = "FETTLE_QUEUE_CRASH_DIR"
	crashURL    = "FETTLE_QUEUE_CRASH_URL"
	crashSchema = "FETTLE_QUEUE_CRASH_SCHEMA"
	crashNotes  = "FETTLE_QUEUE_CRASH_NOTES"
)

// crashChild opens a queue, says so, and works until it is killed. What it is
// asked to do as "poison" kills it.
func crashChild() {
	fail := func(err error) {
		fmt.Println("error:", err)
		os.Exit(1)
	}
	ctx := context.Background()
	s, err := store.Open(ctx, store.Options{Dir: os.Getenv(crashDir), URL: os.Getenv(crashURL), Schema: os.Getenv(crashSchema)})
	if err != nil {
		fail(err)
	}
	carefree(nil, s)
	p := quick()
	mortal(&p)
	_, err = open(ctx, s.DB(), Options{
		Dialect:  string(s.Dialect()),
		Workers:  2,
		Alone:    s.Dialect() == store.SQLite,
		Handlers: map[fettle.TaskKind]Handler{"survey": crashWork(os.Getenv(crashNotes))},
	}, p)
	if err != nil {
		fail(err)
	}
	fmt.Println("open")
	select {}
}

// crashWork hashes in steps, and notes that it began.
func crashWork(notes string) Handler {
	return func(ctx context.Context, args json.RawMessage, say func(string, int, int)) (json.RawMessage, error) {
		f, err := os.OpenFile(notes, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			return nil, err
		}
		fmt.Fprintln(f, string(args))
		f.Close()
		if strings.Contains(string(args), "poison") {
			self, err := os.FindProcess(os.Getpid())
			if err != nil {
				return nil, err
			}
			self.Kill()
			select {}
		}
		sum := sha256.Sum256(args)
		for i := range 8 {
			say("hash", i+1, 8)
			sum = sha256.Sum256(sum[:])
			select {
			case <-ctx.Done():
				return nil, ctx.Err()
			case <-time.After(10 * time.Millisecond):
			}
		}
		return json.Marshal(fmt.Sprintf("%x", sum))
	}
}

// crashAnswer is what crashWork answers, worked out apart.
func crashAnswer(args json.RawMessage) string {
	sum := sha256.Sum256(args)
	for range 8 {
		sum = sha256.Sum256(sum[:])
	}
	return fmt.Sprintf("%q", fmt.Sprintf("%x", sum))
}

// child starts this test binary as a process that works at the queue; it returns
// when that has opened it.
func (b *bench) child(notes string) *exec.Cmd {
	b.t.Helper()
	self, err := os.Executable()
	if err != nil {
		b.t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), crashDir+"="+b.options.Dir, crashURL+"="+b.options.URL, crashSchema+"="+b.options.Schema, crashNotes+"="+notes)
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		b.t.Fatal(err)
	}
	b.t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	line, err := bufio.NewReader(out).ReadString('\n')
	if strings.TrimSpace(line) != "open" {
		// One that dies of poison may not get as far.
		b.t.Logf("the other process says %q (%v)", line, err)
	}
	return cmd
}

// leave closes the store, so that another process can have the workspace.
func (b *bench) leave() {
	b.t.Helper()
	if err := b.store.Close(); err != nil {
		b.t.Fatal(err)
	}
	b.store = nil
}

// TestKilled kills a process at work, as kill -9 does, at ten seeded moments. The
// next one does what was left within seconds, rightly, and nothing twice that was
// done.
func TestKilled(t *testing.T) {
	t.Parallel()
	rounds := 5
	if testing.Short() {
		rounds = 2
	}
	var cut atomic.Int32
	t.Cleanup(func() {
		if n := cut.Load(); !t.Skipped() && n == 0 {
			t.Error("no attempt was cut off: the moments are wrong")
		}
	})
	for lane := range 2 {
		t.Run(fmt.Sprint(lane), func(t *testing.T) {
			onBoth(t, func(t *testing.T, b *bench) {
				random := rand.New(rand.NewPCG(3, uint64(lane)))
				for range rounds {
					// The five tasks of a round take about 300 ms.
					cut.Add(killedAt(t, b, time.Duration(random.IntN(300))*time.Millisecond))
				}
			})
		})
	}
}

// killedAt has five tasks be worked by a process, kills that after a while, and
// looks that all come to their end. It returns how many attempts were cut off.
func killedAt(t *testing.T, b *bench, moment time.Duration) (cut int32) {
	dir := t.TempDir()
	asker := b.queue(b.db(), workers(0))
	tasks := map[string]fettle.Task{}
	for i := range 5 {
		task := ask(t, asker, "survey", fmt.Sprintf("%d of %v, %s", i, moment, dir))
		tasks[task.ID] = task
	}
	b.leave()
	cmd := b.child(filepath.Join(dir, "first"))
	time.Sleep(moment)
	cmd.Process.Kill()
	cmd.Wait()

	db := b.db()
	left := map[string]fettle.TaskState{}
	looker := b.queue(db, workers(0), together)
	for id := range tasks {
		task, err := looker.Task(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		left[id] = task.State
		if task.State == fettle.Running {
			cut++
		}
	}
	notes := filepath.Join(dir, "then")
	from := time.Now()
	q := b.queue(db, atPace(mortal), handle("survey", crashWork(notes)))
	for id, task := range tasks {
		now := finished(t, q, id)
		checkState(t, now, fettle.Done)
		if got, want := string(now.Result), crashAnswer(task.Args); got != want {
			t.Errorf("killed after %v: answered %s, want %s", moment, got, want)
		}
		want := 1
		if left[id] == fettle.Running {
			want = 2
		}
		if now.Attempt != want {
			t.Errorf("killed after %v: attempt %d, want %d", moment, now.Attempt, want)
		}
	}
	if took := time.Since(from); took > 30*time.Second {
		t.Errorf("killed after %v: done after %v", moment, took)
	}
	noted, _ := os.ReadFile(notes)
	for id, task := range tasks {
		want := 1
		if left[id] == fettle.Done {
			want = 0
		}
		if got := strings.Count(string(noted), string(task.Args)); got != want {
			t.Errorf("killed after %v: a task that was %s was begun %d times afterwards", moment, left[id], got)
		}
	}
	if err := q.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	b.leave()
	return cut
}

// TestPoison has a task kill its process each time: after three it is parked.
func TestPoison(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		notes := filepath.Join(t.TempDir(), "notes")
		task := ask(t, b.queue(b.db(), workers(0)), "survey", "poison")
		b.leave()
		for range 3 {
			b.child(notes).Wait()
		}
		q := b.queue(b.db(), atPace(mortal), handle("survey", crashWork(notes)))
		now := finished(t, q, task.ID)
		checkState(t, now, fettle.Parked)
		if now.Attempt != 3 || now.Why != poisonWhy(3) || now.Ended == nil {
			t.Errorf("%+v", now)
		}
		noted, err := os.ReadFile(notes)
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(noted), "\n"); n != 3 {
			t.Errorf("begun %d times", n)
		}
	})
}
