package mesh

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxCrossings bounds the point-against-facet tests that sorting out nested
// shells may take: some seconds for a file made to be slow.
const maxCrossings = 200_000_000

// probe is a point just on a shell from which a ray goes up.
type probe struct {
	p     r3.Vec
	shell int32
	odd   bool // the ray has met an odd number of facets of other shells
}

// insideOthers says which closed shells lie inside an odd number of others:
// those are cavities. From several points of each shell a ray goes up along z;
// the number of facets of other closed shells that it meets has the parity of
// the number of shells around the point. Only a shell whose points all agree is
// taken to be inside, so that bodies which overlap stay bodies.
func (c *cleaner) insideOthers(s *shells) []bool {
	inner := make([]bool, len(s.closed))
	n := 0
	for _, ok := range s.closed {
		if ok {
			n++
		}
	}
	if n < 2 || !c.mayNest(s) {
		return inner
	}
	probes := c.probes(s)
	g := newProbeGrid(probes)
	work := int64(0)
	for t, l := range s.label {
		if s.closed[l] {
			work += g.tests(c.shadow(t))
		}
	}
	if work > maxCrossings {
		c.count[Undecided] = n
		return inner
	}
	for t, l := range s.label {
		if s.closed[l] {
			v := c.tri[t]
			g.cross(c.pos[v[0]], c.pos[v[1]], c.pos[v[2]], c.shadow(t), l)
		}
	}
	for i := range inner {
		inner[i] = s.closed[i]
	}
	for _, p := range probes {
		inner[p.shell] = inner[p.shell] && p.odd
	}
	return inner
}

// mayNest is a cheap look at whether any box lies in another: it compares all
// pairs of a few shells and gives up on more.
func (c *cleaner) mayNest(s *shells) bool {
	if len(s.box) > 256 {
		return true
	}
	for i, a := range s.box {
		for j, b := range s.box {
			if i != j && s.closed[i] && s.closed[j] && boxWithin(a, b) {
				return true
			}
		}
	}
	return false
}

// boxWithin reports whether box a lies in box b.
func boxWithin(a, b geom.Box) bool {
	return a.Min.X >= b.Min.X && a.Min.Y >= b.Min.Y && a.Min.Z >= b.Min.Z &&
		a.Max.X <= b.Max.X && a.Max.Y <= b.Max.Y && a.Max.Z <= b.Max.Z
}

// probes picks, on every closed shell, a point of each facet at which it
// reaches farthest along an axis, and of its largest facet.
func (c *cleaner) probes(s *shells) []probe {
	type pick struct {
		tri  [7]int32
		best [7]float64
	}
	picks := make([]pick, len(s.closed))
	for i := range picks {
		for k := range picks[i].best {
			picks[i].best[k] = math.Inf(-1)
		}
	}
	for t, l := range s.label {
		if !s.closed[l] {
			continue
		}
		v := c.tri[t]
		a, b, d := c.pos[v[0]], c.pos[v[1]], c.pos[v[2]]
		score := [7]float64{
			max(a.X, b.X, d.X), -min(a.X, b.X, d.X),
			max(a.Y, b.Y, d.Y), -min(a.Y, b.Y, d.Y),
			max(a.Z, b.Z, d.Z), -min(a.Z, b.Z, d.Z),
			r3.Norm2(r3.Cross(r3.Sub(b, a), r3.Sub(d, a))),
		}
		p := &picks[l]
		for k, x := range score {
			if x > p.best[k] {
				p.best[k], p.tri[k] = x, int32(t)
			}
		}
	}
	var out []probe
	for i, p := range picks {
		if !s.closed[i] {
			continue
		}
		for _, t := range p.tri {
			v := c.tri[t]
			// Weights that made-up parts do not line up with.
			x := r3.Add(r3.Scale(0.4142, c.pos[v[0]]), r3.Add(r3.Scale(0.3183, c.pos[v[1]]), r3.Scale(0.2675, c.pos[v[2]])))
			out = append(out, probe{p: x, shell: int32(i)})
		}
	}
	return out
}

// shadow is the box of triangle t.
func (c *cleaner) shadow(t int) geom.Box {
	v := c.tri[t]
	return geom.EmptyBox().Add(c.pos[v[0]]).Add(c.pos[v[1]]).Add(c.pos[v[2]])
}

