package patch

import (
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// rest shares out what no curved surface took. A surface that turns at an edge
// much more than it does on both sides of it is creased there; what hangs
// together over other edges is one face, but for flats that stand out by their
// size, which are planes.
func (g *grower) rest() {
	n := g.f.len()
	bends := make([][2]steepest, n) // over ridges, over valleys
	for t := range g.owner {
		if g.owner[t] >= 0 {
			continue
		}
		f := g.f.of[t]
		for k, u := range g.p.Topology.Across[t] {
			if u == mesh.NoTri || g.owner[u] >= 0 || g.f.of[u] == f {
				continue
			}
			switch turn := g.p.Turn[t][k]; {
			case turn > 0 && turn <= steep:
				bends[f][0].note(g.f.of[u], turn)
			case turn < 0 && turn >= -steep:
				bends[f][1].note(g.f.of[u], -turn)
			}
		}
	}
	r := &remainder{g: g, bends: bends, seen: make([]bool, n)}
	r.findCreases()
	g.p.crease = r.crease
	g.p.usual = make([]float32, len(g.owner))
	for t := range g.owner {
		if g.owner[t] < 0 {
			b := &bends[g.f.of[t]]
			g.p.usual[t] = max(b[0].turn[1], b[1].turn[1])
		}
	}
	for f := range n {
		if !r.seen[f] && r.free(int32(f)) {
			r.share(int32(f))
		}
	}
	// Flats that were cut in two by a curved surface.
	for t := range g.owner {
		if g.owner[t] < 0 {
			s := geom.Surface{Kind: geom.Plane, At: g.middle(int32(t)), Axis: g.p.Normal[t]}
			g.take([]int32{int32(t)}, s)
		}
	}
}

// remainder is the walk over what is left.
type remainder struct {
	g     *grower
	bends [][2]steepest
	seen  []bool
	// crease marks edges between free flats that break the surface.
	crease [][3]bool
}

// free reports whether any triangle of a flat is without an owner.
func (r *remainder) free(f int32) bool {
	for _, t := range r.g.f.at(f) {
		if r.g.owner[t] < 0 {
			return true
		}
	}
	return false
}

// smooth calls f for the free flats that one runs into without a crease, for
// some more than once.
func (r *remainder) smooth(i int32, f func(o int32)) {
	g := r.g
	for _, t := range g.f.at(i) {
		if g.owner[t] >= 0 {
			continue
		}
		for k, u := range g.p.Topology.Across[t] {
			if u == mesh.NoTri || g.owner[u] >= 0 || g.f.of[u] == i {
				continue
			}
			if !r.crease[t][k] {
				f(g.f.of[u])
			}
		}
	}
}

// share gives away the smooth piece round a flat.
func (r *remainder) share(from int32) {
	g := r.g
	list := []int32{from}
	r.seen[from] = true
	sum := 0.0
	for i := 0; i < len(list); i++ {
		sum += g.f.area[list[i]]
		r.smooth(list[i], func(o int32) {
			if !r.seen[o] {
				r.seen[o] = true
				list = append(list, o)
			}
		})
	}
	if len(list) > 1 {
		if s, ok := g.whole(list); ok {
			g.take(r.tris(list), s)
			return
		}
	}
	var other []int32
	for _, f := range list {
		if len(list) > 3 && !r.standsOut(f, sum) {
			other = append(other, f)
			continue
		}
		r.plane(f)
	}
	slices.Sort(other)
	for _, f := range other {
		r.seen[f] = false
	}
	for _, f := range other {
		if !r.seen[f] {
			r.freeForm(f)
		}
	}
}

// standsOut reports whether a flat is a plane beside the small facets of a
// bending face.
func (r *remainder) standsOut(f int32, sum float64) bool {
	g := r.g
	var near []float64
	r.smooth(f, func(o int32) {
		if len(near) < 256 {
			near = append(near, g.f.area[o])
		}
	})
	if len(near) == 0 {
		return true
	}
	slices.Sort(near)
	return len(g.f.at(f)) > 1 && g.f.area[f] > 6*near[len(near)/2] || g.f.area[f] > 0.3*sum
}

func (r *remainder) plane(f int32) {
	tris := r.tris([]int32{f})
	s, ok := geom.FitPlane(r.g.sample(tris), r.g.f.normal[f])
	if !ok {
		s = geom.Surface{Kind: geom.Plane, At: r.g.middle(tris[0]), Axis: r.g.f.normal[f]}
	}
	r.g.take(tris, s)
}

// freeForm takes what still hangs together.
func (r *remainder) freeForm(from int32) {
	list := []int32{from}
	r.seen[from] = true
	for i := 0; i < len(list); i++ {
		r.smooth(list[i], func(o int32) {
			if !r.seen[o] {
				r.seen[o] = true
				list = append(list, o)
			}
		})
	}
	s, ok := r.g.whole(list)
	if !ok {
		s = geom.Surface{Kind: geom.Free}
	}
	r.g.take(r.tris(list), s)
}

func (r *remainder) tris(list []int32) []int32 {
	var tris []int32
	for _, f := range list {
		for _, t := range r.g.f.at(f) {
			if r.g.owner[t] < 0 {
				tris = append(tris, t)
			}
		}
	}
	return tris
}

// sample takes vertices of triangles, each once, not too many.
func (g *grower) sample(tris []int32) []r3.Vec {
	g.stamp++
	var pts []r3.Vec
	step := max(1, len(tris)/finalFit)
	for i := 0; i < len(tris); i += step {
		for _, v := range g.p.Mesh.Tri[tris[i]] {
			if g.mark[v] != g.stamp {
				g.mark[v] = g.stamp
				pts = append(pts, g.p.Mesh.Pos[v])
			}
		}
	}
	return pts
}

// whole fits one surface to flats that hang together.
func (g *grower) whole(list []int32) (geom.Surface, bool) {
	var tris, some []int32
	step := max(1, len(list)/finalFit)
	for i, f := range list {
		tris = append(tris, g.f.at(f)...)
		if i%step == 0 {
			some = append(some, f)
		}
	}
	pts := g.sample(tris)
	if s, ok := geom.FitPlane(pts, g.f.normal[list[0]]); ok && s.Max <= g.p.Tolerance {
		return s, true
	}
	if len(list) < few {
		return geom.Surface{}, false
	}
	norm := make([]r3.Vec, len(some))
	for i, f := range some {
		norm[i] = g.f.normal[f]
	}
	s, ok := g.roundOf(pts, norm, judge{
		within: g.p.Tolerance,
		fair:   func(s *geom.Surface) bool { _, ok := g.fair(s, some); return ok },
		chord:  func(s *geom.Surface) float64 { return g.chord(s, some) },
	})
	if ok || len(list) < sure {
		return s, ok
	}
	// A torus has so many unknowns that all of many flats must agree.
	at := make([]r3.Vec, len(some))
	for i, f := range some {
		at[i] = g.centre(f)
	}
	s, ok = geom.TryTorus(pts, at, norm, g.p.Tolerance/2)
	return s, ok && g.holds(&s, tris) && g.p.sameSide(&s, tris, steep)
}

// centre is the centre of a flat.
func (g *grower) centre(f int32) r3.Vec {
	var c r3.Vec
	sum := 0.0
	for _, t := range g.f.at(f) {
		c = r3.Add(c, r3.Scale(g.p.Area[t], g.p.middle(t)))
		sum += g.p.Area[t]
	}
	return r3.Scale(1/max(sum, 1e-300), c)
}

// judge says what a round surface must be like to be taken.
type judge struct {
	within float64                       // largest distance of a vertex
	fair   func(s *geom.Surface) bool    // do the facets stand as it does?
	chord  func(s *geom.Surface) float64 // largest distance of a facet's side
}

// roundOf fits cylinder, sphere or cone to points with some normals near them.
func (g *grower) roundOf(pts, norm []r3.Vec, j judge) (geom.Surface, bool) {
	if len(pts) < leastPoints {
		return geom.Surface{}, false
	}
	axis, even, reach := geom.AxisOf(norm)
	if even < 0.02 && reach > 1e-7 {
		if s, ok := geom.TryCylinder(pts, axis, j.within); ok && s.Max <= j.within && j.fair(&s) {
			return s, true
		}
	}
	cone, isCone := geom.TryCone(pts, norm, j.within)
	isCone = isCone && cone.Max <= j.within && cone.HalfAngle < bluntest && j.fair(&cone)
	ball, isBall := geom.TrySphere(pts, j.within)
	isBall = isBall && ball.Max <= j.within && even > 1e-3*reach && j.fair(&ball)
	switch {
	case isCone && (!isBall || j.chord(&cone) < 1.05*j.chord(&ball)):
		return cone, true
	case isBall:
		return ball, true
	}
	return geom.Surface{}, false
}

// sameSide reports whether triangles face the same way off a surface, none leaning
// by more than an angle from it; a hundredth of them by area may, as slivers do.
func (p *Patches) sameSide(s *geom.Surface, tris []int32, lean float64) bool {
	least := math.Cos(lean)
	var area [3]float64 // out, in, neither
	for _, t := range tris {
		side := 2
		switch d := r3.Dot(s.Normal(p.middle(t)), p.Normal[t]); {
		case d > least:
			side = 0
		case d < -least:
			side = 1
		}
		area[side] += p.Area[t]
	}
	return max(area[0], area[1]) >= 0.99*(area[0]+area[1]+area[2])
}
