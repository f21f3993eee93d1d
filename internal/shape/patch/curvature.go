package patch

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Bend is the curvature of the surface at a place, in 1/mm: positive where it
// bulges away from the material, negative where it is hollow.
type Bend struct {
	Max, Min float32 // the principal curvatures, Max ≥ Min
	// MaxDir is the unit direction of Max; Min is at right angles to it in the
	// surface.
	MaxDir [3]float32
	// Noise is the estimated error of both.
	Noise float32
}

// Curvature is the curvature of a part.
type Curvature struct {
	// Vertex has one value per vertex. On a sharp edge, where several smooth
	// pieces meet, it is that of the piece with the largest share of the vertex.
	Vertex []Bend
	// Facet has the principal curvatures of each triangle, Max first: those of
	// the elementary surface that it lies on, or estimated.
	Facet [][2]float32
}

// Curvature estimates the curvature of the part's surface. Where a vertex lies
// on a plane, cylinder, cone, sphere or torus that was fitted, the normal there is the
// surface's own; elsewhere it is the mean of the facet normals with weights
// that are exact on a sphere (Max, "Weights for Computing Vertex Normals from
// Facet Normals", Journal of Graphics Tools 4(2), 1999), over the facets on the
// same side of sharp edges. From the normals each facet gives a curvature
// tensor by least squares, and a vertex the mean of its facets' tensors
// (Rusinkiewicz, "Estimating Curvatures and Their Derivatives on Triangle
// Meshes", 3DPVT 2004), never across the border of a face. Noise is the
// standard error of that mean, from how far the tensors disagree.
func (p *Patches) Curvature() *Curvature {
	e := &bender{p: p, normal: make([][3][3]float32, len(p.Mesh.Tri)), tensor: make([][3]float32, len(p.Mesh.Tri))}
	c := &Curvature{Vertex: make([]Bend, len(p.Mesh.Pos)), Facet: make([][2]float32, len(p.Mesh.Tri))}
	spread(len(p.Mesh.Pos), func(lo, hi int) {
		var f fan
		for v := lo; v < hi; v++ {
			e.normals(&f, uint32(v))
		}
	})
	spread(len(p.Mesh.Tri), func(lo, hi int) {
		for t := lo; t < hi; t++ {
			e.facet(t)
		}
	})
	spread(len(p.Mesh.Pos), func(lo, hi int) {
		var f fan
		for v := lo; v < hi; v++ {
			c.Vertex[v] = e.vertex(&f, uint32(v))
		}
	})
	spread(len(p.Mesh.Tri), func(lo, hi int) {
		for t := lo; t < hi; t++ {
			c.Facet[t] = e.principal(t)
		}
	})
	return c
}

// bender works out curvatures.
type bender struct {
	p *Patches
	// normal of the surface at the three corners of each triangle.
	normal [][3][3]float32
	// tensor of each triangle, e f g of the second fundamental form in the frame
	// of its first side.
	tensor [][3]float32
}

// fan groups the triangles round a vertex by what lies between them.
type fan struct {
	tris   []int32
	corner []int
	smooth []int // group over edges that are not sharp
	face   []int // group over such edges within one face
}

// gather fills the fan of a vertex.
func (e *bender) gather(f *fan, v uint32) {
	tp := e.p.Topology
	f.tris, f.corner, f.smooth, f.face = f.tris[:0], f.corner[:0], f.smooth[:0], f.face[:0]
	for _, t := range tp.Around[tp.Start[v]:tp.Start[v+1]] {
		k := 0
		for e.p.Mesh.Tri[t][k] != v {
			k++
		}
		f.tris = append(f.tris, t)
		f.corner = append(f.corner, k)
		f.smooth = append(f.smooth, len(f.smooth))
		f.face = append(f.face, len(f.face))
	}
	for i, t := range f.tris {
		// The edge from this corner to the next, and the one that comes back.
		for _, k := range [2]int{f.corner[i], (f.corner[i] + 2) % 3} {
			u := tp.Across[t][k]
			if u == mesh.NoTri || e.p.Sharp[t][k] {
				continue
			}
			for j, w := range f.tris {
				if w == u {
					join(f.smooth, i, j)
					if e.p.Face[u] == e.p.Face[t] {
						join(f.face, i, j)
					}
				}
			}
		}
	}
}

// join gives two entries the same group, the smaller number.
func join(group []int, i, j int) {
	a, b := min(group[i], group[j]), max(group[i], group[j])
	if a == b {
		return
	}
	for k := range group {
		if group[k] == b {
			group[k] = a
		}
	}
}

