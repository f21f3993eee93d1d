package block

import (
	"math"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// ground is what a block lies on: some facets of a part as a mesh of their own.
type ground struct {
	mesh   *mesh.Mesh
	tp     *mesh.Topology
	tree   *bvh.Tree
	normal []r3.Vec
	area   []float64
	total  float64
	of     []int32 // the part's facet of each
	rimAt  []bool  // vertices on the border
}

func newGround(m *mesh.Mesh, tris []int32) *ground {
	sub := m.Portion(tris)
	g := groundOf(sub, mesh.NewTopology(sub), bvh.Build(sub))
	g.of = tris
	return g
}

// groundOf is a whole mesh as ground.
func groundOf(m *mesh.Mesh, tp *mesh.Topology, tree *bvh.Tree) *ground {
	g := &ground{mesh: m, tp: tp, tree: tree, rimAt: make([]bool, len(m.Pos))}
	g.normal, g.area = make([]r3.Vec, len(m.Tri)), make([]float64, len(m.Tri))
	for t, tri := range m.Tri {
		g.normal[t], g.area[t] = m.Normal(t)
		g.total += g.area[t]
		for k := range 3 {
			if tp.Across[t][k] == mesh.NoTri {
				g.rimAt[tri[k]], g.rimAt[tri[(k+1)%3]] = true, true
			}
		}
	}
	return g
}

// foot is the point of the ground nearest to some place.
type foot struct {
	slot int32 // in the tree, for the next place beside
	tri  int
	at   r3.Vec
	dist float64 // below 0 within the material
	over bool    // not on the ground's border
}

// foot finds the nearest point; slot is that of a place beside, or bvh.None.
func (g *ground) foot(p r3.Vec, slot int32) foot {
	next, q, d2 := g.tree.NearestBeside(p, slot, math.Inf(1))
	t, _, _ := g.tree.Slot(next, p)
	return g.stands(foot{slot: next, tri: t, at: q, dist: math.Sqrt(d2)}, p)
}

// footWithin is foot for what is nearer than a limit.
func (g *ground) footWithin(p r3.Vec, limit float64) (foot, bool) {
	t, q, d2 := g.tree.NearestWithin(p, limit*limit)
	if t == bvh.None {
		return foot{}, false
	}
	return g.stands(foot{slot: bvh.None, tri: t, at: q, dist: math.Sqrt(d2)}, p), true
}

// stands says on which side of the surface p is that a foot belongs to, and whether
// the foot is on the border. On an edge or a corner one facet alone does not know the
// side; the mean normal there does, of facets by their angle (J. A. Bærentzen and
// H. Aanæs, "Signed distance computation using the angle weighted pseudonormal",
// IEEE Transactions on Visualization and Computer Graphics 11 (2005) 243).
func (g *ground) stands(f foot, p r3.Vec) foot {
	const eps = 1e-7
	tri := g.mesh.Tri[f.tri]
	n := g.normal[f.tri]
	var on [3]bool
	f.over = true
	for k := range 3 {
		a, b := g.mesh.Pos[tri[k]], g.mesh.Pos[tri[(k+1)%3]]
		e := r3.Sub(b, a)
		if r3.Norm2(r3.Cross(r3.Sub(f.at, a), e)) > eps*eps*r3.Norm2(e) {
			continue
		}
		on[k] = true
		if o := g.tp.Across[f.tri][k]; o == mesh.NoTri {
			f.over = false
		} else {
			n = r3.Add(g.normal[f.tri], g.normal[o])
		}
	}
	for k := range 3 {
		if on[k] && on[(k+2)%3] {
			v := tri[k]
			n = g.corner(v)
			f.over = f.over && !g.rimAt[v]
		}
	}
	if r3.Dot(r3.Sub(p, f.at), n) < 0 {
		f.dist = -f.dist
	}
	return f
}

// corner is the mean normal at a vertex.
func (g *ground) corner(v uint32) (n r3.Vec) {
	for _, t := range g.tp.Around[g.tp.Start[v]:g.tp.Start[v+1]] {
		tri := g.mesh.Tri[t]
		for k := range 3 {
			if tri[k] != v {
				continue
			}
			p := g.mesh.Pos[v]
			a, b := r3.Sub(g.mesh.Pos[tri[(k+1)%3]], p), r3.Sub(g.mesh.Pos[tri[(k+2)%3]], p)
			if l := r3.Norm(a) * r3.Norm(b); l > 0 {
				n = r3.Add(n, r3.Scale(math.Acos(max(-1, min(1, r3.Dot(a, b)/l))), g.normal[t]))
			}
		}
	}
	return n
}

// ray is an upright line of a block somewhere on its stroke: the place at the height
// z is at + z·up.
type ray struct{ at, up r3.Vec }

// meet is where the line, coming from the height from, first comes within the
// distance t of the ground, up to the height to: by steps as long as the distance
// left (J. C. Hart, "Sphere tracing", The Visual Computer 12 (1996) 527), and by
// Newton's once it is near. lean is the cosine between line and normal there; ok is
// false where it meets the ground's border, or grazes it, or meets nothing.
func (g *ground) meet(r ray, t, from, to float64, slot int32) (z, lean float64, ok bool) {
	z = from
	f := foot{slot: slot}
	for range 80 {
		p := r3.Add(r.at, r3.Scale(z, r.up))
		f = g.foot(p, f.slot)
		d := math.Abs(f.dist)
		e := d - t
		lean = 0
		if d > 0 {
			lean = r3.Dot(r.up, r3.Sub(f.at, p)) / d
		}
		if math.Abs(e) < 1e-7 {
			return z, lean, f.over && lean > 0.3
		}
		step := e
		if e < 0.3*max(t, 0.1) && lean > 0.2 {
			step = e / lean
		}
		z += step
		if z > to {
			return z, lean, false
		}
	}
	return z, lean, false
}

// within is the smallest box in plan round facets seen in a pose.
func (g *ground) within(p Pose, tris []int32) (lo, hi r3.Vec) {
	lo = r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	hi = r3.Scale(-1, lo)
	for _, t := range tris {
		for _, v := range g.mesh.Tri[t] {
			q := p.Back(g.mesh.Pos[v])
			lo = r3.Vec{X: min(lo.X, q.X), Y: min(lo.Y, q.Y), Z: min(lo.Z, q.Z)}
			hi = r3.Vec{X: max(hi.X, q.X), Y: max(hi.Y, q.Y), Z: max(hi.Z, q.Z)}
		}
	}
	return lo, hi
}

// mean is the mean normal of facets by area, of unit length.
func (g *ground) mean(tris []int32) r3.Vec {
	var n r3.Vec
	for _, t := range tris {
		n = r3.Add(n, r3.Scale(g.area[t], g.normal[t]))
	}
	if r3.Norm(n) == 0 {
		return r3.Vec{Z: 1}
	}
	return r3.Unit(n)
}

// cone are those of the facets whose normals are within an angle of n.
func (g *ground) cone(tris []int32, n r3.Vec, angle float64) (in []int32, area float64) {
	c := math.Cos(angle)
	for _, t := range tris {
		if r3.Dot(g.normal[t], n) >= c {
			in = append(in, t)
			area += g.area[t]
		}
	}
	return in, area
}

// largest is the largest piece of facets that hang together.
func (g *ground) largest(tris []int32) []int32 {
	in := make([]bool, len(g.of))
	for _, t := range tris {
		in[t] = true
	}
	sets := mesh.NewSets(len(g.of))
	for _, t := range tris {
		for _, o := range g.tp.Across[t] {
			if o != mesh.NoTri && in[o] {
				sets.Join(t, o)
			}
		}
	}
	sum := make([]float64, len(g.of))
	best := int32(-1)
	for _, t := range tris {
		s := sets.Find(t)
		sum[s] += g.area[t]
		if best < 0 || sum[s] > sum[best] {
			best = s
		}
	}
	var out []int32
	for _, t := range tris {
		if sets.Find(t) == best {
			out = append(out, t)
		}
	}
	return out
}

func (g *ground) middle(t int32) r3.Vec {
	a, b, c := g.mesh.Corners(int(t))
	return r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
}

// plan is a point without its height.
func plan(p r3.Vec) r2.Vec { return r2.Vec{X: p.X, Y: p.Y} }

// deepest is the point of the ground that is farthest from its border, and how far.
func (g *ground) deepest() (at r3.Vec, far float64) {
	var ends [][2]r3.Vec
	for t, tri := range g.mesh.Tri {
		for k := range 3 {
			if g.tp.Across[t][k] == mesh.NoTri {
				ends = append(ends, [2]r3.Vec{g.mesh.Pos[tri[k]], g.mesh.Pos[tri[(k+1)%3]]})
			}
		}
	}
	const most = 600
	pts := scatter(g.mesh, nil, math.Sqrt(g.total/most))
	stride := len(pts)/most + 1
	far = -1
	for i := 0; i < len(pts); i += stride {
		d := math.Inf(1)
		for _, e := range ends {
			v := r3.Sub(e[1], e[0])
			u := r3.Sub(pts[i], e[0])
			if l := r3.Norm2(v); l > 0 {
				u = r3.Sub(u, r3.Scale(max(0, min(1, r3.Dot(u, v)/l)), v))
			}
			if d = min(d, r3.Norm2(u)); d <= far*far && far > 0 {
				break
			}
		}
		if d = math.Sqrt(d); d > far {
			at, far = pts[i], d
		}
	}
	return at, far
}
