package bvh

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	leafSize = 4  // triangles in a leaf, at most
	bins     = 16 // per axis
	// piece is how many triangles one goroutine builds at a stretch. It depends
	// on nothing else, so the tree does not either.
	piece = 1 << 14
	// deep is the depth at which splitting goes by halves, so that no mesh,
	// however made, overflows the stacks of the queries.
	deep = 40
	// stackSize suffices for that: three siblings wait per level, and 40 levels
	// by area and at most 16 by halves of quarters come to 168.
	stackSize = 192
)

// ref is a triangle's box while the tree is built.
type ref struct {
	lo, hi [3]float32
	id     int32
}

// bound is a box in single precision.
type bound struct{ lo, hi [3]float32 }

var noBound = func() bound {
	inf := float32(math.Inf(1))
	return bound{[3]float32{inf, inf, inf}, [3]float32{-inf, -inf, -inf}}
}()

func (b *bound) add(lo, hi *[3]float32) {
	for k := range 3 {
		if lo[k] < b.lo[k] {
			b.lo[k] = lo[k]
		}
		if hi[k] > b.hi[k] {
			b.hi[k] = hi[k]
		}
	}
}

// half is half the surface of the box.
func (b *bound) half() float32 {
	x, y, z := b.hi[0]-b.lo[0], b.hi[1]-b.lo[1], b.hi[2]-b.lo[2]
	return x*y + y*z + z*x
}

// Build makes the tree of a mesh whose indices are in range and whose
// positions are finite. Splits minimise the surface area heuristic over binned
// centres (Wald, "On fast Construction of SAH-based Bounding Volume
// Hierarchies", IEEE Symposium on Interactive Ray Tracing 2007).
func Build(m *mesh.Mesh) *Tree {
	t := &Tree{}
	n := len(m.Tri)
	if n == 0 {
		return t
	}
	box := m.Box()
	t.origin = originFor(box)
	t.box = geom.Box{Min: r3.Sub(box.Min, t.origin), Max: r3.Sub(box.Max, t.origin)}
	for _, c := range [...]r3.Vec{t.box.Min, t.box.Max} {
		t.reach = max(t.reach, math.Abs(c.X), math.Abs(c.Y), math.Abs(c.Z))
	}
	refs := make([]ref, n)
	pad := 4 * t.reach * (1.0 / (1 << 24)) // see Tree.Ray
	parallel(n, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			c := relative(m, int32(i), t.origin)
			r := ref{id: int32(i)}
			for k := range 3 {
				r.lo[k] = down(min(c[0][k], c[1][k], c[2][k]) - pad)
				r.hi[k] = up(max(c[0][k], c[1][k], c[2][k]) + pad)
			}
			refs[i] = r
		}
	})
	b := &builder{refs: refs, free: make(chan struct{}, max(0, runtime.GOMAXPROCS(0)-1))}
	root := b.build(0, n, 0)
	t.nodes = make([]node, 0, root.total)
	t.nodes = root.flatten(t.nodes)

	t.tri = make([][3]corner, n)
	t.id = make([]int32, n)
	parallel(n, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			t.id[i] = refs[i].id
			t.tri[i] = relative(m, refs[i].id, t.origin)
		}
	})
	return t
}

// parallel runs f over stretches of n items on all cores.
func parallel(n int, f func(lo, hi int)) {
	workers := min(runtime.GOMAXPROCS(0), (n+4095)/4096)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() { f(w*n/workers, (w+1)*n/workers) })
	}
	wg.Wait()
}

type builder struct {
	refs []ref
	free chan struct{} // cores to spare
}

// part is a stretch of the tree that one goroutine built: its nodes number
// their children from the first of them, and holes say which children are other
// parts.
type part struct {
	nodes []node
	holes []hole
	total int // nodes with those of the holes
}

type hole struct {
	at, kid int
	part    *part
}

// flatten appends the nodes of p and all its holes to list, parents first.
func (p *part) flatten(list []node) []node {
	base := len(list)
	list = append(list, p.nodes...)
	for i := base; i < len(list); i++ {
		for k := range width {
			if list[i].count[k] == 0 {
				list[i].kid[k] += int32(base)
			}
		}
	}
	for _, h := range p.holes {
		list[base+h.at].kid[h.kid] = int32(len(list))
		list = h.part.flatten(list)
	}
	return list
}

// build makes the part over refs[lo:hi]. A stretch larger than a piece becomes
// a single node whose children are parts of their own.
func (b *builder) build(lo, hi, depth int) *part {
	p := &part{}
	if hi-lo <= piece {
		p.nodes = make([]node, 0, (hi-lo)/5+1)
		b.small(p, lo, hi, depth)
		p.total = len(p.nodes)
		return p
	}
	p.nodes = append(p.nodes, emptyNode())
	var wg sync.WaitGroup
	cuts := b.quarter(lo, hi, depth)
	var kids [width]*part
	for k := range len(cuts) - 1 {
		lo, hi := cuts[k], cuts[k+1]
		p.nodes[0].set(k, b.bounds(lo, hi))
		if hi-lo <= leafSize {
			p.nodes[0].kid[k], p.nodes[0].count[k] = int32(lo), int32(hi-lo)
			continue
		}
		select {
		case b.free <- struct{}{}:
			wg.Go(func() {
				kids[k] = b.build(lo, hi, depth+1)
				<-b.free
			})
		default:
			kids[k] = b.build(lo, hi, depth+1)
		}
	}
	wg.Wait()
	for k, kid := range kids {
		if kid != nil {
			p.holes = append(p.holes, hole{0, k, kid})
		}
	}
	p.total = 1
	for _, h := range p.holes {
		p.total += h.part.total
	}
	return p
}

