package field

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// each runs f for 0 ≤ i < n on all cores, in no order: i names a slab, a row or a
// block whose limits do not depend on the number of cores. It stops early with
// the context's error.
func each(ctx context.Context, n int, f func(i int)) error {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n || ctx.Err() != nil {
					return
				}
				f(i)
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
