package patch

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	touching = 2e-3               // radians between normals where faces run into each other
	creased  = 1e-2               // and where they do not
	halfFlat = 27 * math.Pi / 180 // most between a facet and its surface at a corner
)

// joiner joins named faces. g.owner is the index into all of each triangle.
type joiner struct {
	g    *grower
	all  []*named
	f    fitter
	fine float64
	sag  float64 // the largest chord of the facets of faces that are sure
	// version counts the changes of each face, done has those at which two were last
	// asked to join.
	version []int32
	done    map[[2]int32][2]int32
}

func newJoiner(g *grower, all []*named, fine float64) *joiner {
	return &joiner{
		g: g, all: all, f: newFitter(g, fine), fine: fine,
		version: make([]int32, len(all)), done: map[[2]int32][2]int32{},
	}
}

// join makes one face of those that lie on one surface and share an edge.
func (j *joiner) join() bool {
	p := j.g.p
	j.sag = 0
	for _, n := range j.all {
		if n.s.Kind != geom.Free && n.s.Kind != geom.Plane && len(n.tris) > 4 {
			step := max(1, len(n.tris)/64)
			for i := 0; i < len(n.tris); i += step {
				j.sag = max(j.sag, chordOf(p, &n.s, n.tris[i:i+1]))
			}
		}
	}
	any := false
	for again := true; again; {
		again = false
		for t := range p.Mesh.Tri {
			for k, u := range p.Topology.Across[t] {
				if u == mesh.NoTri || u < int32(t) || j.g.owner[u] == j.g.owner[t] || math.Abs(float64(p.Turn[t][k])) > 2*halfFlat {
					continue
				}
				a, b := j.g.owner[t], j.g.owner[u]
				a, b = min(a, b), max(a, b)
				now := [2]int32{j.version[a], j.version[b]}
				if was, ok := j.done[[2]int32{a, b}]; ok && was == now {
					continue
				}
				j.done[[2]int32{a, b}] = now
				if j.pair(a, b) {
					any, again = true, true
				}
			}
		}
	}
	return any
}

// pair joins two faces into one where the smaller lies on the surface of the
// larger, and a surface through both is as good as each.
func (j *joiner) pair(a, b int32) bool {
	x, y := j.all[a], j.all[b]
	if x.s.Kind == geom.Free || y.s.Kind != geom.Free && (y.area > x.area) {
		a, b, x, y = b, a, y, x
	}
	if x.s.Kind == geom.Free {
		return false
	}
	p := j.g.p
	within := max(j.fine, min(p.Tolerance, 4*(x.s.Max+y.s.Max)))
	if x.s.Kind != y.s.Kind {
		within = max(j.fine, min(p.Tolerance, 4*x.s.Max))
	}
	// A narrow face says little of what lies beyond it: first roughly, then fitted.
	worst := 0.0
	for _, t := range y.tris {
		for _, v := range p.Mesh.Tri[t] {
			if worst = max(worst, math.Abs(x.s.Distance(p.Mesh.Pos[v]))); worst > 4*within {
				return false
			}
		}
	}
	if !p.alike(&x.s, x.tris, y.tris) {
		return false
	}
	// A flat cut across a shaft has its corners on it too, but not its middle.
	if x.s.Kind != geom.Plane && y.s.Kind == geom.Plane && chordOf(p, &x.s, y.tris) > 1.2*chordOf(p, &x.s, x.tris) {
		return false
	}
	both := make([]int32, 0, len(x.tris)+len(y.tris))
	for r, s := x.tris, y.tris; len(r)+len(s) > 0; {
		if len(s) == 0 || len(r) > 0 && r[0] < s[0] {
			both, r = append(both, r[0]), r[1:]
		} else {
			both, s = append(both, s[0]), s[1:]
		}
	}
	s := x.s
	if pts, _ := j.f.points(both); (len(pts) >= leastPoints || x.s.Kind == geom.Plane) &&
		(x.s.Kind != geom.Torus || worst > j.fine) {
		var at, norm []r3.Vec
		if x.s.Kind == geom.Torus {
			at, norm = p.spots(both)
		}
		t, ok := again(x.s, pts, at, norm)
		switch {
		case ok && t.Max <= within:
			s = t
		case !ok && x.s.Kind == geom.Torus: // known by its neighbours only
		default:
			return false
		}
	}
	x.tris, x.s, x.area, x.in = both, s, x.area+y.area, x.in || y.in
	for _, t := range y.tris {
		j.g.owner[t] = a
	}
	y.tris = nil
	j.version[a]++
	return true
}

// spots are places of facets with their normals, a sample.
func (p *Patches) spots(tris []int32) (at, norm []r3.Vec) {
	step := max(1, len(tris)/finalFit)
	for i := 0; i < len(tris); i += step {
		if t := tris[i]; p.height(t) > 30*p.Rounding {
			at, norm = append(at, p.middle(t)), append(norm, p.Normal[t])
		}
	}
	return at, norm
}

