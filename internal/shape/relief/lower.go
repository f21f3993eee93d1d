package relief

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// family is a set of convex functions of the plan, each within a box, whose
// lowest is wanted.
type family interface {
	// at is the height of a member, +Inf where it does not reach.
	at(id int32, x, y float64) float64
	// plane lies under the member everywhere.
	plane(id int32, x, y float64) (z, gx, gy float64)
	// rough is a plane under the member that is not as close but quick to have.
	rough(id int32, x, y float64) (z, gx, gy float64)
	// find appends the members that may reach into a box.
	find(x0, y0, x1, y1 float64, to []int32) []int32
}

// block is a rectangle of cells [i0, i1) × [j0, j1).
type block struct{ i0, j0, i1, j1 int }

// lowest works out the lower envelope of a family on a grid.
//
// The grid is halved and halved again. At each size the members that can be the
// lowest anywhere in the block are kept: a member is dropped when a single other
// member, the lowest in the middle among those that reach all over the block, is
// below a plane that lies under the first. The other is convex and the plane is
// not bent, so four corners decide for all of the block. What is left, a handful,
// is evaluated cell by cell. The result is that of trying every member at every
// cell: nothing is approximated, and no slope, step or size is assumed.
type lowest struct {
	fam  family
	grid Grid
	// squares is set where the lowest is wanted all over the squares between a
	// cell's middle and the next ones', not only in the middles.
	squares bool
	top     float64 // nothing above this counts: the stock
}

// task is one worker's memory, by depth of the halving.
type task struct {
	l      *lowest
	ids    [][]int32
	planes []level
	lower  *task // for the members of members
}

// level is a plane under a member: its height in the middle of a block, and the
// most it falls towards the sides.
type level struct{ z, rx, ry float64 }

const (
	bigBlock  = 256 // cells across the blocks that work is shared out in
	leafBlock = 4   // cells across a block that is not halved any more
	fewLeft   = 3   // members that are not worth halving a block for
	tiny      = 1e-12
)

