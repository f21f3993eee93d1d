package queue

import (
	"context"
	"encoding/json"
	"slices"
	"sync"
	"testing"

	"fettle"
)

// TestNow asks how things are again and again while one answer is worked out: one more
// task answers all of them, and sees what was there before each was asked.
func TestNow(t *testing.T) {
	onBoth(t, func(t *testing.T, b *bench) {
		var mu sync.Mutex
		var log, saw []int
		begun, goOn := make(chan struct{}, 10), make(chan struct{})
		q := b.queue(b.db(), workers(1), handle("learn", func(ctx context.Context, _ json.RawMessage, _ func(string, int, int)) (json.RawMessage, error) {
			mu.Lock()
			saw = append(saw, len(log))
			mu.Unlock()
			begun <- struct{}{}
			select {
			case <-goOn:
			case <-ctx.Done():
			}
			return nil, nil
		}))
		add := func(key string) fettle.Task {
			t.Helper()
			mu.Lock()
			log = append(log, 1)
			mu.Unlock()
			a := question("learn", key)
			a.Now = true
			task, err := q.Ask(t.Context(), a)
			if err != nil {
				t.Fatal(err)
			}
			return task
		}
		first := add("1")
		<-begun // from here on it does not see what comes
		second := add("2")
		if second.ID == first.ID {
			t.Fatal("a task that has begun is taken for one that waits")
		}
		for _, key := range []string{"3", "4"} {
			if task := add(key); task.ID != second.ID {
				t.Errorf("%s is another task although one waits", key)
			}
		}
		// Who asks for an answer of its own gets its own.
		if other := ask(t, q, "learn", "5"); other.ID == second.ID {
			t.Error("a question of its own is answered by another's task")
		} else if _, err := q.Stop(t.Context(), other.ID); err != nil {
			t.Fatal(err)
		}
		close(goOn)
		checkState(t, finished(t, q, first.ID), fettle.Done)
		checkState(t, finished(t, q, second.ID), fettle.Done)
		mu.Lock()
		defer mu.Unlock()
		if !slices.Equal(saw, []int{1, 4}) {
			t.Errorf("worked with %v in the log, want 1 and then all 4", saw)
		}
	})
}
