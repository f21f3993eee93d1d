package queue

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"fettle"
)

// TestTriedAgain fails in ways that are not the user's: it is tried again with a
// reason, and parked after the third time. What the error says stays in the log.
func TestTriedAgain(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var runs atomic.Int32
		var pauses []time.Duration
		var last time.Time
		q := b.queue(b.db(), handle("survey", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			if runs.Add(1) > 1 {
				pauses = append(pauses, time.Since(last))
			}
			last = time.Now()
			return nil, errors.New("secret inner text")
		}), handle("reach", func(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			if runs.Add(1) < 6 {
				return nil, fettle.Errorf(fettle.Internal, "the mesh has lost a facet")
			}
			return args, nil
		}))
		task := ask(t, q, "survey", "plate")
		var between fettle.Task
		err := q.Watch(t.Context(), task.ID, func(task fettle.Task) error {
			if task.State == fettle.Waiting && task.Attempt > 0 {
				between = task
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if want := "it went wrong and is tried again: something failed inside the program, which its log describes"; between.Why != want {
			t.Errorf("between the attempts: %q, want %q", between.Why, want)
		}
		task = finished(t, q, task.ID)
		checkState(t, task, fettle.Parked)
		if runs.Load() != 3 || task.Attempt != 3 || task.Ended == nil || !strings.Contains(task.Why, "tried 3 times") || strings.Contains(task.Why, "secret") {
			t.Errorf("after %d runs: %+v", runs.Load(), task)
		}
		if !strings.Contains(b.logged(), "secret inner text") {
			t.Error("the log does not say what happened")
		}
		for i, p := range pauses {
			if p < q.pace.again[i] {
				t.Errorf("attempt %d came after %v, want %v at least", i+2, p, q.pace.again[i])
			}
		}
		// Our own sentence of an error of ours is fit to read; the third attempt works.
		task = ask(t, q, "reach", "plate")
		until(t, q, task.ID, func(task fettle.Task) bool { return strings.Contains(task.Why, "lost a facet") })
		task = finished(t, q, task.ID)
		checkState(t, task, fettle.Done)
		if task.Attempt != 3 || task.Why != "" {
			t.Errorf("done as %+v", task)
		}
	})
}

// TestPanics has a handler panic.
func TestPanics(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		q := b.queue(b.db(), handle("survey", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			panic("secret inner text")
		}))
		task := finished(t, q, ask(t, q, "survey", "plate").ID)
		checkState(t, task, fettle.Parked)
		if strings.Contains(task.Why, "secret") || strings.Contains(task.Why, "goroutine") || !strings.Contains(task.Why, "mistake") {
			t.Errorf("why: %s", task.Why)
		}
		if log := b.logged(); !strings.Contains(log, "secret inner text") || !strings.Contains(log, "work_test.go") {
			t.Errorf("the log does not say where:\n%s", log)
		}
	})
}

// TestFinal fails in a way that is the user's: once, with the sentence.
func TestFinal(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var runs atomic.Int32
		q := b.queue(b.db(), handle("survey", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			runs.Add(1)
			// Wrapped, and with a character that PostgreSQL does not take.
			return nil, errors.Join(errors.New("reading"), fettle.Errorf(fettle.BadFile, "plate\x00.stl ends in the middle of a facet; save it again"))
		}), handle("plan", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			return json.RawMessage("{"), nil
		}))
		task := finished(t, q, ask(t, q, "survey", "plate").ID)
		checkState(t, task, fettle.Failed)
		if task.Why != "plate.stl ends in the middle of a facet; save it again" || runs.Load() != 1 || task.Ended == nil || task.Attempt != 1 {
			t.Errorf("after %d runs: %+v", runs.Load(), task)
		}
		checkState(t, finished(t, q, ask(t, q, "plan", "no JSON").ID), fettle.Parked)
		if n := jobs(t, q); n != 0 {
			t.Errorf("%d jobs left in River's table", n)
		}
	})
}

// TestLimit has attempts take too long, one by a handler that does not care.
func TestLimit(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		free := make(chan struct{})
		defer close(free)
		q := b.queue(b.db(), limit(60*time.Millisecond), workers(1), atPace(func(p *pace) {
			p.patience = 100 * time.Millisecond
			p.again = p.again[:1]
		}), handle("survey", func(ctx context.Context, _ json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			<-ctx.Done()
			return nil, fettle.Errorf(fettle.BadFile, "cut off")
		}), handle("reach", func(context.Context, json.RawMessage, func(string, int, int)) (json.RawMessage, error) {
			<-free
			return nil, nil
		}), handle("plan", echo))
		deaf, slow, good := ask(t, q, "reach", "plate"), ask(t, q, "survey", "plate"), ask(t, q, "plan", "plate")
		for _, id := range []string{deaf.ID, slow.ID} {
			task := finished(t, q, id)
			checkState(t, task, fettle.Parked)
			if task.Attempt != 2 || !strings.Contains(task.Why, "it took longer than 60ms") {
				t.Errorf("%+v", task)
			}
		}
		checkState(t, finished(t, q, good.ID), fettle.Done)
	})
}