// alike reports whether the triangles of a second face stand on the same side of
// a surface as those of the first.
func (p *Patches) alike(s *geom.Surface, first, second []int32) bool {
	side := func(tris []int32) float64 {
		sum := 0.0
		for _, t := range tris {
			sum += p.Area[t] * r3.Dot(s.Normal(p.middle(t)), p.Normal[t])
		}
		return sum
	}
	return p.sameSide(s, second, illShaped) && (side(first) > 0) == (side(second) > 0)
}

// touch finds faces whose own vertices do not tell what they are from the faces
// that they run into: a fillet of one row of facets has only its two edges. A face
// that its vertices do tell as something else, say a chamfer, is a fillet instead
// only where that meets both neighbours at an edge and the fillet neither, and
// where its facets keep as close to the fillet as facets do elsewhere.
func (j *joiner) touch() bool {
	any := false
	for i, n := range j.all {
		if n.tris == nil || n.in && n.s.Kind != geom.Free || n.s.Kind == geom.Torus {
			continue
		}
		at, norm, faces, smallest := j.tangents(int32(i))
		if faces < 2 || n.s.Kind != geom.Free && !j.contradicts(&n.s, at, norm) {
			continue
		}
		// The flats of a prism are not fillets between each other.
		if n.s.Kind == geom.Plane && 2*n.area > smallest {
			continue
		}
		for _, kind := range [3]geom.Kind{geom.Cylinder, geom.Sphere, geom.Torus} {
			s, ok := geom.Touch(kind, at, norm)
			if ok && j.fits(&s, n, at, norm) {
				n.s = s
				j.version[i]++
				any = true
				break
			}
		}
	}
	return any
}

// tangents are the ends of a face's edges with other known faces that it may run
// into smoothly, the normals of those there, how many faces they are and the area
// of the smallest.
func (j *joiner) tangents(i int32) (at, norm []r3.Vec, faces int, smallest float64) {
	least := math.Cos(halfFlat)
	if j.all[i].s.Kind == geom.Free {
		least = math.Cos(steep)
	}
	p := j.g.p
	type place struct {
		v    uint32
		face int32
	}
	seen := map[place]bool{}
	other := map[int32]bool{}
	smallest = math.Inf(1)
	for _, t := range j.all[i].tris {
		for k, u := range p.Topology.Across[t] {
			if u == mesh.NoTri || j.g.owner[u] == i {
				continue
			}
			o := j.all[j.g.owner[u]]
			if o.s.Kind == geom.Free {
				continue
			}
			side := 1.0
			if r3.Dot(o.s.Normal(p.middle(u)), p.Normal[u]) < 0 {
				side = -1
			}
			for _, v := range [2]uint32{p.Mesh.Tri[t][k], p.Mesh.Tri[t][(k+1)%3]} {
				q := p.Mesh.Pos[v]
				n := r3.Scale(side, o.s.Normal(q))
				if r3.Dot(n, p.Normal[t]) < least {
					continue
				}
				if w := (place{v, j.g.owner[u]}); !seen[w] {
					seen[w] = true
					other[w.face] = true
					smallest = min(smallest, o.area)
					at, norm = append(at, q), append(norm, n)
				}
			}
		}
	}
	return at, norm, len(other), smallest
}

// contradicts reports whether a surface meets all its neighbours at an edge.
func (j *joiner) contradicts(s *geom.Surface, at, norm []r3.Vec) bool {
	for i, q := range at {
		if math.Abs(r3.Dot(s.Normal(q), norm[i])) > math.Cos(creased) {
			return false
		}
	}
	return true
}

// fits reports whether a surface that was made to touch a face's neighbours is
// the face's: all its vertices lie on it, it runs into the neighbours without an
// edge, and its facets are chords of it.
func (j *joiner) fits(s *geom.Surface, n *named, at, norm []r3.Vec) bool {
	p := j.g.p
	for i, q := range at {
		if math.Abs(r3.Dot(s.Normal(q), norm[i])) < math.Cos(touching) {
			return false
		}
	}
	least := math.Cos(halfFlat)
	if n.s.Kind == geom.Free {
		least = math.Cos(steep)
	}
	side := 0.0
	for _, t := range n.tris {
		thin := p.height(t) < 30*p.Rounding
		for _, v := range p.Mesh.Tri[t] {
			q := p.Mesh.Pos[v]
			if math.Abs(s.Distance(q)) > p.Tolerance {
				return false
			}
			d := r3.Dot(s.Normal(q), p.Normal[t])
			if side == 0 && !thin {
				side = math.Copysign(1, d)
			}
			if side*d < least && !thin {
				return false
			}
		}
	}
	// A diagonal sags along and across.
	return n.s.Kind == geom.Free || chordOf(p, s, n.tris) <= 2.1*j.sag
}