// small appends the nodes over refs[lo:hi] to p, parents first.
func (b *builder) small(p *part, lo, hi, depth int) int32 {
	at := len(p.nodes)
	p.nodes = append(p.nodes, emptyNode())
	cuts := b.quarter(lo, hi, depth)
	for k := range len(cuts) - 1 {
		lo, hi := cuts[k], cuts[k+1]
		p.nodes[at].set(k, b.bounds(lo, hi))
		if hi-lo <= leafSize {
			p.nodes[at].kid[k], p.nodes[at].count[k] = int32(lo), int32(hi-lo)
			continue
		}
		kid := b.small(p, lo, hi, depth+1)
		p.nodes[at].kid[k] = kid
	}
	return int32(at)
}

func (n *node) set(k int, b bound) {
	for a := range 3 {
		n.lo[a][k], n.hi[a][k] = b.lo[a], b.hi[a]
	}
}

func (b *builder) bounds(lo, hi int) bound {
	out := noBound
	for i := lo; i < hi; i++ {
		out.add(&b.refs[i].lo, &b.refs[i].hi)
	}
	return out
}

// quarter divides refs[lo:hi] into at most four stretches and returns their
// ends; each time it splits the one with the largest surface that is not a
// leaf.
func (b *builder) quarter(lo, hi, depth int) []int {
	cuts := make([]int, 2, width+1)
	cuts[0], cuts[1] = lo, hi
	size := make([]float32, 1, width+1) // surface of each stretch, 0 once it may be a leaf
	if hi-lo > leafSize {
		size[0] = 1
	}
	for len(cuts) <= width {
		big := -1
		for k := range size {
			if size[k] > 0 && (big < 0 || size[k] > size[big]) {
				big = k
			}
		}
		if big < 0 {
			break
		}
		l, h := cuts[big], cuts[big+1]
		mid, left, right := b.split(l, h, depth)
		cuts = slices.Insert(cuts, big+1, mid)
		size[big] = left
		size = slices.Insert(size, big+1, right)
		if mid-l <= leafSize {
			size[big] = 0
		}
		if h-mid <= leafSize {
			size[big+1] = 0
		}
	}
	return cuts
}

// tiny keeps a flat box of many triangles from looking like a leaf.
const tiny = math.SmallestNonzeroFloat32

// split orders refs[lo:hi] into two stretches, lo:mid and mid:hi, neither
// empty, and returns the surfaces of their boxes.
func (b *builder) split(lo, hi, depth int) (mid int, left, right float32) {
	refs := b.refs[lo:hi]
	centres := noBound
	for i := range refs {
		r := &refs[i]
		c := [3]float32{r.lo[0] + r.hi[0], r.lo[1] + r.hi[1], r.lo[2] + r.hi[2]}
		centres.add(&c, &c)
	}
	axis := 0
	for k := 1; k < 3; k++ {
		if centres.hi[k]-centres.lo[k] > centres.hi[axis]-centres.lo[axis] {
			axis = k
		}
	}
	extent := centres.hi[axis] - centres.lo[axis]
	if depth >= deep || !(extent > 0) {
		// By halves: sorted by centre, equal ones by number.
		slices.SortFunc(refs, func(a, b ref) int {
			if d := a.lo[axis] + a.hi[axis] - b.lo[axis] - b.hi[axis]; d < 0 {
				return -1
			} else if d > 0 {
				return 1
			}
			return int(a.id - b.id)
		})
		mid = lo + len(refs)/2
	} else {
		mid = lo + binned(refs, axis, centres.lo[axis], extent)
	}
	l, r := b.bounds(lo, mid), b.bounds(mid, hi)
	return mid, max(l.half(), tiny), max(r.half(), tiny)
}

// binned partitions refs at the best of bins-1 planes across one axis and
// returns how many lie below it.
func binned(refs []ref, axis int, lo, extent float32) int {
	var box [bins]bound
	var count [bins]int
	for i := range box {
		box[i] = noBound
	}
	scale := bins * (1 - 1e-6) / extent
	bin := func(r *ref) int { return min(bins-1, int((r.lo[axis]+r.hi[axis]-lo)*scale)) }
	for i := range refs {
		k := bin(&refs[i])
		count[k]++
		box[k].add(&refs[i].lo, &refs[i].hi)
	}
	var above [bins]float32 // cost of everything from a plane upwards
	run, n := noBound, 0
	for k := bins - 1; k > 0; k-- {
		if count[k] > 0 {
			run.add(&box[k].lo, &box[k].hi)
			n += count[k]
		}
		if n > 0 {
			above[k] = run.half() * float32(n)
		}
	}
	run, n = noBound, 0
	plane, best := 1, float32(math.Inf(1))
	for k := range bins - 1 {
		if count[k] > 0 {
			run.add(&box[k].lo, &box[k].hi)
			n += count[k]
		}
		if n == 0 || n == len(refs) {
			continue
		}
		if c := run.half()*float32(n) + above[k+1]; c < best {
			plane, best = k+1, c
		}
	}
	i, j := 0, len(refs)
	for i < j {
		if bin(&refs[i]) < plane {
			i++
			continue
		}
		j--
		refs[i], refs[j] = refs[j], refs[i]
	}
	return i
}
