package mesh

import (
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
	box   geom.Box
	first int32 // triangle
	open  bool
}

// cavities counts closed shells that face inwards and lie inside an outward
// one. A shell that faces inwards but lies in the open is an inside-out body,
// not a cavity.
func cavities(m *Mesh, tp *Topology, label []int32, n int) int {
	origin := m.Box().Centre()
	shells := make([]shell, n)
	for i := range shells {
		shells[i] = shell{box: geom.EmptyBox(), first: -1}
	}
	for t, l := range label {
		s := &shells[l]
		a, b, c := m.Corners(t)
		s.box = s.box.Add(a).Add(b).Add(c)
		a, b, c = r3.Sub(a, origin), r3.Sub(b, origin), r3.Sub(c, origin)
		s.vol += r3.Dot(a, r3.Cross(b, c)) / 6
		if s.first < 0 {
			s.first = int32(t)
		}
		for _, u := range tp.Across[t] {
			s.open = s.open || u == NoTri
		}
	}
	byShell := triangles(label, n)
	count := 0
	for i := range shells {
		s := &shells[i]
		if s.open || s.vol >= 0 {
			continue
		}
		a, b, c := m.Corners(int(s.first))
		// A point of the shell off its vertices and middles, where made-up parts
		// like to be aligned.
		p := r3.Add(r3.Scale(0.4142, a), r3.Add(r3.Scale(0.3183, b), r3.Scale(0.2675, c)))
		for j := range shells {
			o := &shells[j]
			if !o.open && o.vol > -s.vol && holds(o.box, s.box) && inside(m, byShell(j), p) {
				count++
				break
			}
		}
	}
	return count
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

func holds(outer, inner geom.Box) bool {
	return outer.Min.X <= inner.Min.X && outer.Min.Y <= inner.Min.Y && outer.Min.Z <= inner.Min.Z &&
		outer.Max.X >= inner.Max.X && outer.Max.Y >= inner.Max.Y && outer.Max.Z >= inner.Max.Z
}

// inside reports whether p is inside a closed shell: a ray along x crosses it
// an odd number of times. Crossings are decided edge by edge in the y-z plane
// with the corners of an edge always in the same order, so that two triangles
// never both take or both miss a ray at the edge they share.
func inside(m *Mesh, tris []int32, p r3.Vec) bool {
	odd := false
	for _, t := range tris {
		v := m.Tri[t]
		a, b, c := m.Pos[v[0]], m.Pos[v[1]], m.Pos[v[2]]
		if max(a.X, b.X, c.X) < p.X {
			continue
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
			continue
		}
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if n.X != 0 && r3.Dot(n, r3.Sub(a, p))/n.X > 0 {
			odd = !odd
		}
	}
	return odd
}
