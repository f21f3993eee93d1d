package reach

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// slack is how much more than the depth of a chord a sphere may enter a facet.
const slack = 1.1

// smooth is what the part's own surface is between its facets: where a facet's
// normal stands in for a curved surface's, a sphere must be measured against the
// surface, or the next facet of a bore would already be in its way.
type smooth struct {
	p *patch.Patches
	// normal of the surface at the corners of hollow free-form facets.
	normal map[int32][3]r3.Vec
	// hollow marks facets with a smooth valley at one of their sides.
	hollow []bool
	// sag is how far the true surface may lie from the facets near each triangle,
	// mm: chords of an arc.
	sag []float32
	// region numbers the pieces of the surface between sharp edges.
	region []int32
}

func newSmooth(p *patch.Patches) *smooth {
	m, tp := p.Mesh, p.Topology
	n := len(m.Tri)
	s := &smooth{p: p, normal: map[int32][3]r3.Vec{}, hollow: make([]bool, n), sag: make([]float32, n), region: make([]int32, n)}
	set := mesh.NewSets(n)
	near := make([]float32, len(m.Pos))
	for t := range m.Tri {
		for k, u := range tp.Across[t] {
			if u == mesh.NoTri || p.Sharp[t][k] {
				continue
			}
			set.Join(int32(t), u)
			turn := float64(p.Turn[t][k])
			if turn > -1e-6 {
				continue
			}
			s.hollow[t] = true
			a, b := m.Tri[t][k], m.Tri[t][(k+1)%3]
			// Facets of width w that turn by φ are chords of an arc that lies w φ/8
			// behind them.
			side := r3.Norm(r3.Sub(m.Pos[b], m.Pos[a]))
			if side == 0 {
				continue
			}
			w := 2 * min(p.Area[t], p.Area[u]) / side
			h := float32(-turn * w / 8)
			near[a], near[b] = max(near[a], h), max(near[b], h)
		}
	}
	for t, v := range m.Tri {
		s.sag[t] = max(near[v[0]], near[v[1]], near[v[2]])
		s.region[t] = set.Find(int32(t))
	}
	for t := range m.Tri {
		if s.hollow[t] && p.Faces[p.Face[t]].Kind == geom.Free {
			s.normal[int32(t)] = s.corners(int32(t))
		}
	}
	return s
}

// corners are the normals of a free-form face at a triangle's corners: the means
// over the facets of the same face there, by the angle that each has there.
func (s *smooth) corners(t int32) (out [3]r3.Vec) {
	m, tp := s.p.Mesh, s.p.Topology
	for k, v := range m.Tri[t] {
		var sum r3.Vec
		for _, u := range tp.Around[tp.Start[v]:tp.Start[v+1]] {
			if s.p.Face[u] != s.p.Face[t] {
				continue
			}
			w := m.Tri[u]
			j := 0
			for w[j] != v {
				j++
			}
			a, b := r3.Sub(m.Pos[w[(j+1)%3]], m.Pos[v]), r3.Sub(m.Pos[w[(j+2)%3]], m.Pos[v])
			angle := math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b))
			sum = r3.Add(sum, r3.Scale(angle, s.p.Normal[u]))
		}
		if l := r3.Norm(sum); l > 0 {
			out[k] = r3.Scale(1/l, sum)
		} else {
			out[k] = s.p.Normal[t]
		}
	}
	return out
}

// at is the surface's normal at a point of triangle t. Where the surface bulges
// or is flat it is the facet's: all neighbours lie below it.
func (s *smooth) at(t int32, q r3.Vec) r3.Vec {
	facet := s.p.Normal[t]
	if !s.hollow[t] {
		return facet
	}
	f := &s.p.Faces[s.p.Face[t]]
	n := f.Normal(q)
	if f.Kind == geom.Free {
		c := s.normal[t]
		w := shares(s.p.Mesh, t, q)
		n = r3.Add(r3.Scale(w[0], c[0]), r3.Add(r3.Scale(w[1], c[1]), r3.Scale(w[2], c[2])))
	}
	l := r3.Norm(n)
	if !(l > 0.5) || r3.Dot(n, facet) < 0.7*l {
		return facet
	}
	return r3.Scale(1/l, n)
}

// shares are a point's barycentric coordinates in triangle t.
func shares(m *mesh.Mesh, t int32, q r3.Vec) [3]float64 {
	a, b, c := m.Corners(int(t))
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	d := r3.Norm2(n)
	if d == 0 {
		return [3]float64{1.0 / 3, 1.0 / 3, 1.0 / 3}
	}
	u := r3.Dot(r3.Cross(r3.Sub(c, b), r3.Sub(q, b)), n) / d
	v := r3.Dot(r3.Cross(r3.Sub(a, c), r3.Sub(q, c)), n) / d
	return [3]float64{u, v, 1 - u - v}
}

// touching is the radius of the largest sphere, up to a limit, that touches the
// surface at q of triangle t from outside and holds no material, and the triangle
// that is in the way of a larger one, −1 for none.
//
// It starts with the limit and shrinks to the sphere through q and the nearest
// point of the surface to its middle, until nothing is in it (Ma, Bae and Choi,
// "3D medial axis point approximation using nearest neighbors and the normal
// field", The Visual Computer 28, 2012). A sphere may enter the facets as deep as
// they lie before the surface that they stand for.
func (r *reacher) touching(t int32, q r3.Vec, limit float64) (float64, int32) {
	s, tree := r.smooth, r.in.Detail.Tree
	n := s.at(t, q)
	tilt := 2 * (1 - r3.Dot(n, s.p.Normal[t])) // the facet's own plane, seen from n
	own := slack*float64(s.sag[t]) + 1e-6*r.diag
	radius, by := limit, int32(-1)
	for range 60 {
		tol := own + tilt*radius
		reach := radius - tol
		if reach <= 0 {
			return radius, by
		}
		c := r3.Add(q, r3.Scale(radius, n))
		u, at, d2 := tree.NearestWithin(c, reach*reach)
		if u < 0 {
			return radius, by
		}
		tol = max(tol, slack*float64(s.sag[u])+tilt*radius)
		if d := math.Sqrt(d2); d >= radius-tol {
			return radius, by
		}
		w := r3.Sub(at, q)
		h := r3.Dot(w, n) - tol
		next := (r3.Norm2(w) - tol*tol) / (2 * h)
		if !(h > 0) || !(next > 0) {
			next = 0
		}
		by = int32(u)
		if next >= radius*(1-1e-4) {
			return min(next, radius), by
		}
		radius = next
		if radius < 1e-5*r.diag {
			return 0, by
		}
	}
	return radius, by
}
