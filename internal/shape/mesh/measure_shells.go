package mesh

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// count fills in the shells, bodies, cavities and the Euler characteristic.
func (out *Measured) count(m *Mesh, tp *Topology) {
	label, n := tp.Bodies()
	out.Shells, out.Bodies = n, n
	if n > 1 {
		out.Cavities = cavities(m, tp, label, n)
		out.Bodies = n - out.Cavities
	}

	used, halves := 0, 0
	for v := range m.Pos {
		if tp.Start[v+1] > tp.Start[v] {
			used++
		}
	}
	for _, t := range tp.Across {
		for _, u := range t {
			if u != NoTri {
				halves++
			}
		}
	}
	edges := halves/2 + tp.Borders + tp.Tangles
	out.Euler = used - edges + len(m.Tri)
	out.Genus = -1
	if twice := 2*n - out.Euler; out.Closed && twice >= 0 && twice%2 == 0 {
		out.Genus = twice / 2
	}
}

// shell is what deciding about one shell needs.
type shell struct {
	vol   float64
	first int32 // triangle
	open  bool
}

// cavities counts closed shells that face inwards and lie inside an outward
// one. A shell that faces inwards but lies in the open is an inside-out body,
// not a cavity.
func cavities(m *Mesh, tp *Topology, label []int32, n int) int {
	origin := boxOf(m).Centre()
	shells := make([]shell, n)
	for i := range shells {
		shells[i] = shell{first: -1}
	}
	for t, l := range label {
		s := &shells[l]
		a, b, c := m.Corners(t)
		a, b, c = r3.Sub(a, origin), r3.Sub(b, origin), r3.Sub(c, origin)
		s.vol += r3.Dot(a, r3.Cross(b, c)) / 6
		if s.first < 0 {
			s.first = int32(t)
		}
		for _, u := range tp.Across[t] {
			s.open = s.open || u == NoTri
		}
	}
	var ask []suspect
	for i := range shells {
		if s := &shells[i]; !s.open && s.vol < 0 {
			a, b, c := m.Corners(int(s.first))
			// A point of the shell off its vertices and middles, where made-up parts
			// like to be aligned.
			p := r3.Add(r3.Scale(0.4142, a), r3.Add(r3.Scale(0.3183, b), r3.Scale(0.2675, c)))
			ask = append(ask, suspect{p: p, vol: -s.vol})
		}
	}
	if len(ask) == 0 {
		return 0
	}
	g := gridOf(ask)
	byShell := triangles(label, n)
	count := 0
	var touched []int32
	for j := range shells {
		o := &shells[j]
		if o.open || o.vol <= 0 {
			continue
		}
		touched = touched[:0]
		for _, t := range byShell(j) {
			g.visit(m, t, func(i int32) {
				s := &ask[i]
				if s.inside || s.vol >= o.vol || !crosses(m, t, s.p) {
					return
				}
				s.odd = !s.odd
				touched = append(touched, i)
			})
		}
		for _, i := range touched {
			if ask[i].odd {
				ask[i].odd, ask[i].inside = false, true
				count++
			}
		}
	}
	return count
}

// suspect is a shell that faces inwards: a point of it, its volume, and what is
// known of where it lies.
type suspect struct {
	p           r3.Vec
	vol         float64
	odd, inside bool
}

// grid sorts suspects into squares of the y-z plane, about one to a square, so
// that a triangle meets only those that a ray along x may bring to it. A block
// with a hundred thousand bubbles takes no longer than its triangles do.
type grid struct {
	n            int
	y0, z0, y, z float64 // corner, and squares per mm
	start, list  []int32
}

func gridOf(ask []suspect) *grid {
	b := geom.EmptyBox()
	for _, s := range ask {
		b = b.Add(s.p)
	}
	g := &grid{n: max(1, int(math.Sqrt(float64(len(ask))))), y0: b.Min.Y, z0: b.Min.Z}
	if d := b.Size(); d.Y > 0 {
		g.y = float64(g.n) / d.Y
	}
	if d := b.Size(); d.Z > 0 {
		g.z = float64(g.n) / d.Z
	}
	square := make([]int32, len(ask))
	for i, s := range ask {
		square[i] = int32(g.at(s.p.Y-g.y0, g.y)*g.n + g.at(s.p.Z-g.z0, g.z))
	}
	list := triangles(square, g.n*g.n)
	for k := range g.n * g.n {
		g.start = append(g.start, int32(len(g.list)))
		g.list = append(g.list, list(k)...)
	}
	g.start = append(g.start, int32(len(g.list)))
	return g
}

func (g *grid) at(x, scale float64) int {
	return int(min(float64(g.n-1), max(0, x*scale)))
}

// visit calls f for every suspect whose square triangle t may touch.
func (g *grid) visit(m *Mesh, t int32, f func(int32)) {
	a, b, c := m.Corners(int(t))
	y0, y1 := g.at(min(a.Y, b.Y, c.Y)-g.y0, g.y), g.at(max(a.Y, b.Y, c.Y)-g.y0, g.y)
	z0, z1 := g.at(min(a.Z, b.Z, c.Z)-g.z0, g.z), g.at(max(a.Z, b.Z, c.Z)-g.z0, g.z)
	for y := y0; y <= y1; y++ {
		for _, i := range g.list[g.start[y*g.n+z0]:g.start[y*g.n+z1+1]] {
			f(i)
		}
	}
}

// triangles groups triangles by label.
func triangles(label []int32, n int) func(int) []int32 {
	start := make([]int32, n+1)
	for _, l := range label {
		start[l+1]++
	}
	for i := range n {
		start[i+1] += start[i]
	}
	next := append([]int32(nil), start[:n]...)
	list := make([]int32, len(label))
	for t, l := range label {
		list[next[l]] = int32(t)
		next[l]++
	}
	return func(i int) []int32 { return list[start[i]:start[i+1]] }
}

// crosses reports whether a ray from p along x crosses triangle t. A shell
// holds p when it does so an odd number of times. Crossings are decided edge by
// edge in the y-z plane with the corners of an edge always in the same order,
// so that two triangles never both take or both miss a ray at the edge they
// share.
func crosses(m *Mesh, t int32, p r3.Vec) bool {
	v := m.Tri[t]
	a, b, c := m.Pos[v[0]], m.Pos[v[1]], m.Pos[v[2]]
	if max(a.X, b.X, c.X) < p.X {
		return false
	}
	in := false
	for k := range 3 {
		lo, hi := v[k], v[(k+1)%3]
		if lo > hi {
			lo, hi = hi, lo
		}
		e, f := m.Pos[lo], m.Pos[hi]
		if e.Y > p.Y == (f.Y > p.Y) {
			continue
		}
		if z := e.Z + (p.Y-e.Y)/(f.Y-e.Y)*(f.Z-e.Z); z > p.Z {
			in = !in
		}
	}
	if !in {
		return false
	}
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	return n.X != 0 && r3.Dot(n, r3.Sub(a, p))/n.X > 0
}