// each shares blocks out over the cores. leaf gets a block and the members that
// may be lowest in it; it is called from many goroutines, for blocks that do not
// overlap, and must not keep ids. It stops early when ctx is done.
func (l *lowest) each(ctx context.Context, size int, progress func(done, total int), leaf func(t *task, b block, ids []int32), until func(b block, n int) bool) error {
	nx, ny := (l.grid.W+size-1)/size, (l.grid.H+size-1)/size
	total := nx * ny
	var next, done atomic.Int64
	var wg sync.WaitGroup
	var tell sync.Mutex
	for range min(runtime.GOMAXPROCS(0), total) {
		wg.Go(func() {
			t := &task{l: l}
			for ctx.Err() == nil {
				n := int(next.Add(1)) - 1
				if n >= total {
					return
				}
				i, j := n%nx*size, n/nx*size
				b := block{i, j, min(i+size, l.grid.W), min(j+size, l.grid.H)}
				x0, y0, x1, y1 := l.box(b)
				ids := l.fam.find(x0, y0, x1, y1, t.ids0())
				t.ids[0] = ids
				t.split(b, ids, 1, leaf, until)
				if progress != nil {
					tell.Lock()
					progress(int(done.Add(1)), total)
					tell.Unlock()
				}
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

// box is from the middle of a block's first cell to that of its last, or of the
// one behind it.
func (l *lowest) box(b block) (x0, y0, x1, y1 float64) {
	if l.squares {
		b.i1++
		b.j1++
	}
	return l.grid.X(b.i0), l.grid.Y(b.j0), l.grid.X(b.i1 - 1), l.grid.Y(b.j1 - 1)
}

// sub is the worker's memory for another family on the same grid.
func (t *task) sub(fam family) *task {
	if t.lower == nil {
		t.lower = &task{l: &lowest{fam: fam, grid: t.l.grid, top: t.l.top}}
	}
	return t.lower
}

// ids0 is an empty list that keeps its room.
func (t *task) ids0() []int32 { return t.at(0)[:0] }

func (t *task) at(depth int) []int32 {
	for len(t.ids) <= depth {
		t.ids = append(t.ids, nil)
	}
	return t.ids[depth]
}

// split drops what cannot be lowest in the block and goes on with its quarters.
func (t *task) split(b block, ids []int32, depth int, leaf func(*task, block, []int32), until func(b block, n int) bool) {
	kept := t.prune(b, ids, t.at(depth)[:0])
	t.ids[depth] = kept
	if until(b, len(kept)) {
		leaf(t, b, kept)
		return
	}
	// Blocks are cut in four along each side while they are large, in two then.
	step := 2
	if w := max(b.i1-b.i0, b.j1-b.j0); w >= 64 {
		step = 4
	}
	di, dj := (b.i1-b.i0+step-1)/step, (b.j1-b.j0+step-1)/step
	for j := b.j0; j < b.j1; j += dj {
		for i := b.i0; i < b.i1; i += di {
			t.split(block{i, j, min(i+di, b.i1), min(j+dj, b.j1)}, kept, depth+1, leaf, until)
		}
	}
}

// prune appends the members that may be lowest somewhere in the block.
func (t *task) prune(b block, ids, to []int32) []int32 {
	l := t.l
	if len(ids) == 0 {
		return to
	}
	x0, y0, x1, y1 := l.box(b)
	cx, cy, hw, hh := (x0+x1)/2, (y0+y1)/2, (x1-x0)/2, (y1-y0)/2
	if cap(t.planes) < len(ids) {
		t.planes = make([]level, 2*len(ids))
	}
	planes := t.planes[:len(ids)]
	c := contest{best: -1, low: math.Inf(1), top: l.top}
	offer := func(id int32, z float64) {
		if z > c.low || z == c.low && id >= c.best {
			return
		}
		if corner, ok := t.corners(id, x0, y0, x1, y1); ok {
			c.best, c.low, c.corner = id, z, corner
		}
	}
	// A first guess at the lowest by rough planes: most members lose against it
	// and need not be looked at closer.
	guess, deep := int32(-1), math.Inf(1)
	for n, id := range ids {
		z, gx, gy := l.fam.rough(id, cx, cy)
		planes[n] = level{z, gx * hw, gy * hh}
		if z < deep {
			guess, deep = id, z
		}
	}
	if guess >= 0 {
		z, _, _ := l.fam.plane(guess, cx, cy)
		offer(guess, z)
	}
	begin := len(to)
	for n, id := range ids {
		if c.loses(id, planes[n]) {
			continue
		}
		z, gx, gy := l.fam.plane(id, cx, cy)
		planes[len(to)-begin] = level{z, gx * hw, gy * hh}
		to = append(to, id)
		offer(id, z)
	}
	kept := to[:begin]
	for n, id := range to[begin:] {
		if !c.loses(id, planes[n]) {
			kept = append(kept, id)
		}
	}
	return kept
}

// contest is the member to beat in a block, by its heights at the corners.
type contest struct {
	best   int32
	low    float64 // in the middle
	corner [4]float64
	top    float64
}

// loses reports whether the member over this plane is nowhere lower than the
// best or than the top. Of members that are equally low everywhere the one with
// the smallest number stays.
func (c *contest) loses(id int32, p level) bool {
	if p.z-math.Abs(p.rx)-math.Abs(p.ry) >= c.top {
		return true
	}
	if c.best < 0 || id == c.best {
		return false
	}
	margin := tiny
	if c.best < id {
		margin = 0
	}
	return c.corner[0]+margin <= p.z-p.rx-p.ry && c.corner[1]+margin <= p.z+p.rx-p.ry &&
		c.corner[2]+margin <= p.z-p.rx+p.ry && c.corner[3]+margin <= p.z+p.rx+p.ry
}

// corners are a member's heights at the corners of a block, if it reaches them.
func (t *task) corners(id int32, x0, y0, x1, y1 float64) (c [4]float64, ok bool) {
	f := t.l.fam
	for n, p := range [4][2]float64{{x0, y0}, {x1, y0}, {x0, y1}, {x1, y1}} {
		if c[n] = f.at(id, p[0], p[1]); math.IsInf(c[n], 1) {
			return c, false
		}
	}
	return c, true
}

// onGrid is the usual end of halving: few members left, or few cells.
func onGrid(b block, n int) bool {
	return n <= fewLeft || max(b.i1-b.i0, b.j1-b.j0) <= leafBlock
}

// blockSize is the size of the blocks that work is shared out in: large, but
// enough of them for all cores.
func (g Grid) blockSize() int {
	size := bigBlock
	for size > 16 && ((g.W+size-1)/size)*((g.H+size-1)/size) < 64 {
		size /= 2
	}
	return size
}
