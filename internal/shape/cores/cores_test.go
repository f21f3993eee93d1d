package cores

import (
	"context"
	"sync/atomic"
	"testing"
)

// Everything is done, and done once; a context that ends is told.
func TestEachOnce(t *testing.T) {
	for _, n := range []int{0, 1, 7, 10000} {
		done := make([]atomic.Int32, n)
		if err := Each(context.Background(), n, func(i int) { done[i].Add(1) }); err != nil {
			t.Fatal(err)
		}
		for i := range done {
			if c := done[i].Load(); c != 1 {
				t.Fatalf("of %d, number %d is done %d times", n, i, c)
			}
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	var did atomic.Int32
	err := Each(ctx, 1e6, func(i int) {
		if did.Add(1) == 10 {
			stop()
		}
	})
	if err == nil || did.Load() > 1000 {
		t.Errorf("%d of a million are done after the stop, error %v", did.Load(), err)
	}
}
