package bvh

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/spatial/r3"
)

// Near is an answer of [Tree.NearestAll].
type Near struct {
	Tri   int32 // None and the zero point where nothing lies within the limit
	Point r3.Vec
	Dist2 float64
}

// NearestAll asks [Tree.NearestWithin] for every point and puts the answers in
// out, which is as long. Points are asked in order of their place in space, on
// all cores: twice as fast for a million points in no order, as what one
// answer brings into the cache serves the next. Each answer is what it would be
// alone.
func (t *Tree) NearestAll(points []r3.Vec, limit2 float64, out []Near) {
	if len(out) != len(points) {
		panic("bvh: NearestAll: points and out differ in length")
	}
	order := alongCurve(points)
	const batch = 1024
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (len(points)+batch-1)/batch) {
		wg.Go(func() {
			for {
				lo := int(next.Add(batch)) - batch
				if lo >= len(order) {
					return
				}
				for _, i := range order[lo:min(lo+batch, len(order))] {
					tri, at, d := t.NearestWithin(points[i], limit2)
					out[i] = Near{int32(tri), at, d}
				}
			}
		})
	}
	wg.Wait()
}

// alongCurve numbers the points in Morton order (Morton, IBM report, 1966), ten
// bits to an axis, by a radix sort in three passes.
func alongCurve(points []r3.Vec) []int32 {
	n := len(points)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		lo, hi = min(lo, p.X, p.Y, p.Z), max(hi, p.X, p.Y, p.Z)
	}
	scale := 1023 / (hi - lo)
	if !(scale > 0) || math.IsInf(scale, 0) {
		scale = 0
	}
	grid := func(x float64) uint32 {
		v := (x - lo) * scale
		if !(v >= 0) {
			return 0
		}
		return spread(uint32(min(v, 1023)))
	}
	keys, keys2 := make([]uint32, n), make([]uint32, n)
	order, order2 := make([]int32, n), make([]int32, n)
	parallel(n, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			p := points[i]
			keys[i] = grid(p.X) | grid(p.Y)<<1 | grid(p.Z)<<2
			order[i] = int32(i)
		}
	})
	for shift := 0; shift < 30; shift += 10 {
		var start [1025]int
		for _, k := range keys {
			start[k>>shift&1023+1]++
		}
		for d := range 1024 {
			start[d+1] += start[d]
		}
		for i, k := range keys {
			d := k >> shift & 1023
			keys2[start[d]], order2[start[d]] = k, order[i]
			start[d]++
		}
		keys, keys2, order, order2 = keys2, keys, order2, order
	}
	return order
}

// spread puts two zero bits behind each of the ten low bits.
func spread(x uint32) uint32 {
	x = (x | x<<16) & 0x030000FF
	x = (x | x<<8) & 0x0300F00F
	x = (x | x<<4) & 0x030C30C3
	return (x | x<<2) & 0x09249249
}