// TestStop stops tasks that wait, that run here, that run elsewhere, and that are
// done.
func TestStop(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var ended atomic.Int32
		begun := make(chan struct{}, 10)
		h := handle("survey", func(ctx context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			if string(args) == `{"of":"quick"}` {
				return args, nil
			}
			begun <- struct{}{}
			<-ctx.Done()
			ended.Add(1)
			return nil, ctx.Err()
		})
		q := b.queue(b.db(), h, workers(1), together)
		// On PostgreSQL another pool; with the usual pace of looking.
		elsewhere := b.queue(b.db(), workers(0), together)
		stop := func(q *Queue, id string) fettle.Task {
			t.Helper()
			task, err := q.Stop(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			return task
		}
		running := ask(t, q, "survey", "first")
		<-begun
		waiting := ask(t, q, "survey", "second")
		task := stop(q, waiting.ID)
		checkState(t, task, fettle.Stopped)
		if task.Why == "" || task.Ended == nil {
			t.Errorf("stopped as %+v", task)
		}
		watched := make(chan fettle.Task, 1)
		go q.Watch(context.WithoutCancel(t.Context()), running.ID, func(task fettle.Task) error {
			if task.State.Over() {
				watched <- task
			}
			return nil
		})
		checkState(t, stop(q, running.ID), fettle.Stopped)
		checkState(t, <-watched, fettle.Stopped)
		third := ask(t, q, "survey", "third")
		<-begun
		checkState(t, stop(elsewhere, third.ID), fettle.Stopped)
		// The worker is free again: it noticed.
		from := time.Now()
		checkState(t, finished(t, q, ask(t, q, "survey", "quick").ID), fettle.Done)
		if took := time.Since(from); took > 20*time.Second {
			t.Errorf("noticed after %v", took)
		}
		if n := ended.Load(); n != 2 {
			t.Errorf("%d handlers were told, want 2", n)
		}
		// A question that was stopped can be asked anew; one that is done stays.
		done := ask(t, q, "survey", "quick")
		checkState(t, stop(elsewhere, done.ID), fettle.Done)
		if anew := ask(t, q, "survey", "third"); anew.ID == third.ID {
			t.Error("a stopped task was taken for an answer")
		}
	})
	if p := usual(); p.look >= time.Second {
		t.Errorf("what was stopped elsewhere is noticed after %v", p.look)
	}
}

// TestClose closes a queue in the middle of work: what ends in the grace is done,
// what does not waits as before, and the next queue does it.
func TestClose(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		db := b.db()
		begun := make(chan struct{}, 10)
		h := func(usually time.Duration) setting {
			return handle("survey", func(ctx context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
				begun <- struct{}{}
				wait := usually
				if string(args) == `{"of":"short"}` {
					wait = 20 * time.Millisecond
				}
				select {
				case <-ctx.Done():
					// As handlers do that say everything in a sentence.
					return nil, fettle.Errorf(fettle.Invalid, "cut off: %w", ctx.Err())
				case <-time.After(wait):
					return args, nil
				}
			})
		}
		q := b.queue(db, h(time.Minute))
		long, short, waits := ask(t, q, "survey", "long"), ask(t, q, "survey", "short"), ask(t, q, "survey", "waits")
		<-begun
		<-begun
		watch := make(chan error, 1)
		go func() {
			watch <- q.Watch(context.WithoutCancel(t.Context()), long.ID, func(fettle.Task) error { return nil })
		}()
		if err := q.Close(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := <-watch; fettle.CodeOf(err) != fettle.Conflict {
			t.Errorf("the watch ended with %v", err)
		}
		for id, want := range map[string]fettle.TaskState{long.ID: fettle.Waiting, short.ID: fettle.Done} {
			task, err := q.Task(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			checkState(t, task, want)
			if id == long.ID && (task.Attempt != 0 || task.Why != "") {
				t.Errorf("put back as %+v", task)
			}
		}
		next := b.queue(db, h(0))
		for _, id := range []string{long.ID, waits.ID} {
			task := finished(t, next, id)
			checkState(t, task, fettle.Done)
			if task.Attempt != 1 {
				t.Errorf("done at attempt %d", task.Attempt)
			}
		}
	})
}

// TestIdle lets what runs end and leaves what waits.
func TestIdle(t *testing.T) {
	t.Parallel()
	b := sqliteBench(t)
	begun, free := make(chan struct{}), make(chan struct{})
	q := b.queue(b.db(), workers(1), handle("survey", func(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
		begun <- struct{}{}
		<-free
		return args, nil
	}))
	first, second := ask(t, q, "survey", "first"), ask(t, q, "survey", "second")
	<-begun
	soon, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if err := q.Idle(soon); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("idle while a task runs: %v", err)
	}
	close(free)
	if err := q.Idle(t.Context()); err != nil {
		t.Fatal(err)
	}
	for id, want := range map[string]fettle.TaskState{first.ID: fettle.Done, second.ID: fettle.Waiting} {
		task, err := q.Task(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		checkState(t, task, want)
	}
}
