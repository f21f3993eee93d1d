package patch

import (
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// seedSet holds what a start is made from, so that nothing is allocated for
// each.
type seedSet struct {
	near  []neighbour
	flats []int32
	pts   []r3.Vec
	norm  []r3.Vec
}

// neighbour is a flat beside another and the length that they share.
type neighbour struct {
	flat   int32
	length float64
}

const (
	leastPoints = 8                  // for a start: three more than a cylinder needs
	mostFlats   = 16                 // of a start
	perFlat     = 12                 // points of one flat in a start
	bluntest    = 86 * math.Pi / 180 // half angle of a cone that is no plane
)

// start finds the curved surface that a flat and its neighbours lie on, and the
// largest angle between these flats and the surface at their corners.
func (g *grower) start(i int32) (geom.Surface, float64, bool) {
	near := g.neighbours(i)
	if len(near) == 0 {
		return geom.Surface{}, 0, false
	}
	set := append(g.seed.flats[:0], i)
	for _, n := range near {
		if len(set) < mostFlats {
			set = append(set, n.flat)
		}
	}
	g.seed.flats = set
	first := len(set)
	g.collect(set)
	// A fan of facets round a tip gives only one more point with each.
	for range 3 {
		if len(g.seed.pts) >= leastPoints {
			break
		}
		set = g.widen(set, len(set))
		g.collect(set)
	}
	if s, turn, ok := g.fit(set); ok {
		return s, turn, true
	}
	// A strip whose ends run on into other surfaces has its own kind only across
	// its long sides.
	if len(near) >= 2 && (len(near) > 2 || len(set) > first) {
		two := []int32{i, near[0].flat, near[1].flat}
		if g.collect(two); len(g.seed.pts) >= leastPoints {
			if s, turn, ok := g.fit(two); ok {
				return s, turn, true
			}
		}
	}
	return geom.Surface{}, 0, false
}

// neighbours lists the free flats beside one across edges that may be smooth,
// the longest shared length first, leaving out those of quite another size.
func (g *grower) neighbours(i int32) []neighbour {
	near := g.seed.near[:0]
	tris := g.f.at(i)
	for _, t := range tris {
		for k, u := range g.p.Topology.Across[t] {
			if u == mesh.NoTri || g.f.of[u] == i || g.owner[u] >= 0 || math.Abs(float64(g.p.Turn[t][k])) > steep {
				continue
			}
			v := g.p.Mesh.Tri[t]
			l := norm(r3.Sub(g.p.Mesh.Pos[v[k]], g.p.Mesh.Pos[v[(k+1)%3]]))
			o := g.f.of[u]
			if a, b := g.f.area[i], g.f.area[o]; a > 30*b || b > 30*a {
				continue
			}
			at := slices.IndexFunc(near, func(n neighbour) bool { return n.flat == o })
			switch {
			case at >= 0:
				near[at].length += l
			case len(near) < 3*mostFlats:
				near = append(near, neighbour{o, l})
			}
		}
	}
	slices.SortFunc(near, func(a, b neighbour) int {
		switch {
		case a.length > b.length*(1+1e-9):
			return -1
		case b.length > a.length*(1+1e-9):
			return 1
		}
		return int(a.flat - b.flat)
	})
	g.seed.near = near
	return near
}

// widen adds the neighbours of the neighbours.
func (g *grower) widen(set []int32, upTo int) []int32 {
	keep := slices.Clone(g.seed.near)
	for j := 1; j < upTo && len(set) < mostFlats; j++ {
		if len(g.f.at(set[j])) > 64 {
			continue
		}
		for _, n := range g.neighbours(set[j]) {
			if len(set) < mostFlats && !slices.Contains(set, n.flat) {
				set = append(set, n.flat)
			}
		}
	}
	g.seed.flats, g.seed.near = set, append(g.seed.near[:0], keep...)
	return set
}

// collect gathers the vertices of some flats, each once, and the normal of
// each flat.
func (g *grower) collect(set []int32) {
	g.stamp++
	c := &g.seed
	c.pts, c.norm = c.pts[:0], c.norm[:0]
	for _, f := range set {
		tris := g.f.at(f)
		c.norm = append(c.norm, g.f.normal[f])
		step := max(1, len(tris)/(perFlat/2))
		n := 0
		for i := 0; i < len(tris) && n < perFlat; i += step {
			for _, v := range g.p.Mesh.Tri[tris[i]] {
				if g.mark[v] != g.stamp {
					g.mark[v] = g.stamp
					c.pts = append(c.pts, g.p.Mesh.Pos[v])
					n++
				}
			}
		}
	}
}

// fit tries cylinder, sphere and cone on what was collected, the one with
// fewer unknowns first.
func (g *grower) fit(set []int32) (geom.Surface, float64, bool) {
	c := &g.seed
	if len(c.pts) < leastPoints {
		return geom.Surface{}, 0, false
	}
	axis, even, reach := geom.AxisOf(c.norm)
	if reach < 1e-7 {
		return geom.Surface{}, 0, false // all but a plane
	}
	if even < 0.02 {
		if s, ok := geom.TryCylinder(c.pts, axis, g.p.Tolerance); ok && s.Max <= g.p.Tolerance {
			if turn, ok := g.fair(&s, set); ok {
				return s, turn, true
			}
		}
	}
	// Normals of a ball reach in two directions; those of upright walls do not.
	ball, ok := geom.Surface{}, even > 1e-3*reach
	if ok {
		ball, ok = geom.TrySphere(c.pts, g.p.Tolerance)
	}
	ok = ok && ball.Max <= g.p.Tolerance
	var ballTurn float64
	if ok {
		ballTurn, ok = g.fair(&ball, set)
	}
	// The vertices of one row of facets round an axis lie on two circles, and so
	// on a sphere and on a cone. The cone keeps closer to the facets, or as close
	// where the row is low; and low rows are chamfers.
	if len(c.norm) >= 3 && even < 0.5 {
		if s, fits := geom.TryCone(c.pts, c.norm, g.p.Tolerance); fits && s.Max <= g.p.Tolerance && s.HalfAngle < bluntest {
			if turn, fits := g.fair(&s, set); fits && (!ok || g.chord(&s, set) < 1.05*g.chord(&ball, set)) {
				return s, turn, true
			}
		}
	}
	return ball, ballTurn, ok
}

// fair reports whether flats cut a surface as the facets of one tessellation
// do: all facing the same side of it, turned from it at their corners by no
// more than steep allows and by about as much as each other. It returns the
// largest such angle.
func (g *grower) fair(s *geom.Surface, set []int32) (float64, bool) {
	side := 0.0
	lo, hi := math.Inf(1), 0.0
	for _, f := range set {
		n := g.f.normal[f]
		turn := 0.0
		tris := g.f.at(f)
		for _, t := range tris[:min(len(tris), perFlat)] {
			for _, v := range g.p.Mesh.Tri[t] {
				q := g.p.Mesh.Pos[v]
				if g.p.atTip(s, q) {
					continue
				}
				d := r3.Dot(s.Normal(q), n)
				if side == 0 {
					side = math.Copysign(1, d)
				}
				turn = max(turn, math.Acos(max(-1, min(1, d*side))))
			}
		}
		if turn > 25*math.Pi/180 {
			return 0, false
		}
		lo, hi = min(lo, turn), max(hi, turn)
	}
	return hi, hi < 5*lo+1e-4
}

// chord is the largest distance of the middle of a facet's side from a surface.
func (g *grower) chord(s *geom.Surface, set []int32) float64 {
	worst := 0.0
	for _, f := range set {
		tris := g.f.at(f)
		worst = max(worst, chordOf(g.p, s, tris[:min(len(tris), perFlat)]))
	}
	return worst
}

// chordOf is the same for triangles.
func chordOf(p *Patches, s *geom.Surface, tris []int32) float64 {
	worst := 0.0
	for _, t := range tris {
		a, b, c := p.Mesh.Corners(int(t))
		for _, e := range [3][2]r3.Vec{{a, b}, {b, c}, {c, a}} {
			worst = max(worst, math.Abs(s.Distance(r3.Scale(0.5, r3.Add(e[0], e[1])))))
		}
	}
	return worst
}
