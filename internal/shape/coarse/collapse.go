package coarse

import (
	"cmp"
	"context"
	"math"
	"slices"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// kind is where a corner may go.
type kind uint8

const (
	free  kind = iota // anywhere
	seam              // along its seam
	fixed             // nowhere
)

const (
	mostRound = 28   // triangles round a corner: more are slow and thin
	leastTurn = 0.25 // cosine up to which a triangle may turn in one collapse
	thinnest  = 0.02 // height over length that a collapse may leave, unless it was thinner
	seamPull  = 4.0  // how much dearer it is to leave a seam than the surface
	lengthen  = 1e-6 // share of its squared length that an edge costs, so that flat faces keep good triangles
	rise      = 1.7  // of the bound, each step
)

// worker is a mesh while it is made coarser.
type worker struct {
	m    *mesh.Mesh
	opt  Options
	pos  []r3.Vec // about the middle of the box, so that quadrics keep their digits
	tri  [][3]uint32
	gone []bool
	left int

	kind  []kind
	along [][2]int32 // the neighbours along the seam
	q     []quadric
	area  []float64   // of what a corner stands for
	low   [][]float32 // of the values that a corner stands for
	high  [][]float32
	from  []int32 // triangles round corner v: round[from[v]:from[v]+many[v]]
	many  []int32
	round []int32

	cost  []float64 // of the cheapest way, as last worked out
	stale []bool    // it must be worked out again
	mark  []uint32
	stamp uint32
	ways  []way
}

// way is a collapse that may be.
type way struct {
	to   uint32
	cost float64
}

func newWorker(m *mesh.Mesh, opt Options) *worker {
	n := len(m.Pos)
	tp := mesh.NewTopology(m)
	w := &worker{
		m: m, opt: opt, pos: make([]r3.Vec, n), tri: slices.Clone(m.Tri), gone: make([]bool, len(m.Tri)), left: len(m.Tri),
		kind: make([]kind, n), along: make([][2]int32, n), q: make([]quadric, n), area: make([]float64, n),
		from: make([]int32, n), many: make([]int32, n), round: slices.Clone(tp.Around),
		cost: make([]float64, n), stale: make([]bool, n), mark: make([]uint32, n),
	}
	middle := m.Box().Centre()
	for v := range n {
		w.pos[v] = r3.Sub(m.Pos[v], middle)
		w.from[v], w.many[v] = tp.Start[v], tp.Start[v+1]-tp.Start[v]
		w.stale[v] = true
		w.along[v] = [2]int32{-1, -1}
	}
	for _, values := range opt.Values {
		w.low, w.high = append(w.low, slices.Clone(values)), append(w.high, slices.Clone(values))
	}
	for t, c := range w.tri {
		a, b, d := w.pos[c[0]], w.pos[c[1]], w.pos[c[2]]
		normal := r3.Cross(r3.Sub(b, a), r3.Sub(d, a))
		l := r3.Norm(normal)
		if l == 0 {
			continue
		}
		normal = r3.Scale(1/l, normal)
		for _, v := range c {
			w.q[v].plane(normal, a, l/6) // a third of the area
			w.area[v] += l / 6
		}
		w.seams(tp, t, normal)
	}
	w.settle(tp)
	return w
}

// seams notes the seams that a triangle borders on.
func (w *worker) seams(tp *mesh.Topology, t int, normal r3.Vec) {
	for k := range 3 {
		o := tp.Across[t][k]
		if o != mesh.NoTri && (w.opt.Label == nil || w.opt.Label[o] == w.opt.Label[t]) {
			continue
		}
		a, b := w.tri[t][k], w.tri[t][(k+1)%3]
		edge := r3.Sub(w.pos[b], w.pos[a])
		if n := r3.Cross(edge, normal); r3.Norm(n) > 0 {
			weight := seamPull * r3.Norm2(edge)
			n = r3.Unit(n)
			w.q[a].plane(n, w.pos[a], weight)
			w.q[b].plane(n, w.pos[a], weight)
		}
		w.join(a, b)
		w.join(b, a)
		if o == mesh.NoTri && tp.Tangles > 0 {
			w.kind[a], w.kind[b] = fixed, fixed
		}
	}
}

// join notes that a seam runs from a to b.
func (w *worker) join(a, b uint32) {
	switch s := &w.along[a]; {
	case s[0] == int32(b) || s[1] == int32(b):
	case s[0] < 0:
		s[0] = int32(b)
	case s[1] < 0:
		s[1] = int32(b)
	default:
		w.kind[a] = fixed
	}
}

// settle says where each corner may go.
func (w *worker) settle(tp *mesh.Topology) {
	for v := range w.kind {
		s := w.along[v]
		switch {
		case w.kind[v] == fixed || !w.fan(tp, v):
			w.kind[v] = fixed
		case s[0] >= 0 && s[1] >= 0:
			w.kind[v] = seam
		case s[0] >= 0:
			w.kind[v] = fixed // the seam ends here
		}
	}
}

// fan reports whether the triangles round a corner hang together: whether one comes to
// all of them across edges.
func (w *worker) fan(tp *mesh.Topology, v int) bool {
	around := tp.Around[tp.Start[v]:tp.Start[v+1]]
	if len(around) == 0 {
		return false
	}
	seen := 0
	for dir := range 2 { // one way round, then the other
		for t := around[0]; t != mesh.NoTri; {
			if seen++; seen > len(around)+1 {
				return false
			}
			k := slices.Index(w.tri[t][:], uint32(v))
			if k < 0 {
				return false
			}
			t = tp.Across[t][(k+2*dir)%3]
			if t == around[0] {
				return seen == len(around)
			}
		}
	}
	return seen-1 == len(around) // the first was counted twice
}

// collapse does the work.
func (w *worker) collapse(ctx context.Context, most int) error {
	bound := w.begin()
	for idle := 0; w.left > most && idle < 60; bound *= rise {
		if err := ctx.Err(); err != nil {
			return err
		}
		before := w.left
		for v := 0; v < len(w.kind) && w.left > most; v++ {
			if w.many[v] == 0 || w.kind[v] == fixed || !w.stale[v] && w.cost[v] > bound {
				continue
			}
			if to, ok := w.best(uint32(v), bound); ok {
				w.move(uint32(v), to)
			}
		}
		if idle++; w.left < before {
			idle = 0
		}
	}
	return nil
}

// begin is a bound that lets about a twentieth of the corners go.
func (w *worker) begin() float64 {
	var costs []float64
	for v := 0; v < len(w.kind); v += 1 + len(w.kind)/4096 {
		if w.many[v] > 0 && w.kind[v] != fixed {
			w.look(uint32(v))
			if len(w.ways) > 0 {
				costs = append(costs, w.ways[0].cost)
			}
		}
	}
	if len(costs) == 0 {
		return 1
	}
	slices.Sort(costs)
	return max(costs[len(costs)/20], 1e-18)
}

func (w *worker) about(v uint32) []int32 { return w.round[w.from[v] : w.from[v]+w.many[v]] }

// look finds the ways from u, the cheapest first.
func (w *worker) look(u uint32) {
	w.ways = w.ways[:0]
	w.stamp++
	w.mark[u] = w.stamp
	for _, t := range w.about(u) {
		for _, v := range w.tri[t] {
			if w.mark[v] == w.stamp {
				continue
			}
			w.mark[v] = w.stamp
			if w.kind[u] == seam && int32(v) != w.along[u][0] && int32(v) != w.along[u][1] {
				continue
			}
			w.ways = append(w.ways, way{v, w.price(u, v)})
		}
	}
	slices.SortFunc(w.ways, func(a, b way) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.to, b.to)) })
}

