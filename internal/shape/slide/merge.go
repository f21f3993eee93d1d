package slide

import (
	"container/heap"
	"context"
	"math"
	"slices"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// unit is a piece of the surface while pieces are merged.
type unit struct {
	tris []int32
	s    moments
	z    *slips
	// own is the number of motions that the piece has of right, because its face as
	// drawn has them: a plane's three are worth keeping. cell marks pieces of
	// free-form faces: any small piece of a smooth surface slides somehow, and
	// nothing is lost when it does no longer.
	own  int
	cell bool
	cut  bool // has cells in it

	next  []int32 // neighbours over smooth edges, ascending
	gone  bool
	stamp int // how often it has changed
}

const (
	// strayFactor is how many times the limit the smaller part may stray along the
	// motions of a union: the mean over a large patch says little about a small
	// part of it.
	strayFactor = 3
	// worthShare is how large, against the patch that gives up motions for it, a
	// sliver has to be.
	worthShare = 1.0 / 8
)

// pairing is a union that might be made.
type pairing struct {
	a, b   int32
	sa, sb int // stamps when it was judged
	k      int // motions of the union
	slip   float64
}

type pairings []pairing

func (q pairings) Len() int { return len(q) }
func (q pairings) Less(i, j int) bool {
	x, y := &q[i], &q[j]
	switch {
	case x.k != y.k:
		return x.k > y.k
	case x.slip != y.slip:
		return x.slip < y.slip
	case x.a != y.a:
		return x.a < y.a
	}
	return x.b < y.b
}
func (q pairings) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *pairings) Push(x any)   { *q = append(*q, x.(pairing)) }
func (q *pairings) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// merger merges units: of all pairs of neighbours the one whose union keeps the
// most motions, and among those the one that strays least (Gelfand and Guibas
// 2004, §4).
type merger struct {
	g     *ground
	units []*unit
	least float64 // area below which a patch is a sliver
	q     pairings
	// absorb is the second pass, in which slivers may cost motions.
	absorb bool
}

func (g *ground) least() float64 {
	if g.opt.LeastShare > 0 {
		return g.opt.LeastShare * g.area
	}
	return leastShare * g.area
}

// merge merges the units as far as the rules go, and leaves out those that are
// gone.
func (g *ground) merge(ctx context.Context, units []*unit) ([]*unit, error) {
	m := &merger{g: g, units: units, least: g.least()}
	m.link()
	for _, absorb := range []bool{false, true} {
		m.absorb = absorb
		m.q = m.q[:0]
		for a, u := range m.units {
			for _, b := range u.next {
				if int(b) > a && !u.gone {
					m.offer(int32(a), b)
				}
			}
		}
		heap.Init(&m.q)
		for len(m.q) > 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			p := heap.Pop(&m.q).(pairing)
			a, b := m.units[p.a], m.units[p.b]
			if a.gone || b.gone || a.stamp != p.sa || b.stamp != p.sb {
				continue
			}
			m.join(p.a, p.b)
		}
	}
	return slices.DeleteFunc(m.units, func(u *unit) bool { return u.gone }), nil
}

// link finds the neighbours of units.
func (m *merger) link() {
	of := make([]int32, len(m.g.tris))
	for i := range of {
		of[i] = -1
	}
	for i, u := range m.units {
		for _, t := range u.tris {
			of[m.g.slot[t]] = int32(i)
		}
	}
	for i, u := range m.units {
		for _, t := range u.tris {
			for k, o := range m.g.p.Topology.Across[t] {
				if o == mesh.NoTri || m.g.slot[o] < 0 || m.g.p.Sharp[t][k] {
					continue
				}
				if j := of[m.g.slot[o]]; j >= 0 && int(j) != i {
					u.next = append(u.next, j)
				}
			}
		}
		slices.Sort(u.next)
		u.next = slices.Compact(u.next)
	}
}

// offer judges the union of two units and, if it is allowed, queues it.
func (m *merger) offer(a, b int32) {
	if a > b {
		a, b = b, a
	}
	x, y := m.units[a], m.units[b]
	large, small := x, y
	if small.s.area > large.s.area {
		large, small = small, large
	}
	if m.absorb && small.s.area >= m.least {
		return
	}
	most := 3
	if !m.absorb {
		// A union has no more motions than its parts.
		if most = min(parts(x), parts(y)); most < max(x.own, y.own) {
			return
		}
	}
	s := x.s
	s.add(&y.s)
	z := newSlips(&s, m.g.origin)
	limit := m.g.limit(z.noise)
	k := min(3, z.count(limit))
	if k == 0 || !m.allowed(large, small, z, k) {
		return
	}
	if !m.follows(z, k, x) || !m.follows(z, k, y) {
		return
	}
	p := pairing{a, b, x.stamp, y.stamp, k, z.val[k-1] / limit}
	m.q = append(m.q, p)
}

// parts is the most motions that a union with a unit can keep.
func parts(u *unit) int {
	if u.cell || u.own == 0 {
		return 3
	}
	return u.own
}

// allowed is the rule of the trade: a face keeps the motions it has of right. It
// gives them up when it is a sliver itself, or for a sliver of another such face
// that is large enough to be worth them, as long as it keeps the stroke along its
// length.
func (m *merger) allowed(large, small *unit, z *slips, k int) bool {
	if k >= large.own && k >= small.own {
		return true
	}
	if !m.absorb {
		return false
	}
	if k >= large.own {
		return true
	}
	if small.own == 0 || small.s.area < worthShare*large.s.area {
		return false
	}
	l := large.z
	t := z.twist(&z.vec[0]).from(z.c, l.c)
	v, pace := normed(t.V)
	round := l.reach[0] < 1.5*l.reach[1] || pace < l.size*math.Sqrt(norm2(t.W))
	return round || math.Abs(r3.Dot(v, l.ahead[0])) > 0.7
}

// follows reports whether a part strays little along the motions of a union.
func (m *merger) follows(z *slips, k int, u *unit) bool {
	limit := strayFactor * m.g.limit(u.z.noise)
	for i := range k {
		if u.z.slip(z.twist(&z.vec[i]).from(z.c, u.z.c)) > limit {
			return false
		}
	}
	return true
}

// join puts b into a.
func (m *merger) join(a, b int32) {
	x, y := m.units[a], m.units[b]
	x.tris = append(x.tris, y.tris...)
	x.s.add(&y.s)
	x.z = newSlips(&x.s, m.g.origin)
	k := min(3, x.z.count(m.g.limit(x.z.noise)))
	x.own = min(k, max(x.own, y.own))
	x.cell, x.cut = x.cell && y.cell, x.cut || y.cut
	x.stamp++
	y.gone = true
	for _, c := range y.next {
		if u := m.units[c]; c != a && !u.gone {
			u.next = relinked(u.next, b, a)
			x.next = append(x.next, c)
		}
	}
	x.next = slices.DeleteFunc(x.next, func(c int32) bool { return c == a || c == b || m.units[c].gone })
	slices.Sort(x.next)
	x.next = slices.Compact(x.next)
	y.next, y.tris = nil, nil
	for _, c := range x.next {
		n := len(m.q)
		if m.offer(a, c); len(m.q) > n {
			heap.Fix(&m.q, n)
		}
	}
}

// relinked is a list of neighbours in which one has become another.
func relinked(next []int32, old, now int32) []int32 {
	next = slices.DeleteFunc(next, func(c int32) bool { return c == old || c == now })
	at, _ := slices.BinarySearch(next, now)
	return slices.Insert(next, at, now)
}
