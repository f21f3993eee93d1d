package survey

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// plan is an opening's walls cut across its axis.
type plan struct {
	s        *surveyor
	at       r3.Vec // origin, on the level of the cut
	x, y     r3.Vec
	lines    []line
	total    float64
	openEnds int
}

// line is one wall facet's cut; in points into the void.
type line struct {
	p, q, in r2.Vec
	face     int32
}

// facingCos is how straight two walls look at each other for the way between them
// to count as a clear width.
var facingCos = math.Cos(3 * math.Pi / 180)

// spot is a place on the true surface of a wall, and the way into the void.
type spot struct {
	at, in r2.Vec
	face   int32
}

// cut makes the plan of upright walls at a height.
func (s *surveyor) cut(walls []int32, at, axis r3.Vec, height float64) *plan {
	p := &plan{s: s, at: r3.Add(at, r3.Scale(height, axis)), x: geom.Perpendicular(axis)}
	p.y = r3.Cross(axis, p.x)
	ends := map[[2]uint32]int{} // cut mesh edges, and how often each was met
	for _, f := range walls {
		for _, t := range s.p.Faces[f].Tris {
			v := s.m.Tri[t]
			var pts []r2.Vec
			var at [][2]uint32
			for k := range 3 {
				i, j := v[k], v[(k+1)%3]
				a, b := r3.Sub(s.m.Pos[i], p.at), r3.Sub(s.m.Pos[j], p.at)
				ha, hb := r3.Dot(a, axis), r3.Dot(b, axis)
				if (ha > 0) == (hb > 0) {
					continue
				}
				c := r3.Add(a, r3.Scale(ha/(ha-hb), r3.Sub(b, a)))
				pts = append(pts, r2.Vec{X: r3.Dot(c, p.x), Y: r3.Dot(c, p.y)})
				at = append(at, [2]uint32{min(i, j), max(i, j)})
			}
			if len(pts) != 2 {
				continue
			}
			n := s.p.Normal[t]
			in := r2.Vec{X: r3.Dot(n, p.x), Y: r3.Dot(n, p.y)}
			ends[at[0]]++
			ends[at[1]]++
			if l := r2.Norm(in); l > 0.5 {
				p.lines = append(p.lines, line{pts[0], pts[1], r2.Scale(1/l, in), f})
				p.total += r2.Norm(r2.Sub(pts[1], pts[0]))
			}
		}
	}
	for _, n := range ends {
		if n == 1 {
			p.openEnds++
		}
	}
	return p
}

// corrected is how far the facet lies in front of the true wall at a place:
// the height of its chord.
func (p *plan) corrected(face int32, at r2.Vec) float64 {
	f := &p.s.p.Faces[face]
	if f.Kind == geom.Free || f.Kind == geom.Plane {
		return 0
	}
	q := r3.Add(p.at, r3.Add(r3.Scale(at.X, p.x), r3.Scale(at.Y, p.y)))
	return math.Abs(f.Distance(q))
}

// spots are about n places spread evenly along the walls, at least one on each
// line when there are few.
func (p *plan) spots(n int) []spot {
	step := p.total / float64(n)
	var out []spot
	next := step / 2
	for _, l := range p.lines {
		d := r2.Sub(l.q, l.p)
		long := r2.Norm(d)
		for next < long {
			at := r2.Add(l.p, r2.Scale(next/long, d))
			out = append(out, p.true(l, at))
			next += step
		}
		next -= long
	}
	return out
}

// true is the place of the wall's own surface behind a place on a facet, and its
// own direction into the void.
func (p *plan) true(l line, at r2.Vec) spot {
	in := l.in
	f := &p.s.p.Faces[l.face]
	if f.Kind == geom.Cylinder || f.Kind == geom.Cone {
		n := f.Normal(p.point(at))
		d := r2.Vec{X: r3.Dot(n, p.x), Y: r3.Dot(n, p.y)}
		if k := r2.Norm(d); k > 0.5 {
			in = r2.Scale(1/k, d)
		}
	}
	return spot{r2.Sub(at, r2.Scale(p.corrected(l.face, at), in)), in, l.face}
}

