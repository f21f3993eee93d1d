package draw

import (
	"math"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Weights of lines on paper in mm, after the widths of ISO 128-2.
const (
	WeightOutline = 0.50 // the outer contour
	WeightEdge    = 0.35 // visible edges inside it
	WeightThin    = 0.18 // dimensions, leaders, symbols
)

// sharpDeg is the turn between two facets from which their edge is drawn.
const sharpDeg = 25

// depthSize is the resolution, in pixels along the longer side of the view, at
// which lines are tested for being hidden.
const depthSize = 1500

// Project is the line drawing of the mesh seen from v, at full size: edges that
// turn by more than 25°, borders, and silhouettes, with hidden parts left out.
// Its origin is that of the model ([View.Spot]).
//
// Every edge is tested in steps of under a pixel against a depth map of 1500
// pixels; a line is therefore true to about 1/1000 of the part's size where it
// dips behind another.
func Project(m *mesh.Mesh, v View) (*Drawing, error) { return project(m, v, depthSize) }

func project(m *mesh.Mesh, v View, size int) (*Drawing, error) {
	if err := check(m); err != nil {
		return nil, err
	}
	f := flatten(m, v)
	d := newDepthMap(f, size)
	inner, outer := visible(f, d)
	out := &Drawing{}
	tol := 0.2 * d.px
	for _, set := range []struct {
		segs   []segment
		weight float64
	}{{inner, WeightEdge}, {outer, WeightOutline}} {
		for _, c := range chain(set.segs, d.px/4) {
			pts := simplify(c.pts, c.closed, tol)
			if len(pts) < 2 {
				continue
			}
			out.Lines = append(out.Lines, Line{Pts: pts, Weight: set.weight, Closed: c.closed})
		}
	}
	return out, nil
}

type segment struct{ a, b Pt }

// visible are the visible stretches of the edges worth drawing, those on the
// border of the whole picture apart.
func visible(f *flat, d *depthMap) (inner, outer []segment) {
	tp := mesh.NewTopology(f.m)
	closed := tp.Closed()
	cosSharp := math.Cos(sharpDeg * math.Pi / 180)
	const edgeOn = 1e-6
	for t, tri := range f.m.Tri {
		for k := 0; k < 3; k++ {
			u := tp.Across[t][k]
			if u >= 0 && int(u) < t {
				continue
			}
			turns := false // from facing the eye to facing away
			if u >= 0 {
				front, other := f.facing[t] > edgeOn, f.facing[u] > edgeOn
				if closed && !front && !other {
					continue
				}
				turns = front != other
				flat := r3.Norm2(f.normal[t]) == 0 || r3.Norm2(f.normal[u]) == 0
				if !turns && (flat || r3.Dot(f.normal[t], f.normal[u]) > cosSharp) {
					continue
				}
			}
			a, b := tri[k], tri[(k+1)%3]
			e := edge{a: a, b: b}
			e.beside(f, t, tri[(k+2)%3], closed, d.px)
			if u >= 0 {
				e.beside(f, int(u), third(f.m.Tri[u], a, b), closed, d.px)
			}
			in, out := stretches(f, d, e)
			inner, outer = append(inner, in...), append(outer, out...)
		}
	}
	return inner, outer
}

// third is the corner of a triangle that is neither a nor b.
func third(tri [3]uint32, a, b uint32) uint32 {
	for _, c := range tri {
		if c != a && c != b {
			return c
		}
	}
	return a
}

// edge is an edge with the places beside it at which to look whether it is
// hidden: one on each of its facets that could be seen.
type edge struct {
	a, b   uint32
	probes []probe
}

// probe is a step on paper from the edge onto a facet, how much nearer to the
// eye the facet is there, and how far the depth map may be off.
type probe struct {
	step  Pt
	rise  float64
	slack float64
}

// beside adds a place on facet t, whose corner off the edge is c. Facets of a
// closed part that look away cannot be seen; those seen edge-on have no place
// of their own on paper.
func (e *edge) beside(f *flat, t int, c uint32, closed bool, px float64) {
	const edgeOn = 1e-6
	facing := f.facing[t]
	if closed && facing <= edgeOn || math.Abs(facing) <= edgeOn {
		return
	}
	p, q, r := f.pt[e.a], f.pt[e.b], f.pt[c]
	dx, dy := q.X-p.X, q.Y-p.Y
	l := math.Hypot(dx, dy)
	if l == 0 {
		return
	}
	n := Pt{-dy / l, dx / l}
	wide := n.X*(r.X-p.X) + n.Y*(r.Y-p.Y)
	if wide < 0 {
		n, wide = Pt{-n.X, -n.Y}, -wide
	}
	// 1.2 pixels off, but not beyond the middle of a narrow facet. How the facet's
	// plane climbs there counts in full; the slack for what lies between pixel
	// centres is limited, or a nearly edge-on facet would excuse everything.
	away := min(1.2*px, wide/2)
	const steep = 4
	normal := f.normal[t]
	climb := -(r3.Dot(normal, f.view.Right)*n.X - r3.Dot(normal, f.view.Up)*n.Y) / facing
	slope := min(steep, math.Sqrt(max(0, 1-facing*facing))/math.Abs(facing))
	e.probes = append(e.probes, probe{
		step:  Pt{away * n.X, away * n.Y},
		rise:  away * climb,
		slack: px*(1.5*slope+1e-3) + 1e-6*math.Abs(f.near[e.a]),
	})
}

// stretches tests one edge in steps and returns its visible stretches. A step
// is visible when one of its facets is, right beside it: when the surface around
// that place, over the four pixel centres next to it, is nowhere wholly nearer
// to the eye. An edge that only grazes the outline of something before it is
// hidden by that rule, as it should be.
func stretches(f *flat, d *depthMap, e edge) (inner, outer []segment) {
	pa, pb := f.pt[e.a], f.pt[e.b]
	length := math.Hypot(pb.X-pa.X, pb.Y-pa.Y) / d.px
	if length < 1e-6 {
		return nil, nil
	}
	n := int(math.Ceil(length/0.75)) + 1
	at := func(s float64) Pt { return Pt{pa.X + s*(pb.X-pa.X), pa.Y + s*(pb.Y-pa.Y)} }
	const (
		hidden = iota
		inside
		border
	)
	state := make([]uint8, n)
	for i := range state {
		s := (float64(i) + 0.5) / float64(n)
		p, depth := at(s), f.near[e.a]+s*(f.near[e.b]-f.near[e.a])
		for _, b := range e.probes {
			if depth+b.rise+b.slack < d.behind(d.pixel(Pt{p.X + b.step.X, p.Y + b.step.Y})) {
				continue
			}
			state[i] = inside
			if math.IsInf(d.behind(d.pixel(p)), -1) {
				state[i] = border
			}
			break
		}
	}
	smooth(state)
	for i := 0; i < n; {
		j := i
		for j < n && state[j] == state[i] {
			j++
		}
		seg := segment{at(float64(i) / float64(n)), at(float64(j) / float64(n))}
		// The ends keep the exact bits of the corners, so that chains join.
		if i == 0 {
			seg.a = pa
		}
		if j == n {
			seg.b = pb
		}
		switch state[i] {
		case inside:
			inner = append(inner, seg)
		case border:
			outer = append(outer, seg)
		}
		i = j
	}
	return inner, outer
}

// smooth removes runs of one or two steps inside a longer edge: they are
// accidents of the pixel grid.
func smooth(state []uint8) {
	n := len(state)
	for i := 0; i < n; {
		j := i
		for j < n && state[j] == state[i] {
			j++
		}
		if j-i <= 2 && i > 0 && j < n && state[i-1] == state[j] {
			for k := i; k < j; k++ {
				state[k] = state[i-1]
			}
		}
		i = j
	}
}
