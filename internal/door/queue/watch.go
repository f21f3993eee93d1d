package queue

import (
	"context"
	"sync"
	"time"

	"fettle"
)

// hub passes changes of tasks to the watches of this process.
type hub struct {
	mu       sync.Mutex
	watchers map[string]map[*watcher]struct{}
}

// watcher holds the newest state that its watch has not seen.
type watcher struct {
	news chan struct{} // one slot
	mu   sync.Mutex
	task *fettle.Task
}

func (h *hub) publish(t fettle.Task) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for w := range h.watchers[t.ID] {
		w.put(t)
	}
}

// put never lets a late message hide the last state.
func (w *watcher) put(t fettle.Task) {
	w.mu.Lock()
	if w.task == nil || !w.task.State.Over() || t.State.Over() {
		w.task = &t
	}
	w.mu.Unlock()
	select {
	case w.news <- struct{}{}:
	default:
	}
}

// take returns the newest state, if there is one since the last time.
func (w *watcher) take() (fettle.Task, bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.task == nil {
		return fettle.Task{}, false
	}
	t := *w.task
	w.task = nil
	return t, true
}

func (h *hub) join(id string) *watcher {
	w := &watcher{news: make(chan struct{}, 1)}
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.watchers[id] == nil {
		h.watchers[id] = map[*watcher]struct{}{}
	}
	h.watchers[id][w] = struct{}{}
	return w
}

func (h *hub) leave(id string, w *watcher) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.watchers[id], w)
	if len(h.watchers[id]) == 0 {
		delete(h.watchers, id)
	}
}

// Watch calls tell with the task as it is and then as it changes, at most some
// five times a second, and returns nil after its last state, which is always
// told. It returns tell's error as soon as there is one, ctx's when that ends,
// and a Conflict when the queue is closed.
//
// What happens in this process is passed on as it happens; for what other
// processes do, the row is read four times a second.
func (q *Queue) Watch(ctx context.Context, id string, tell func(fettle.Task) error) error {
	// First join, then read: a change is either in what is read or comes after it.
	w := q.hub.join(id)
	defer q.hub.leave(id, w)
	last, err := q.Task(ctx, id)
	if err != nil {
		return err
	}
	if err := tell(last); err != nil || last.State.Over() {
		return err
	}
	told := time.Now()
	poll := time.NewTicker(q.pollEvery())
	defer poll.Stop()
	due := time.NewTimer(time.Hour)
	defer due.Stop()
	next := last
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-q.closed:
			if t, ok := w.take(); ok && t.State.Over() {
				return tell(t)
			}
			return fettle.Errorf(fettle.Conflict, "the program is closing; ask for the task again when it runs")
		case <-w.news:
			if t, ok := w.take(); ok {
				next = t
			}
		case <-poll.C:
			if q.runs(id) {
				continue
			}
			t, err := q.Task(ctx, id)
			if err != nil {
				return err
			}
			next = t
		case <-due.C:
		}
		if same(next, last) {
			continue
		}
		if wait := q.pace.tell - time.Since(told); wait > 0 && !next.State.Over() {
			due.Reset(wait)
			continue
		}
		if err := tell(next); err != nil || next.State.Over() {
			return err
		}
		last, told = next, time.Now()
	}
}

// pollEvery is how often a watch reads the row. In a process that is alone there
// is nothing to find; it looks now and then all the same.
func (q *Queue) pollEvery() time.Duration {
	if q.o.Alone {
		return 10 * q.pace.poll
	}
	return q.pace.poll
}

// runs reports whether a task is run by this process.
func (q *Queue) runs(id string) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.running[id] != nil
}

// same reports whether two states of a task look the same; a heartbeat is none
// that anyone would want to see.
func same(a, b fettle.Task) bool {
	return a.State == b.State && a.Attempt == b.Attempt && a.Doing == b.Doing && a.Done == b.Done && a.Total == b.Total && a.Why == b.Why
}