// clear is the distance straight across the void from a spot to a wall that
// looks back; infinite where there is none.
func (p *plan) clear(s spot) float64 {
	best := math.Inf(1)
	facing := false
	for _, l := range p.lines {
		// s.at + t in = l.p + u (l.q − l.p)
		d := r2.Sub(l.q, l.p)
		den := r2.Cross(s.in, d)
		if den == 0 {
			continue
		}
		w := r2.Sub(l.p, s.at)
		t := r2.Cross(w, d) / den
		u := r2.Cross(w, s.in) / den
		if t <= 1e-9*p.s.diag || u < -1e-9 || u > 1+1e-9 || t >= best {
			continue
		}
		back := -r2.Dot(s.in, l.in)
		if back < 0 {
			continue // seen from behind: the spot's own wall, corrected
		}
		hit := r2.Add(s.at, r2.Scale(t, s.in))
		back = -r2.Dot(s.in, p.true(l, hit).in)
		best, facing = t+p.corrected(l.face, hit)/max(back, 0.5), back > facingCos
	}
	if !facing {
		return math.Inf(1)
	}
	return best
}

// ball is the radius of the largest circle in the void that touches the walls
// at a spot (Ma, Bae and Choi, "3D medial axis point approximation using nearest
// neighbors and the normal field", The Visual Computer 28, 2012), as far as the
// other spots tell.
func ball(s spot, all []spot) float64 {
	r := math.Inf(1)
	for _, o := range all {
		d := r2.Sub(o.at, s.at)
		if h := r2.Dot(d, s.in); h > 1e-12 {
			r = min(r, r2.Norm2(d)/(2*h))
		}
	}
	return r
}

// widen moves the spot with the largest circle along its wall to where that is
// largest, and returns its diameter and centre.
func (p *plan) widen(s spot, r float64, all []spot) (float64, r2.Vec) {
	along := r2.Vec{X: -s.in.Y, Y: s.in.X}
	step := p.total / float64(max(1, len(all)))
	if f := &p.s.p.Faces[s.face]; f.Kind == geom.Plane && r > 0 {
		for range 4 {
			from := s
			for i := -4; i <= 4; i++ {
				q := from
				q.at = r2.Add(from.at, r2.Scale(step*float64(i)/4, along))
				if b := min(ball(q, all), p.clear(q)/2); b > r && !math.IsInf(b, 1) {
					r, s = b, q
				}
			}
			step /= 4
		}
	}
	return 2 * r, r2.Add(s.at, r2.Scale(r, s.in))
}

// box is the smallest rectangle with a side along one of the walls that holds
// them all: its sides, longer first, its middle and
// the direction of the longer.
func (p *plan) box() (long, short float64, mid, dir r2.Vec) {
	best := math.Inf(1)
	try := func(d r2.Vec) {
		e := r2.Vec{X: -d.Y, Y: d.X}
		lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
		for _, l := range p.lines {
			for _, q := range [2]r2.Vec{l.p, l.q} {
				for k, a := range [2]r2.Vec{d, e} {
					h := r2.Dot(q, a)
					lo[k], hi[k] = min(lo[k], h), max(hi[k], h)
				}
			}
		}
		u, v := hi[0]-lo[0], hi[1]-lo[1]
		if u*v >= best*(1-1e-9) {
			return
		}
		best = u * v
		mid = r2.Add(r2.Scale((lo[0]+hi[0])/2, d), r2.Scale((lo[1]+hi[1])/2, e))
		long, short, dir = u, v, d
		if v > u {
			long, short, dir = v, u, e
		}
	}
	// Flat walls know best how the opening lies; without any, all lines are tried,
	// to the nearest eighth of a degree.
	tried := map[int]bool{}
	for _, flat := range []bool{true, false} {
		for _, l := range p.lines {
			if flat != (p.s.p.Faces[l.face].Kind == geom.Plane) || !flat && len(tried) > 0 && tried[-1] {
				continue
			}
			d := r2.Sub(l.q, l.p)
			n := r2.Norm(d)
			if n < 1e-9*p.s.diag {
				continue
			}
			d = r2.Scale(1/n, d)
			key := int(math.Round(math.Mod(math.Atan2(d.Y, d.X)+2*math.Pi, math.Pi/2) * 720))
			if !tried[key] {
				tried[key] = true
				try(d)
			}
		}
		if flat && len(tried) > 0 {
			tried[-1] = true
		}
	}
	if len(tried) == 0 {
		try(r2.Vec{X: 1})
	}
	return long, short, mid, dir
}

// point is a place of the plan in space.
func (p *plan) point(v r2.Vec) r3.Vec {
	return r3.Add(p.at, r3.Add(r3.Scale(v.X, p.x), r3.Scale(v.Y, p.y)))
}
