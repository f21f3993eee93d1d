package plug

import (
	"math"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// frame is a place in an opening: Z out of its mouth, X and Y across.
type frame struct{ at, x, y, z r3.Vec }

// in is a point of the part seen from the frame, its height as the third number.
func (f frame) in(p r3.Vec) (r2.Vec, float64) {
	d := r3.Sub(p, f.at)
	return r2.Vec{X: r3.Dot(d, f.x), Y: r3.Dot(d, f.y)}, r3.Dot(d, f.z)
}

// out is a point of the frame in the part's coordinates.
func (f frame) out(p r2.Vec, h float64) r3.Vec {
	return r3.Add(f.at, r3.Add(r3.Scale(p.X, f.x), r3.Add(r3.Scale(p.Y, f.y), r3.Scale(h, f.z))))
}

// section is where a closed mesh is cut by the plane at height h across the
// frame's axis: loops with the material on their left, so that openings run
// clockwise. A corner just in the plane counts as above it, so that every loop
// closes.
func (f frame) section(m *mesh.Mesh, high []float64, h float64) [][]r2.Vec {
	type edge [2]uint32
	key := func(a, b uint32) edge { return edge{min(a, b), max(a, b)} }
	next := map[edge]edge{}
	var starts []edge
	for _, t := range m.Tri {
		a, b, c := high[t[0]] >= h, high[t[1]] >= h, high[t[2]] >= h
		if a == b && b == c {
			continue
		}
		// Turned so that the first corner is alone on its side.
		v := t
		switch {
		case b != a && b != c:
			v = [3]uint32{t[1], t[2], t[0]}
		case c != a && c != b:
			v = [3]uint32{t[2], t[0], t[1]}
		}
		from, to := key(v[0], v[1]), key(v[0], v[2])
		if high[v[0]] < h {
			from, to = to, from
		}
		next[from] = to
		starts = append(starts, from)
	}
	point := func(e edge) r2.Vec {
		p, hp := f.in(m.Pos[e[0]])
		q, hq := f.in(m.Pos[e[1]])
		return r2.Add(p, r2.Scale((h-hp)/(hq-hp), r2.Sub(q, p)))
	}
	var loops [][]r2.Vec
	for _, s := range starts {
		var loop []r2.Vec
		at := s
		for {
			n, ok := next[at]
			if !ok {
				break
			}
			delete(next, at)
			if p := point(at); len(loop) == 0 || r2.Norm(r2.Sub(p, loop[len(loop)-1])) > 1e-9 {
				loop = append(loop, p)
			}
			at = n
		}
		if at == s && len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	return loops
}

// away is how far p lies outside the loop, below 0 inside.
func away(loop []r2.Vec, p r2.Vec) float64 {
	best := math.Inf(1)
	in := false
	a := loop[len(loop)-1]
	for _, b := range loop {
		d := r2.Sub(b, a)
		w := r2.Sub(p, a)
		l := r2.Norm2(d)
		t := 0.0
		if l > 0 {
			t = min(1, max(0, r2.Dot(w, d)/l))
		}
		best = min(best, r2.Norm2(r2.Sub(w, r2.Scale(t, d))))
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
		a = b
	}
	if in {
		return -math.Sqrt(best)
	}
	return math.Sqrt(best)
}