// normals sets the normal at a vertex for each triangle round it.
func (e *bender) normals(f *fan, v uint32) {
	e.gather(f, v)
	m := e.p.Mesh
	at := m.Pos[v]
	for i := range f.tris {
		if f.smooth[i] != i {
			continue
		}
		var own, mean r3.Vec
		for j, t := range f.tris {
			if f.smooth[j] != i {
				continue
			}
			face := &e.p.Faces[e.p.Face[t]]
			if face.Kind != geom.Free && !e.p.atTip(&face.Surface, at) {
				own = r3.Add(own, face.Normal(at))
			}
			k := f.corner[j]
			a, b := r3.Sub(m.Pos[m.Tri[t][(k+1)%3]], at), r3.Sub(m.Pos[m.Tri[t][(k+2)%3]], at)
			if w := norm2(a) * norm2(b); w > 0 {
				mean = r3.Add(mean, r3.Scale(1/w, r3.Cross(a, b)))
			}
		}
		n := own
		if norm2(own) < 1e-6 {
			n = mean
		}
		if l := norm(n); l > 0 {
			n = r3.Scale(1/l, n)
		}
		for j, t := range f.tris {
			if f.smooth[j] == i {
				e.normal[t][f.corner[j]] = single(n)
			}
		}
	}
}

func single(v r3.Vec) [3]float32 { return [3]float32{float32(v.X), float32(v.Y), float32(v.Z)} }
func double(v [3]float32) r3.Vec {
	return r3.Vec{X: float64(v[0]), Y: float64(v[1]), Z: float64(v[2])}
}

// frame is a triangle's: u along its first side, w across it.
func (e *bender) frame(t int) (u, w r3.Vec, ok bool) {
	a, b, _ := e.p.Mesh.Corners(t)
	n := e.p.Normal[t]
	u = r3.Sub(b, a)
	l := norm(u)
	if l == 0 || norm2(n) == 0 {
		return u, w, false
	}
	u = r3.Scale(1/l, u)
	return u, r3.Cross(n, u), true
}

// facet finds a triangle's tensor from how the normal changes along its sides.
func (e *bender) facet(t int) {
	u, w, ok := e.frame(t)
	if !ok {
		return
	}
	m := e.p.Mesh
	// Normal equations of the six equations e·x + f·y = Δn·u, f·x + g·y = Δn·w.
	var xx, xy, yy, a, b, c float64
	for k := range 3 {
		side := r3.Sub(m.Pos[m.Tri[t][(k+1)%3]], m.Pos[m.Tri[t][k]])
		turn := r3.Sub(double(e.normal[t][(k+1)%3]), double(e.normal[t][k]))
		x, y := r3.Dot(side, u), r3.Dot(side, w)
		p, q := r3.Dot(turn, u), r3.Dot(turn, w)
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
		a, b, c = a+x*p, b+y*p+x*q, c+y*q
	}
	// | xx  xy     0  | |e|   |a|
	// | xy  xx+yy  xy | |f| = |b|
	// | 0   xy     yy | |g|   |c|
	if xx == 0 || yy == 0 {
		return
	}
	d := xx + yy - xy*xy/xx - xy*xy/yy
	if d <= 1e-12*(xx+yy) {
		return
	}
	ff := (b - xy*a/xx - xy*c/yy) / d
	e.tensor[t] = [3]float32{float32((a - xy*ff) / xx), float32(ff), float32((c - xy*ff) / yy)}
}

// vertex averages the tensors round a vertex over its largest smooth piece.
func (e *bender) vertex(f *fan, v uint32) Bend {
	e.gather(f, v)
	best, most := -1, 0.0
	for i := range f.tris {
		if f.face[i] != i {
			continue
		}
		sum := 0.0
		for j, t := range f.tris {
			if f.face[j] == i {
				sum += e.p.Area[t]
			}
		}
		if sum > most {
			best, most = i, sum
		}
	}
	if best < 0 {
		return Bend{}
	}
	n := double(e.normal[f.tris[best]][f.corner[best]])
	if norm2(n) < 0.5 {
		return Bend{}
	}
	x := geom.Perpendicular(r3.Unit(n))
	y := r3.Cross(n, x)
	var mean, square [3]float64
	weight, weight2 := 0.0, 0.0
	for j, t := range f.tris {
		if f.face[j] != best {
			continue
		}
		s, ok := e.turned(int(t), n, x, y)
		if !ok {
			continue
		}
		w := e.share(t, f.corner[j])
		weight += w
		weight2 += w * w
		for k := range 3 {
			mean[k] += w * s[k]
			square[k] += w * s[k] * s[k]
		}
	}
	if weight == 0 {
		return Bend{}
	}
	spread := 0.0
	for k, twice := range [3]float64{1, 2, 1} {
		mean[k] /= weight
		spread += twice * max(0, square[k]/weight-mean[k]*mean[k])
	}
	hi, lo, angle := principal(mean)
	sin, cos := math.Sincos(angle)
	dir := r3.Add(r3.Scale(cos, x), r3.Scale(sin, y))
	// The spread is that of one facet's two values; the mean of n facets is known
	// to a root of n better, n being counted by weight.
	noise := math.Sqrt(spread / 2 * weight2 / (weight * weight))
	return Bend{float32(hi), float32(lo), single(dir), float32(noise)}
}

