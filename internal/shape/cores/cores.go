// Package cores shares work out over the machine's cores: [Each]. Who does what
// is left to chance; what is done is not, so that the answer is the same on any
// number of them.
package cores

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Each runs f for 0 ≤ i < n on all cores, in no order: i names a slab, a row or a
// batch whose limits do not depend on the number of cores. It stops early with
// the context's error.
func Each(ctx context.Context, n int, f func(i int)) error {
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

// Batches is Each over stretches of that size: f does lo ≤ i < hi.
func Batches(ctx context.Context, n, size int, f func(lo, hi int)) error {
	return Each(ctx, (n+size-1)/size, func(i int) { f(i*size, min(n, (i+1)*size)) })
}