// price is what it costs to move u onto v.
func (w *worker) price(u, v uint32) float64 {
	c := max(0, w.q[u].at(w.pos[v])) + lengthen*w.area[u]*r3.Norm2(r3.Sub(w.pos[u], w.pos[v]))
	for k := range w.low {
		there := float64(w.opt.Values[k][v])
		d := w.opt.ValueMM * max(there-float64(w.low[k][u]), float64(w.high[k][u])-there)
		c += w.area[u] * d * d
	}
	return c
}

// best is the cheapest way from u under the bound that hurts nothing.
func (w *worker) best(u uint32, bound float64) (to uint32, ok bool) {
	w.look(u)
	w.stale[u] = false
	w.cost[u] = math.Inf(1) // until something changes round it
	for _, o := range w.ways {
		if o.cost > bound {
			w.cost[u] = o.cost
			return 0, false
		}
		if w.may(u, o.to) {
			return o.to, true
		}
	}
	return 0, false
}

// may reports whether the surface stays whole and no triangle turns over or gets too
// thin when u moves onto v.
func (w *worker) may(u, v uint32) bool {
	w.stamp++
	for _, t := range w.about(v) {
		for _, x := range w.tri[t] {
			w.mark[x] = w.stamp
		}
	}
	// Neighbours of both may only be those that stand over the edge (Dey, Edelsbrunner,
	// Guha and Nekhayev, "Topology preserving edge contraction", 1999).
	shared, both := 0, 0
	ring := w.stamp
	w.stamp++
	for _, t := range w.about(u) {
		if has(w.tri[t], v) {
			both++
		}
		for _, x := range w.tri[t] {
			if x != u && x != v && w.mark[x] == ring {
				w.mark[x] = w.stamp
				shared++
			}
		}
	}
	if shared != both || both > 2 || int(w.many[u]+w.many[v])-2*both > mostRound {
		return false
	}
	for _, t := range w.about(u) {
		c := w.tri[t]
		if has(c, v) {
			continue
		}
		was, thin := w.shape(c)
		for k := range c {
			if c[k] == u {
				c[k] = v
			}
		}
		is, now := w.shape(c)
		if r3.Dot(was, is) <= leastTurn*r3.Norm(was)*r3.Norm(is) || now < thinnest && now < thin {
			return false
		}
	}
	return true
}

