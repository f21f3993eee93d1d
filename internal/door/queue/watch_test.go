package queue

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"fettle"
)

// TestWatch watches many short tasks from many sides, begun at seeded moments:
// each sees the last state, once, and never a step back.
func TestWatch(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		n := 120
		if testing.Short() {
			n = 8
		}
		ends := []fettle.TaskState{fettle.Done, fettle.Failed, fettle.Parked, fettle.Stopped}
		h := handle("survey", func(ctx context.Context, args json.RawMessage, say func(string, int, int)) (json.RawMessage, error) {
			var a struct{ Of int }
			if err := json.Unmarshal(args, &a); err != nil {
				return nil, err
			}
			for i := range 5 {
				say("look", i+1, 5)
				time.Sleep(time.Duration(a.Of%4) * time.Millisecond)
			}
			switch ends[a.Of%4] {
			case fettle.Failed:
				return nil, fettle.Errorf(fettle.No, "no")
			case fettle.Parked:
				return nil, errors.New("wrong")
			case fettle.Stopped:
				<-ctx.Done()
				return nil, ctx.Err()
			}
			return args, nil
		})
		soon := atPace(func(p *pace) { p.again = []time.Duration{time.Millisecond}; p.tick = 2 * time.Millisecond })
		q := b.queue(b.db(), h, soon, workers(8), together)
		// On PostgreSQL it has a pool of its own, as another process has.
		other := b.queue(b.db(), workers(0), together)
		random := rand.New(rand.NewPCG(7, 11))
		var wg sync.WaitGroup
		for i := range n {
			task, err := q.Ask(t.Context(), fettle.Question{Kind: "survey", Key: fmt.Sprint(i), Args: json.RawMessage(fmt.Sprintf(`{"of":%d}`, i))})
			if err != nil {
				t.Fatal(err)
			}
			want := ends[i%4]
			for w, q := range []*Queue{q, q, other} {
				wait := time.Duration(random.IntN(60)) * time.Millisecond
				wg.Go(func() {
					time.Sleep(wait)
					var seen []fettle.Task
					err := q.Watch(t.Context(), task.ID, func(task fettle.Task) error {
						if len(seen) > 0 {
							last := seen[len(seen)-1]
							if last.State.Over() || task.Attempt < last.Attempt ||
								task.Attempt == last.Attempt && task.State == fettle.Running && task.Done < last.Done {
								t.Errorf("task %d, watch %d: %s %d %d/%d after %s %d %d/%d", i, w, task.State, task.Attempt, task.Done, task.Total, last.State, last.Attempt, last.Done, last.Total)
							}
						}
						seen = append(seen, task)
						return nil
					})
					if err != nil || len(seen) == 0 || seen[len(seen)-1].State != want {
						t.Errorf("task %d, watch %d: ends with %v and %v, want %s", i, w, seen, err, want)
					}
				})
			}
			if want == fettle.Stopped {
				wait := time.Duration(random.IntN(60)) * time.Millisecond
				wg.Go(func() {
					time.Sleep(wait)
					if _, err := other.Stop(t.Context(), task.ID); err != nil {
						t.Error(err)
					}
				})
			}
		}
		wg.Wait()
		q.hub.mu.Lock()
		defer q.hub.mu.Unlock()
		if len(q.hub.watchers) > 0 {
			t.Errorf("%d tasks are watched by nobody", len(q.hub.watchers))
		}
	})
}

// TestWatchEnds ends a watch by its context and by its listener.
func TestWatchEnds(t *testing.T) {
	t.Parallel()
	b := sqliteBench(t)
	q := b.queue(b.db(), workers(0))
	task := ask(t, q, "survey", "plate")
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if err := q.Watch(ctx, task.ID, func(fettle.Task) error { return nil }); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("its context ended: %v", err)
	}
	full := errors.New("enough")
	if err := q.Watch(t.Context(), task.ID, func(fettle.Task) error { return full }); err != full {
		t.Errorf("its listener had enough: %v", err)
	}
}

// TestProgress says a thousand things a second, out of order, and counts at the
// usual pace how often the row is written and how often a watch is told.
func TestProgress(t *testing.T) {
	t.Parallel()
	b := sqliteBench(t)
	db := b.db()
	const length = 1200 * time.Millisecond
	q := b.queue(db, atPace(func(p *pace) { *p = usual() }), handle("survey", func(_ context.Context, _ json.RawMessage, say func(string, int, int)) (json.RawMessage, error) {
		for i, begun := 0, time.Now(); time.Since(begun) < length; i++ {
			say("sweep the faces", i^1, 1<<20) // 1 0 3 2 5 4 …
			time.Sleep(time.Millisecond)
		}
		say("write", 1, 2)
		return json.RawMessage(`"done"`), nil
	}))
	for _, text := range []string{
		"CREATE TABLE written (done BIGINT)",
		"CREATE TRIGGER written_now AFTER UPDATE ON task WHEN OLD.state = 'running' AND NEW.state = 'running' BEGIN INSERT INTO written VALUES (NEW.done); END",
	} {
		if _, err := db.ExecContext(t.Context(), text); err != nil {
			t.Fatal(err)
		}
	}
	task := ask(t, q, "survey", "plate")
	w := q.hub.join(task.ID)
	pushes := 0
	over := make(chan struct{})
	go func() {
		defer close(over)
		for range w.news {
			if task, ok := w.take(); ok && task.State == fettle.Running {
				pushes++
			} else if task.State.Over() {
				return
			}
		}
	}()
	told, last := 0, -1
	var final fettle.Task
	err := q.Watch(t.Context(), task.ID, func(task fettle.Task) error {
		told++
		if task.Doing == "sweep the faces" {
			if task.Done < last {
				t.Errorf("%d after %d", task.Done, last)
			}
			last = task.Done
		}
		final = task
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	<-over
	q.hub.leave(task.ID, w)
	if final.Doing != "write" || final.Done != 1 || final.Total != 2 || string(final.Result) != `"done"` {
		t.Errorf("the end: %+v", final)
	}
	var written int
	if err := db.QueryRowContext(t.Context(), "SELECT count(*) FROM written").Scan(&written); err != nil {
		t.Fatal(err)
	}
	seconds := length.Seconds()
	if most := int(4*seconds) + 1; written == 0 || written > most {
		t.Errorf("written %d times, want at most %d", written, most)
	}
	if most := int(10*seconds) + 2; pushes < 3 || pushes > most {
		t.Errorf("pushed %d times, want at most %d", pushes, most)
	}
	// And waiting, running and the end.
	if most := int(5*seconds) + 3; told < 3 || told > most {
		t.Errorf("told %d times, want at most %d", told, most)
	}
}
