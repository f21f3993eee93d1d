package queue

import (
	"context"
	"encoding/json"
	"sync"
	"sync/atomic"
	"testing"
)

const crashDir = "FETTLE_QUEUE_CRASH_DIR"

func crashChild() {}

// TestOnce asks one question twenty times at once, and then again: it is worked
// once.
func TestOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var worked atomic.Int32
		q := b.queue(b.db(), handle("survey", func(_ context.Context, args json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			worked.Add(1)
			return args, nil
		}))
		ids := make([]string, 20)
		var wg sync.WaitGroup
		for i := range ids {
			wg.Go(func() {
				task, err := q.Ask(t.Context(), question("survey", "plate"))
				if err != nil {
					t.Error(err)
				}
				ids[i] = task.ID
			})
		}
		wg.Wait()
		for _, id := range ids {
			if id != ids[0] {
				t.Fatalf("two tasks for one question: %s and %s", id, ids[0])
			}
		}
		task := finished(t, q, ids[0])
		checkState(t, task, "done")
		if string(task.Result) != `{"of":"plate"}` {
			t.Errorf("result %s", task.Result)
		}
		if again := ask(t, q, "survey", "plate"); again.ID != task.ID || string(again.Result) != string(task.Result) {
			t.Errorf("asked again: %+v", again)
		}
		if n := worked.Load(); n != 1 {
			t.Errorf("worked %d times", n)
		}
		if n := jobs(t, q); n != 0 {
			t.Errorf("%d jobs left in River's table", n)
		}
	})
}