// shape is a triangle's normal, twice its area long, and its height over its longest
// side.
func (w *worker) shape(c [3]uint32) (normal r3.Vec, height float64) {
	a, b, d := w.pos[c[0]], w.pos[c[1]], w.pos[c[2]]
	ab, ad, bd := r3.Sub(b, a), r3.Sub(d, a), r3.Sub(d, b)
	normal = r3.Cross(ab, ad)
	return normal, r3.Norm(normal) / max(r3.Norm2(ab), r3.Norm2(ad), r3.Norm2(bd), 1e-300)
}

func has(c [3]uint32, v uint32) bool { return c[0] == v || c[1] == v || c[2] == v }

// move takes u away: what it stood for goes to v.
func (w *worker) move(u, v uint32) {
	start := int32(len(w.round))
	for _, t := range w.about(v) {
		if !has(w.tri[t], u) {
			w.round = append(w.round, t)
		}
	}
	for _, t := range w.about(u) {
		if has(w.tri[t], v) {
			w.gone[t] = true
			w.left--
			for _, x := range w.tri[t] {
				if x != u && x != v {
					w.drop(x, t)
				}
			}
			continue
		}
		for k := range w.tri[t] {
			if w.tri[t][k] == u {
				w.tri[t][k] = v
			}
		}
		w.round = append(w.round, t)
	}
	w.from[v], w.many[v] = start, int32(len(w.round))-start
	w.many[u] = 0
	if w.kind[u] == seam { // the seam goes on from v to the other neighbour
		next := w.along[u][0]
		if next == int32(v) {
			next = w.along[u][1]
		}
		w.replace(v, int32(u), next)
		w.replace(uint32(next), int32(u), int32(v))
	}
	w.q[v].add(&w.q[u])
	w.area[v] += w.area[u]
	for k := range w.low {
		w.low[k][v], w.high[k][v] = min(w.low[k][v], w.low[k][u]), max(w.high[k][v], w.high[k][u])
	}
	for _, t := range w.about(v) {
		for _, x := range w.tri[t] {
			w.stale[x] = true
		}
	}
}

// drop takes a triangle off the list of a corner.
func (w *worker) drop(v uint32, t int32) {
	list := w.about(v)
	if i := slices.Index(list, t); i >= 0 {
		copy(list[i:], list[i+1:])
		w.many[v]--
	}
}

func (w *worker) replace(v uint32, was, is int32) {
	for k, x := range w.along[v] {
		if x == was {
			w.along[v][k] = is
		}
	}
}
