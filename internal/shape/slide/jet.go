package slide

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// A free-form surface is known at its vertices, which lie on it; the facets between
// them are chords and their normals noise. The normal at a vertex is that of the
// cubic z(x, y) through it which fits its neighbours best (F. Cazals and M. Pouget,
// "Estimating differential quantities using polynomial fitting of osculating
// jets", Computer Aided Geometric Design 22, 2005: a jet of degree d gives normals
// to the order h^d). Neighbours across a sharp edge or on another face are none.

const (
	fewNeighbours  = 14 // enough for the nine unknowns of a cubic
	mostNeighbours = 40
)

// jets works out normals at the corners of free-form facets.
type jets struct {
	p *patch.Patches
	// tris and verts are the facets and the vertices round a vertex.
	tris  []int32
	verts []uint32
	pts   []r3.Vec
}

// normal is the surface's normal at corner k of facet t, and its likely error in
// radians.
func (j *jets) normal(t int32, k int) (n r3.Vec, err float64) {
	p := j.p
	m := p.Mesh
	v := m.Tri[t][k]
	at := m.Pos[v]
	j.fan(t, v)
	// Weights that are exact on a sphere (Max 1999).
	worst := 1.0
	for _, u := range j.tris {
		c := 0
		for m.Tri[u][c] != v {
			c++
		}
		a, b := sub(m.Pos[m.Tri[u][(c+1)%3]], at), sub(m.Pos[m.Tri[u][(c+2)%3]], at)
		if w := norm2(a) * norm2(b); w > 0 {
			n = add(n, scale(1/w, r3.Cross(a, b)))
		}
	}
	n, l := normed(n)
	if l == 0 {
		return p.Normal[t], 0.1
	}
	for _, u := range j.tris {
		worst = min(worst, r3.Dot(n, p.Normal[u]))
	}
	rough := math.Acos(max(-1, worst))
	j.spread(v)
	if fit, e, ok := fitJet(j.pts, n, p.Rounding); ok {
		off := math.Sqrt(norm2(sub(fit, n)))
		if off <= max(0.2, 2*rough) {
			return fit, min(e, off+2*p.Rounding/math.Sqrt(p.Area[t]+1e-300))
		}
	}
	return n, rough / 4
}

// fan gathers the facets of t's face round a vertex that t runs smoothly into.
func (j *jets) fan(t int32, v uint32) {
	j.tris = append(j.tris[:0], t)
	for i := 0; i < len(j.tris); i++ {
		u := j.tris[i]
		for k := range 3 {
			if j.p.Mesh.Tri[u][k] == v || j.p.Mesh.Tri[u][(k+1)%3] == v {
				j.cross(u, k)
			}
		}
	}
}

// cross adds the facet beyond an edge, if it is of the same smooth face.
func (j *jets) cross(u int32, k int) {
	o := j.p.Topology.Across[u][k]
	if o == mesh.NoTri || j.p.Face[o] != j.p.Face[u] || j.p.Sharp[u][k] {
		return
	}
	for _, x := range j.tris {
		if x == o {
			return
		}
	}
	j.tris = append(j.tris, o)
}

// spread goes on from the fan, ring by ring, until there are enough neighbours,
// and lists them from the vertex.
func (j *jets) spread(v uint32) {
	m := j.p.Mesh
	j.verts, j.pts = j.verts[:0], j.pts[:0]
	done, from := 0, 0
	for {
		for _, u := range j.tris[from:] {
			for _, w := range m.Tri[u] {
				j.note(w, v)
			}
		}
		from = len(j.tris)
		if len(j.verts) >= fewNeighbours || len(j.tris) >= 2*mostNeighbours {
			return
		}
		for ; done < from; done++ {
			for k := range 3 {
				j.cross(j.tris[done], k)
			}
		}
		if len(j.tris) == from {
			return
		}
	}
}

