package patch

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// named is a face that the file names, or several that are one.
type named struct {
	tris []int32 // ascending
	s    geom.Surface
	area float64
	in   bool // whether it has corners of facets away from its border
}

const (
	finest     = 2e-8               // of the diagonal that vertices are off where nothing went wrong
	illShaped  = 60 * math.Pi / 180 // from its surface at the middle of the worst facet of a coarse face
	leastStrip = 6                  // points of a cylinder that two flats tell
)

// given takes the faces that the file names. Each is fitted as a whole; faces
// that lie on one surface and run on into each other are joined, as the two halves
// of a bore are; and what its own few vertices do not tell is told by the faces
// that it runs smoothly into.
func (g *grower) given(ids []int32) {
	at := map[int32]int{}
	var all []*named
	for t, id := range ids {
		i, ok := at[id]
		if !ok {
			i = len(all)
			at[id] = i
			all = append(all, &named{})
		}
		all[i].tris = append(all[i].tris, int32(t))
		all[i].area += g.p.Area[t]
		g.owner[t] = int32(i)
	}
	fine := max(finest*g.p.Mesh.Box().Diagonal(), 1e-7)
	var wg sync.WaitGroup
	workers := max(1, min(runtime.GOMAXPROCS(0), len(all)))
	for w := range workers {
		wg.Go(func() {
			f := newFitter(g, fine)
			for i := w; i < len(all); i += workers {
				f.fit(all[i])
			}
		})
	}
	wg.Wait()
	j := newJoiner(g, all, fine)
	for range 4 {
		joined := j.join()
		if !j.touch() && !joined {
			break
		}
	}
	g.p.usual = make([]float32, len(ids))
	for _, n := range all {
		if n.tris == nil {
			continue
		}
		if n.s.Kind == geom.Free {
			for _, t := range n.tris {
				g.p.usual[t] = g.largestTurn(t, ids)
			}
		}
		g.take(n.tris, n.s)
	}
}

// fitter fits surfaces to named faces.
type fitter struct {
	p     *Patches
	owner []int32
	mark  []int32 // of vertices: the last face that held it
	stamp int32
	fine  float64 // mm: how far vertices are off where nothing went wrong
}

func newFitter(g *grower, fine float64) fitter {
	return fitter{p: g.p, owner: g.owner, mark: make([]int32, len(g.p.Mesh.Pos)), fine: fine}
}

// points are the vertices of triangles, each once, and whether all facets round
// some of them are of the face; of large faces a sample.
func (f *fitter) points(tris []int32) (pts []r3.Vec, in bool) {
	f.stamp++
	m, tp := f.p.Mesh, f.p.Topology
	step := max(1, len(tris)/finalFit)
	for i := 0; i < len(tris); i += step {
		for _, v := range m.Tri[tris[i]] {
			if f.mark[v] == f.stamp {
				continue
			}
			f.mark[v] = f.stamp
			pts = append(pts, m.Pos[v])
			if !in {
				in = true
				for _, u := range tp.Around[tp.Start[v]:tp.Start[v+1]] {
					in = in && f.owner[u] == f.owner[tris[0]]
				}
			}
		}
	}
	return pts, in
}

