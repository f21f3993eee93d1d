package convex

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Calipers are the least, the middle and the largest width, mm. The least is the
// smallest distance between parallel planes with the body between them: the
// narrowest slot it goes through. The middle is the least width square to that,
// of the body as it lies on its flattest side. The largest is the greatest
// distance of two of its points.
//
// Least and largest are exact: the planes of the least width touch a face and a
// corner or two edges (M. E. Houle and G. T. Toussaint, Computing the width of a
// set, IEEE Trans. Pattern Anal. Mach. Intell. 10 (1988) 761), all of which are
// tried. The section of a round body through its axis has the widths of the body
// in all directions of its plane, so there the plane rule of touching a side
// serves.
func (b *Body) Calipers() [3]float64 {
	if b.ball > 0 {
		return [3]float64{2 * b.ball, 2 * b.ball, 2 * b.ball}
	}
	least, dir := b.least()
	return [3]float64{least, b.middle(dir), b.largest()}
}

// least is the least width and a direction of it.
func (b *Body) least() (float64, r3.Vec) {
	least, at := math.Inf(1), r3.Vec{}
	try := func(dir r3.Vec) {
		// The first of equal ones counts, whatever the rounding.
		if w := b.Width(dir); w < least*(1-1e-12) || at == (r3.Vec{}) {
			least, at = w, dir
		}
	}
	if b.verts == nil {
		// A quarter turn is enough: the other half of the section is the mirror image.
		try(r3.Vec{X: 1})
		try(r3.Vec{Z: 1})
		for i := 1; i < len(b.meridian); i++ {
			n, _ := meridianSide(b.meridian[i-1], b.meridian[i])
			try(r3.Vec{X: n[0], Z: n[1]})
		}
		return least, at
	}
	for _, f := range b.faces {
		try(f.normal)
	}
	edges := b.edges()
	for i, e := range edges {
		for _, g := range edges[:i] {
			n := r3.Cross(e.along, g.along)
			if l := r3.Norm(n); l > 1e-9 {
				try(r3.Scale(1/l, n))
			}
		}
	}
	return least, at
}

// middle is the least width square to a direction.
func (b *Body) middle(dir r3.Vec) float64 {
	least := math.Inf(1)
	if b.verts != nil {
		// The shadow along dir is a polygon; its narrowest strip lies along a side.
		for _, e := range b.edges() {
			n := r3.Cross(e.along, dir)
			if l := r3.Norm(n); l > 1e-9 {
				least = math.Min(least, b.Width(r3.Scale(1/l, n)))
			}
		}
		return least
	}
	// Square to a direction in the plane XZ: from Y towards what lies in the plane.
	in := r3.Vec{X: -dir.Z, Z: dir.X}
	width := func(t float64) float64 {
		sin, cos := math.Sincos(t)
		return b.Width(r3.Vec{X: sin * in.X, Y: cos, Z: sin * in.Z})
	}
	const steps = 720
	best := 0
	for i := range steps + 1 {
		if w := width(math.Pi * float64(i) / steps); w < least {
			least, best = w, i
		}
	}
	lo, hi := math.Pi*float64(best-1)/steps, math.Pi*float64(best+1)/steps
	for range 60 {
		a, c := lo+(hi-lo)/3, hi-(hi-lo)/3
		if width(a) < width(c) {
			hi = c
		} else {
			lo = a
		}
	}
	return math.Min(least, width((lo+hi)/2))
}

func (b *Body) largest() float64 {
	far := 0.0
	for i, p := range b.meridian {
		for _, q := range b.meridian[:i+1] {
			far = math.Max(far, math.Hypot(p[0]+q[0], p[1]-q[1]))
		}
	}
	for i, p := range b.verts {
		for _, q := range b.verts[:i] {
			far = math.Max(far, r3.Norm(r3.Sub(p, q)))
		}
	}
	return far
}

// edge runs between two corners.
type edge struct {
	a, b  int
	along r3.Vec // unit
	bend  float64
}

// edges lists each edge once, with the angle between its two faces' normals.
func (b *Body) edges() []edge {
	type pair [2]int
	at := map[pair]int{}
	normal := map[pair]r3.Vec{}
	var out []edge
	for _, f := range b.faces {
		for i, p := range f.loop {
			q := f.loop[(i+1)%len(f.loop)]
			k := pair{min(p, q), max(p, q)}
			if j, ok := at[k]; ok {
				out[j].bend = math.Acos(math.Min(1, r3.Dot(normal[k], f.normal)))
				continue
			}
			at[k], normal[k] = len(out), f.normal
			out = append(out, edge{k[0], k[1], r3.Unit(r3.Sub(b.verts[q], b.verts[p])), math.Pi})
		}
	}
	return out
}
