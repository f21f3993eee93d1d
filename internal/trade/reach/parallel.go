package reach

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// spread runs f over pieces of 0…n on all cores, and stops early when the
// context ends. The pieces are the same for any number of cores.
func spread(ctx context.Context, n, piece int, f func(lo, hi int)) error {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+piece-1)/piece) {
		wg.Go(func() {
			for ctx.Err() == nil {
				lo := int(next.Add(int64(piece))) - piece
				if lo >= n {
					return
				}
				f(lo, min(n, lo+piece))
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