// fit finds the surface of a face: the simplest that holds all its vertices. They
// are as exact as the kernel that made them, which is much better than Tolerance
// but along borders that it could only approximate.
func (f *fitter) fit(n *named) {
	p := f.p
	pts, in := f.points(n.tris)
	n.in = in
	n.s = geom.Surface{Kind: geom.Free}
	step := max(1, len(n.tris)/finalFit)
	var some []int32
	var at, norm []r3.Vec
	for _, least := range []float64{30 * p.Rounding, 0} {
		some, at, norm = some[:0], at[:0], norm[:0]
		for i := 0; i < len(n.tris); i += step {
			if t := n.tris[i]; p.height(t) > least {
				some = append(some, t)
				a, b, c := p.Mesh.Corners(int(t))
				at = append(at, r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))))
				norm = append(norm, p.Normal[t])
			}
		}
		if len(some) > 0 {
			break
		}
	}
	if len(some) == 0 {
		return
	}
	fine := f.fine
	loose := crumbOff * p.Tolerance
	var tries []geom.Surface
	add := func(s geom.Surface, ok bool) bool {
		// Where so many vertices agree, an ill-shaped facet says nothing.
		lean := steep
		if ok && s.Max <= fine && len(pts) >= 2*leastPoints {
			lean = illShaped
		}
		if ok && p.sameSide(&s, some, lean) {
			tries = append(tries, s)
			return s.Max <= fine
		}
		return false
	}
	pick := func() {
		for _, within := range [3]float64{fine, p.Tolerance, loose} {
			for _, s := range tries {
				if s.Max <= within && (within < loose || s.Kind != geom.Torus) {
					n.s = p.polished(s, pts, at, norm, fine)
					return
				}
			}
		}
	}
	defer pick()
	if s, ok := geom.FitPlane(pts, p.largest(some)); add(s, ok && s.Max <= p.Tolerance) {
		return
	}
	axis, even, reach := geom.AxisOf(norm)
	if len(pts) >= leastStrip && even < 0.02 && reach > 1e-7 {
		if s, ok := geom.TryCylinder(pts, axis, loose); add(s, ok && s.Max <= loose) {
			return
		}
	}
	if len(pts) < leastPoints || len(some) < few {
		return
	}
	// The vertices of one row of facets round an axis lie on two circles, and so on
	// a ball and on a cone: see roundOf.
	cone, isCone := geom.TryCone(pts, norm, loose)
	isCone = isCone && cone.Max <= loose && cone.HalfAngle < bluntest
	ball, isBall := geom.TrySphere(pts, loose)
	isBall = isBall && ball.Max <= loose && even > 1e-3*reach
	if isCone && isBall && chordOf(p, &cone, some) > 1.05*chordOf(p, &ball, some) {
		done := add(ball, true)
		if add(cone, true) || done {
			return
		}
	} else if done := add(cone, isCone); add(ball, isBall) || done {
		return
	}
	s, ok := geom.TryTorus(pts, at, norm, p.Tolerance)
	add(s, ok && s.Max <= p.Tolerance)
}

// largest is the normal of the largest of some triangles.
func (p *Patches) largest(tris []int32) r3.Vec {
	best := tris[0]
	for _, t := range tris {
		if p.Area[t] > p.Area[best] {
			best = t
		}
	}
	return p.Normal[best]
}

// polished fits a surface once more without the vertices that are much farther
// off than most, those of an approximated border.
func (p *Patches) polished(s geom.Surface, pts, at, norm []r3.Vec, fine float64) geom.Surface {
	if s.Max <= fine {
		return s
	}
	t, kept := s, pts
	off := make([]float64, len(pts))
	for range 4 {
		off = off[:0]
		for _, q := range kept {
			off = append(off, math.Abs(t.Distance(q)))
		}
		sorted := slices.Clone(off)
		slices.Sort(sorted)
		limit := 3 * sorted[len(sorted)/2]
		var next []r3.Vec
		for i, q := range kept {
			if off[i] <= limit {
				next = append(next, q)
			}
		}
		if len(next) < leastPoints || 2*len(next) < len(pts) || len(next) == len(kept) {
			return s
		}
		kept = next
		u, ok := again(t, kept, at, norm)
		if !ok {
			return s
		}
		if u.Max <= fine {
			return u
		}
		t = u
	}
	return s
}

// again fits a surface of the same kind to points.
func again(s geom.Surface, pts, at, norm []r3.Vec) (geom.Surface, bool) {
	switch s.Kind {
	case geom.Plane:
		return geom.FitPlane(pts, s.Axis)
	case geom.Cylinder:
		return geom.FitCylinder(pts, s.Axis)
	case geom.Sphere:
		return geom.FitSphere(pts)
	case geom.Cone:
		return geom.FitConeFrom(pts, s)
	case geom.Torus:
		return geom.FitTorus(pts, at, norm)
	}
	return s, false
}

// largestTurn is the largest turn of a triangle to others of its face.
func (g *grower) largestTurn(t int32, ids []int32) float32 {
	largest := float32(0)
	for k, u := range g.p.Topology.Across[t] {
		if u != mesh.NoTri && ids[u] == ids[t] {
			turn := g.p.Turn[t][k]
			largest = max(largest, turn, -turn)
		}
	}
	return largest
}
