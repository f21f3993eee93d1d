package patch

import (
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// grower splits the mesh into surfaces.
type grower struct {
	p     *Patches
	f     *flats
	owner []int32 // index into found of each triangle, −1 while free
	found []geom.Surface
	tried []bool  // flats that need not be begun from
	small []int32 // flats whose surface was too small for the first round

	inside []int32 // of triangles: the last region that held it
	mark   []int32 // of vertices: the last collection that held it
	fmark  []int32 // of flats, likewise
	stamp  int32

	seed seedSet
}

const (
	many, few = 5, 3 // flats that a curved surface must have: at first, and in the end
	mostFit   = 400  // points that a fit is made from while growing
	// A cone slimmer than this may be a cylinder that rounding has tilted.
	slimmest = 3 * math.Pi / 180
	finalFit = 800 // and at the end
	sure     = 40  // flats of a surface that needs no further proof
	patience = 500 // fruitless starts in a smooth piece before only some are tried
)

func newGrower(p *Patches) *grower {
	g := &grower{p: p}
	n := len(p.Mesh.Tri)
	g.owner, g.inside = make([]int32, n), make([]int32, n)
	for t := range g.owner {
		g.owner[t] = -1
	}
	g.mark = make([]int32, len(p.Mesh.Pos))
	return g
}

// flatten groups the triangles into flats.
func (g *grower) flatten() {
	g.f = g.p.findFlats()
	g.fmark = make([]int32, g.f.len())
	g.tried = make([]bool, g.f.len())
}

// curved finds cylinders, cones and spheres, those with many flats first: where
// a plane lies between two roundings, the plane and its neighbours can look
// like a small piece of a large cylinder.
func (g *grower) curved() {
	piece, pieces := g.pieces()
	g.wholePieces(piece, pieces)
	for _, least := range []int{many, few} {
		for _, i := range g.small {
			g.tried[i] = false
		}
		g.small = nil
		fruitless := make([]int, pieces)
		for i := range g.f.len() {
			first := g.f.at(int32(i))[0]
			n := &fruitless[piece[first]]
			if i%stride(*n) != 0 || g.tried[i] || g.owner[first] >= 0 {
				continue
			}
			if g.begin(int32(i), least) {
				*n = 0
			} else {
				*n++
			}
		}
	}
}

// stride is the step from one start to the next after so many in a smooth piece
// that came to nothing: a large free-form face is sampled ever more thinly, while
// the bores beside it, which steep edges set apart, are tried strip by strip.
func stride(fruitless int) int {
	n := 1
	for ; fruitless > patience; fruitless /= 4 {
		n *= 4
	}
	return n
}

// begin tries to grow a curved surface from a flat.
func (g *grower) begin(i int32, least int) bool {
	g.tried[i] = true
	s, turn, ok := g.start(i)
	if !ok {
		return false
	}
	tris, s, ok := g.grow(i, s, turn)
	if !ok {
		return false
	}
	n := 0
	g.stamp++
	for _, t := range tris {
		if f := g.f.of[t]; g.fmark[f] != g.stamp {
			g.fmark[f] = g.stamp
			g.tried[f] = true
			n++
		}
	}
	s = g.simpler(s, tris)
	if !g.ends(s, tris, n) {
		return false
	}
	if n < least {
		g.small = append(g.small, i)
		return false
	}
	g.take(tris, s)
	return true
}

// simpler looks at a finished region once more: a very slim cone may be a cylinder
// that rounding has tilted, and what looked like a piece of a ball may be a low
// cone, a chamfer, whose facets tell their axis only all together.
func (g *grower) simpler(s geom.Surface, tris []int32) geom.Surface {
	switch {
	case s.Kind == geom.Cone && s.HalfAngle < slimmest:
		t, ok := g.refit(&geom.Surface{Kind: geom.Cylinder, Axis: s.Axis}, tris, finalFit)
		if ok && t.Max <= g.p.Tolerance {
			return t
		}
	case s.Kind == geom.Sphere:
		var set []int32
		var normals []r3.Vec
		g.stamp++
		for _, t := range tris {
			if f := g.f.of[t]; g.fmark[f] != g.stamp && len(set) < finalFit {
				g.fmark[f] = g.stamp
				set = append(set, f)
				normals = append(normals, g.f.normal[f])
			}
		}
		t, ok := geom.TryCone(g.sample(tris), normals, g.p.Tolerance)
		if ok && t.Max <= g.p.Tolerance && t.HalfAngle < bluntest && g.chord(&t, set) < g.chord(&s, set) {
			return t
		}
	}
	return s
}

// take gives triangles to a new surface.
func (g *grower) take(tris []int32, s geom.Surface) {
	for _, t := range tris {
		g.owner[t] = int32(len(g.found))
	}
	g.found = append(g.found, s)
}

// grow adds triangles that lie on the surface for as long as there are any,
// fitting it anew each time their number has doubled. turn is the largest angle
// between the first facets and the surface at their corners.
func (g *grower) grow(from int32, s geom.Surface, turn float64) ([]int32, geom.Surface, bool) {
	g.stamp++
	region := g.stamp
	side := math.Copysign(1, r3.Dot(s.Normal(g.middle(g.f.at(from)[0])), g.f.normal[from]))
	least := math.Cos(min(25*math.Pi/180, 2.6*turn+math.Pi/180))
	var list []int32
	for _, t := range g.f.at(from) {
		if g.owner[t] < 0 && g.on(&s, t, side, least) {
			g.inside[t] = region
			list = append(list, t)
		}
	}
	refit := max(8, 2*len(list))
	for pass := 0; ; pass++ {
		before := len(list)
		for i := 0; i < len(list); i++ {
			for k, u := range g.p.Topology.Across[list[i]] {
				if u == mesh.NoTri || g.owner[u] >= 0 || g.inside[u] == region ||
					math.Abs(float64(g.p.Turn[list[i]][k])) > steep || !g.on(&s, u, side, least) {
					continue
				}
				g.inside[u] = region
				list = append(list, u)
			}
			if len(list) >= refit {
				refit = 2 * len(list)
				if t, ok := g.refit(&s, list, mostFit); ok {
					s = t
				}
			}
		}
		if t, ok := g.refit(&s, list, finalFit); ok {
			s = t
		}
		if pass > 0 && len(list) == before || pass > 4 {
			break
		}
	}
	// What the better fit no longer holds is let go.
	kept := list[:0]
	for _, t := range list {
		if g.on(&s, t, side, least) {
			kept = append(kept, t)
		} else {
			g.inside[t] = 0
		}
	}
	return kept, s, len(kept) > 0
}

func (g *grower) middle(t int32) r3.Vec { return g.p.middle(t) }

// middle is the centroid of a triangle.
func (p *Patches) middle(t int32) r3.Vec {
	a, b, c := p.Mesh.Corners(int(t))
	return r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
}

// on reports whether a triangle lies on a surface and faces as it does.
func (g *grower) on(s *geom.Surface, t int32, side, least float64) bool {
	n := g.p.Normal[t]
	thin := false
	for _, v := range g.p.Mesh.Tri[t] {
		q := g.p.Mesh.Pos[v]
		if math.Abs(s.Distance(q)) > g.p.Tolerance {
			return false
		}
		if g.p.atTip(s, q) {
			continue // a tip faces nowhere
		}
		if side*r3.Dot(s.Normal(q), n) < least {
			thin = true
		}
	}
	return !thin || g.p.height(t) < 30*g.p.Rounding
}

// atTip reports whether a vertex is the tip of a cone, where the surface faces
// nowhere. Where a cone is fitted to little more than its rim, the tip is known
// less well than the surface.
func (p *Patches) atTip(s *geom.Surface, q r3.Vec) bool {
	return s.Kind == geom.Cone && norm(r3.Sub(q, s.At)) < max(10*p.Tolerance, 0.02*s.Radius)
}

// refit fits the surface to a sample of the region's vertices.
func (g *grower) refit(s *geom.Surface, list []int32, most int) (geom.Surface, bool) {
	pts := g.seed.pts[:0]
	step := max(1, len(list)/most)
	g.stamp++
	for i := 0; i < len(list); i += step {
		for _, v := range g.p.Mesh.Tri[list[i]] {
			if g.mark[v] != g.stamp {
				g.mark[v] = g.stamp
				pts = append(pts, g.p.Mesh.Pos[v])
			}
		}
	}
	g.seed.pts = pts
	var t geom.Surface
	ok := false
	switch s.Kind {
	case geom.Cylinder:
		t, ok = geom.FitCylinder(pts, s.Axis)
	case geom.Sphere:
		t, ok = geom.FitSphere(pts)
	case geom.Cone:
		t, ok = geom.FitConeFrom(pts, *s)
	}
	return t, ok && t.Max <= 2*g.p.Tolerance
}

// ends reports whether a region stops where the part's surface does. A true
// cylinder stops at an edge or where the next surface leaves it at once. Two
// things only look like one: a piece of a free-form face, where the vertices
// beyond the border are only just off; and one ring of facets out of a surface
// that bends the other way too, which turns on at its border as inside it and
// is as narrow as its neighbours. And a few facets amid others of their kind must
// lie on their surface to the rounding of the file.
func (g *grower) ends(s geom.Surface, list []int32, flats int) bool {
	var all, soft, gradual, slice, amid float64
	region := g.inside[list[0]]
	m := g.p.Mesh
	for _, t := range list {
		for k, u := range g.p.Topology.Across[t] {
			if u != mesh.NoTri && g.inside[u] == region {
				continue
			}
			e := r3.Sub(m.Pos[m.Tri[t][(k+1)%3]], m.Pos[m.Tri[t][k]])
			l := norm(e)
			all += l
			turn := math.Abs(float64(g.p.Turn[t][k]))
			if u == mesh.NoTri || g.owner[u] >= 0 || turn > steep {
				continue
			}
			soft += l
			if a, b := g.f.area[g.f.of[t]], g.f.area[g.f.of[u]]; a < 8*b && b < 8*a {
				amid += l
			}
			off := 0.0
			for _, v := range m.Tri[u] {
				off = max(off, math.Abs(s.Distance(m.Pos[v])))
			}
			if off > g.p.Tolerance && off < 6*g.p.Tolerance {
				gradual += l
			}
			if s.Kind != geom.Sphere && g.sliced(t, u, turn, e) {
				slice += l
			}
		}
	}
	if amid > 0.6*all && flats < sure && s.Max > 3*g.p.Rounding {
		return false
	}
	return gradual <= 0.3*soft && slice <= 0.25*all
}

// sliced reports whether the flats on both sides of an edge look like rows of
// one bending surface.
func (g *grower) sliced(t, u int32, turn float64, e r3.Vec) bool {
	if turn < 2e-4 {
		return false
	}
	mine, theirs := g.f.of[t], g.f.of[u]
	h, k := g.across(mine, e), g.across(theirs, e)
	if h > 2.5*k || g.rows(mine, g.inside[t], e) {
		return false
	}
	next := g.turnBeyond(theirs, u, e, g.inside[t])
	return turn > 0.65*next || next == 0 && k < 4*h
}

// rows reports whether the region goes on beyond a flat on the side opposite to
// an edge: it has more rows than this one.
func (g *grower) rows(f int32, region int32, e r3.Vec) bool {
	m := g.p.Mesh
	tris := g.f.at(f)
	for _, t := range tris[:min(len(tris), 256)] {
		for k, u := range g.p.Topology.Across[t] {
			if u == mesh.NoTri || g.f.of[u] == f || g.inside[u] != region {
				continue
			}
			d := r3.Sub(m.Pos[m.Tri[t][(k+1)%3]], m.Pos[m.Tri[t][k]])
			if math.Abs(r3.Dot(d, e)) > 0.9*norm(d)*norm(e) {
				return true
			}
		}
	}
	return false
}

// across is the height of a flat over an edge that it has.
func (g *grower) across(f int32, e r3.Vec) float64 {
	d := r3.Unit(r3.Cross(g.f.normal[f], e))
	lo, hi := math.Inf(1), math.Inf(-1)
	tris := g.f.at(f)
	for _, t := range tris[:min(len(tris), 64)] {
		for _, v := range g.p.Mesh.Tri[t] {
			x := r3.Dot(g.p.Mesh.Pos[v], d)
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	return hi - lo
}

// turnBeyond is the turn of a flat at its edge opposite to e; of a triangle
// that is half of a bent quadrilateral, at that of its mate.
func (g *grower) turnBeyond(f, from int32, e r3.Vec, region int32) float64 {
	best := 0.0
	m := g.p.Mesh
	tris := g.f.at(f)
	look := slices.Clone(tris[:min(len(tris), 16)])
	if len(look) == 1 {
		for _, u := range g.p.Topology.Across[from] {
			if u != mesh.NoTri && g.inside[u] != region {
				look = append(look, u)
			}
		}
	}
	mid := g.middle(from)
	for _, t := range look {
		for k, u := range g.p.Topology.Across[t] {
			turn := math.Abs(float64(g.p.Turn[t][k]))
			if u == mesh.NoTri || turn > steep || turn <= best {
				continue
			}
			a, b := m.Pos[m.Tri[t][k]], m.Pos[m.Tri[t][(k+1)%3]]
			d := r3.Sub(b, a)
			if math.Abs(r3.Dot(d, e)) < 0.9*norm(d)*norm(e) || norm(r3.Sub(a, mid)) > 20*norm(e)+1e3*g.p.Tolerance {
				continue
			}
			best = turn
		}
	}
	return best
}
