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
func Project(m *mesh.Mesh, v View) (*Drawing, error) {
	if err := check(m); err != nil {
		return nil, err
	}
	f := flatten(m, v)
	d := newDepthMap(f, depthSize)
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
			rise := slope(f.facing[t])
			if u >= 0 {
				rise = max(rise, slope(f.facing[u]))
			}
			a, b := tri[k], tri[(k+1)%3]
			in, out := stretches(f, d, a, b, rise)
			inner, outer = append(inner, in...), append(outer, out...)
		}
	}
	return inner, outer
}

// slope is how fast a facet that faces the eye recedes on paper, 0 for one that
// does not face it, and limited so that a nearly edge-on facet cannot excuse
// everything.
func slope(facing float64) float64 {
	if facing <= 0 {
		return 0
	}
	return min(4, math.Sqrt(max(0, 1-facing*facing))/facing)
}

// stretches tests one edge in steps and returns its visible stretches. A step
// is visible when the surface around it, over the four pixel centres next to it,
// is nowhere wholly nearer to the eye, allowing for the rise of the edge's own
// facets between pixel centres.
func stretches(f *flat, d *depthMap, a, b uint32, rise float64) (inner, outer []segment) {
	pa, pb := f.pt[a], f.pt[b]
	length := math.Hypot(pb.X-pa.X, pb.Y-pa.Y) / d.px
	if length < 1e-6 {
		return nil, nil
	}
	n := int(math.Ceil(length/0.75)) + 1
	slack := 1.5*d.px*rise + 1e-3*d.px + 1e-6*math.Abs(f.near[a])
	at := func(s float64) Pt { return Pt{pa.X + s*(pb.X-pa.X), pa.Y + s*(pb.Y-pa.Y)} }
	const (
		hidden = iota
		inside
		border
	)
	state := make([]uint8, n)
	for i := range state {
		s := (float64(i) + 0.5) / float64(n)
		behind := d.behind(d.pixel(at(s)))
		switch {
		case math.IsInf(behind, -1):
			state[i] = border
		case f.near[a]+s*(f.near[b]-f.near[a])+slack >= behind:
			state[i] = inside
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