func (j *jets) note(w, v uint32) {
	if w == v || len(j.verts) >= mostNeighbours {
		return
	}
	for _, x := range j.verts {
		if x == w {
			return
		}
	}
	j.verts = append(j.verts, w)
	j.pts = append(j.pts, sub(j.p.Mesh.Pos[w], j.p.Mesh.Pos[v]))
}

// fitJet fits z = ax + by + … to the third degree to points round the origin, and
// gives the normal there and its standard error, from what the fit leaves.
func fitJet(pts []r3.Vec, n r3.Vec, rounding float64) (normal r3.Vec, err float64, ok bool) {
	if len(pts) < 5 {
		return n, 0, false
	}
	// In the directions of their spread, each in its own unit: facets may be long
	// and thin.
	u := geom.Perpendicular(n)
	w := r3.Cross(n, u)
	var xx, xy, yy float64
	for _, p := range pts {
		x, y := r3.Dot(p, u), r3.Dot(p, w)
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
	}
	sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	u, w = add(scale(cos, u), scale(sin, w)), sub(scale(cos, w), scale(sin, u))
	k := float64(len(pts))
	sx := math.Sqrt(max(0, cos*cos*xx+2*sin*cos*xy+sin*sin*yy) / k)
	sy := math.Sqrt(max(0, sin*sin*xx-2*sin*cos*xy+cos*cos*yy) / k)
	if sy <= 1e-6*sx || sx == 0 {
		return n, 0, false
	}
	unknowns := 9
	if len(pts) < 11 {
		unknowns = 5
	}
	var e equations
	e.n = unknowns
	var sum float64
	for _, p := range pts {
		row := monomials(r3.Dot(p, u)/sx, r3.Dot(p, w)/sy)
		z := r3.Dot(p, n)
		e.add(&row, z)
		sum += z * z
	}
	// Where the places cannot tell a bend from a slope (two rows of vertices), it
	// is a slope.
	for i := range unknowns {
		e.a[i][i] += k * [9]float64{1e-13, 1e-13, 1e-10, 1e-10, 1e-10, 1e-8, 1e-8, 1e-8, 1e-8}[i]
	}
	x, v0, v1, good := e.solve()
	if !good {
		return n, 0, false
	}
	left := sum
	for i := range unknowns {
		left -= x[i] * e.b[i]
	}
	left = max(0, left) / max(1, k-float64(unknowns))
	left = max(left, rounding*rounding)
	a, b := x[0]/sx, x[1]/sy
	normal, _ = normed(sub(n, add(scale(a, u), scale(b, w))))
	return normal, math.Sqrt(left * (v0/(sx*sx) + v1/(sy*sy))), true
}

func monomials(x, y float64) [9]float64 {
	return [9]float64{x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y}
}

// equations are normal equations in up to nine unknowns.
type equations struct {
	n int
	a [9][9]float64
	b [9]float64
}

func (e *equations) add(row *[9]float64, r float64) {
	for i := range e.n {
		for j := range i + 1 {
			e.a[i][j] += row[i] * row[j]
		}
		e.b[i] += row[i] * r
	}
}

// solve gives the unknowns and the first two entries of the diagonal of the
// inverse, by Cholesky.
func (e *equations) solve() (x [9]float64, v0, v1 float64, ok bool) {
	var l [9][9]float64
	for i := range e.n {
		for j := range i + 1 {
			s := e.a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if !(s > 0) {
				return x, 0, 0, false
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	forward := func(b [9]float64) [9]float64 {
		for i := range e.n {
			for k := range i {
				b[i] -= l[i][k] * b[k]
			}
			b[i] /= l[i][i]
		}
		return b
	}
	x = forward(e.b)
	for i := e.n - 1; i >= 0; i-- {
		for k := i + 1; k < e.n; k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	// (L⁻¹ e_i)² is the entry of the inverse.
	for i, v := range [2]*float64{&v0, &v1} {
		var b [9]float64
		b[i] = 1
		b = forward(b)
		for _, q := range b {
			*v += q * q
		}
	}
	return x, v0, v1, true
}