// probeGrid finds the probes under a facet: a square grid over x and y with the
// probes of each cell in a row, and the sums that tell how many probes a block
// of cells holds.
type probeGrid struct {
	probes []probe
	order  []int32 // probes by cell
	start  []int32 // of each cell in order
	sum    []int64 // (n+1)² inclusive counts
	n      int
	box    geom.Box
}

// newProbeGrid deals the probes into about as many cells.
func newProbeGrid(probes []probe) *probeGrid {
	g := &probeGrid{probes: probes, box: geom.EmptyBox()}
	for _, p := range probes {
		g.box = g.box.Add(p.p)
	}
	g.n = min(1024, 1+int(math.Sqrt(float64(len(probes)))))
	n := g.n
	g.start = make([]int32, n*n+1)
	cell := make([]int32, len(probes))
	for i, p := range probes {
		cell[i] = int32(g.at(p.p.Y, g.box.Min.Y, g.box.Max.Y)*n + g.at(p.p.X, g.box.Min.X, g.box.Max.X))
		g.start[cell[i]+1]++
	}
	g.sum = make([]int64, (n+1)*(n+1))
	for y := range n {
		for x := range n {
			g.sum[(y+1)*(n+1)+x+1] = int64(g.start[y*n+x+1]) + g.sum[y*(n+1)+x+1] + g.sum[(y+1)*(n+1)+x] - g.sum[y*(n+1)+x]
		}
	}
	for i := range n * n {
		g.start[i+1] += g.start[i]
	}
	next := append([]int32(nil), g.start...)
	g.order = make([]int32, len(probes))
	for i, k := range cell {
		g.order[next[k]] = int32(i)
		next[k]++
	}
	return g
}

// at is the row or column of a coordinate.
func (g *probeGrid) at(x, lo, hi float64) int {
	if !(hi > lo) {
		return 0
	}
	return max(0, min(g.n-1, int((x-lo)/(hi-lo)*float64(g.n))))
}

// span is the block of cells under a box, empty if x1 < x0.
func (g *probeGrid) span(b geom.Box) (x0, x1, y0, y1 int) {
	if b.Max.X < g.box.Min.X || b.Min.X > g.box.Max.X || b.Max.Y < g.box.Min.Y || b.Min.Y > g.box.Max.Y {
		return 0, -1, 0, -1
	}
	return g.at(b.Min.X, g.box.Min.X, g.box.Max.X), g.at(b.Max.X, g.box.Min.X, g.box.Max.X),
		g.at(b.Min.Y, g.box.Min.Y, g.box.Max.Y), g.at(b.Max.Y, g.box.Min.Y, g.box.Max.Y)
}

// tests counts the probes in the cells under a box and the cell rows to visit.
func (g *probeGrid) tests(b geom.Box) int64 {
	x0, x1, y0, y1 := g.span(b)
	if x1 < x0 {
		return 0
	}
	w := g.n + 1
	return int64(y1-y0+1) + g.sum[(y1+1)*w+x1+1] - g.sum[y0*w+x1+1] - g.sum[(y1+1)*w+x0] + g.sum[y0*w+x0]
}

// cross counts the facet a b d of a shell for every probe below it.
func (g *probeGrid) cross(a, b, d r3.Vec, box geom.Box, shell int32) {
	x0, x1, y0, y1 := g.span(box)
	for y := y0; y <= y1 && x1 >= x0; y++ {
		for _, i := range g.order[g.start[y*g.n+x0]:g.start[y*g.n+x1+1]] {
			if p := &g.probes[i]; p.shell != shell && above(a, b, d, p.p) {
				p.odd = !p.odd
			}
		}
	}
}

// above reports whether the ray from p along +z meets the triangle. The side of
// p at an edge is worked out in the same way for both facets of the edge, so
// that a ray through an edge meets exactly one of them.
func above(a, b, d, p r3.Vec) bool {
	s := leftOf(a, b, p)
	if leftOf(b, d, p) != s || leftOf(d, a, p) != s {
		return false
	}
	n := r3.Cross(r3.Sub(b, a), r3.Sub(d, a))
	if n.Z == 0 {
		return false
	}
	h := r3.Dot(n, r3.Sub(a, p)) / n.Z
	return h > 0
}

// leftOf is the side of the line a b, in the plane of x and y, that p lies on.
func leftOf(a, b, p r3.Vec) bool {
	turned := a.X > b.X || a.X == b.X && a.Y > b.Y
	if turned {
		a, b = b, a
	}
	side := float64((b.X-a.X)*(p.Y-a.Y))-float64((b.Y-a.Y)*(p.X-a.X)) >= 0
	return side != turned
}