// share is the part of a triangle's area that is nearest to a corner: Voronoi
// area, a half or a quarter where the triangle is obtuse (Meyer, Desbrun,
// Schröder and Barr, "Discrete Differential-Geometry Operators", 2003).
func (e *bender) share(t int32, k int) float64 {
	m, v := e.p.Mesh, e.p.Mesh.Tri[t]
	o, a, b := m.Pos[v[k]], m.Pos[v[(k+1)%3]], m.Pos[v[(k+2)%3]]
	p, q, r := r3.Sub(a, o), r3.Sub(b, o), r3.Sub(b, a)
	area := e.p.Area[t]
	switch {
	case r3.Dot(p, q) <= 0:
		return area / 2
	case r3.Dot(p, r) >= 0, r3.Dot(q, r) <= 0:
		return area / 4
	}
	cotA := -r3.Dot(p, r) / (2 * area)
	cotB := r3.Dot(q, r) / (2 * area)
	return (norm2(p)*cotB + norm2(q)*cotA) / 8
}

// turned is a triangle's tensor in the tangent plane of a vertex, after the
// triangle's plane is turned into it.
func (e *bender) turned(t int, n, x, y r3.Vec) (s [3]float64, ok bool) {
	u, w, ok := e.frame(t)
	if !ok {
		return s, false
	}
	// Turn the vertex's frame into the triangle's plane about their common line.
	fn := e.p.Normal[t]
	c := r3.Dot(n, fn)
	if c <= -0.9 {
		return s, false
	}
	tilt := func(d r3.Vec) r3.Vec {
		k := r3.Dot(d, fn) / (1 + c)
		return r3.Sub(d, r3.Scale(k, r3.Add(n, fn)))
	}
	x, y = tilt(x), tilt(y)
	a, b, g := float64(e.tensor[t][0]), float64(e.tensor[t][1]), float64(e.tensor[t][2])
	x1, x2, y1, y2 := r3.Dot(x, u), r3.Dot(x, w), r3.Dot(y, u), r3.Dot(y, w)
	s[0] = a*x1*x1 + 2*b*x1*x2 + g*x2*x2
	s[1] = a*x1*y1 + b*(x1*y2+x2*y1) + g*x2*y2
	s[2] = a*y1*y1 + 2*b*y1*y2 + g*y2*y2
	return s, true
}

// principal are the eigenvalues of a tensor and the direction of the larger.
func principal(s [3]float64) (hi, lo, angle float64) {
	mid, half := (s[0]+s[2])/2, (s[0]-s[2])/2
	r := math.Hypot(half, s[1])
	return mid + r, mid - r, math.Atan2(s[1], half) / 2
}

// principal are a triangle's curvatures.
func (e *bender) principal(t int) [2]float32 {
	f := &e.p.Faces[e.p.Face[t]]
	sign := 1.0
	if f.Hollow {
		sign = -1
	}
	pair := func(a, b float64) [2]float32 { return [2]float32{float32(max(a, b)), float32(min(a, b))} }
	switch f.Kind {
	case geom.Plane:
		return [2]float32{}
	case geom.Sphere:
		return pair(sign/f.Radius, sign/f.Radius)
	case geom.Cylinder:
		return pair(sign/f.Radius, 0)
	case geom.Cone:
		a, b, c := e.p.Mesh.Corners(t)
		q := r3.Sub(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), f.At)
		rho := norm(r3.Sub(q, r3.Scale(r3.Dot(q, f.Axis), f.Axis)))
		if rho == 0 {
			return [2]float32{}
		}
		return pair(sign*math.Cos(f.HalfAngle)/rho, 0)
	case geom.Torus:
		a, b, c := e.p.Mesh.Corners(t)
		q := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		q = r3.Sub(r3.Sub(q, r3.Scale(f.Distance(q), f.Surface.Normal(q))), f.At)
		// Round the axis a circle of radius rho bends, by Meusnier, as 1/rho times the
		// cosine between its plane and the normal.
		rho := norm(r3.Sub(q, r3.Scale(r3.Dot(q, f.Axis), f.Axis)))
		if rho == 0 {
			return pair(sign/f.Radius, sign/f.Radius)
		}
		return pair(sign/f.Radius, sign*(rho-f.Major)/(f.Radius*rho))
	}
	s := e.tensor[t]
	hi, lo, _ := principal([3]float64{float64(s[0]), float64(s[1]), float64(s[2])})
	return pair(hi, lo)
}
