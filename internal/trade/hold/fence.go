package hold

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// fence is a region's border, in bins by Y, for distances between borders while one
// of them slides along X.
type fence struct {
	rows   rows
	lo, hi r2.Vec
	low    float64
	step   float64
	bins   [][]segment
	all    []segment
	starts []r2.Vec // a corner of each loop
}

type segment struct{ a, b r2.Vec }

func newFence(r region.Region) *fence {
	f := &fence{rows: newRows(r)}
	f.lo, f.hi = r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, l := range r.Loops {
		if len(l) > 0 {
			f.starts = append(f.starts, l[0])
		}
		for i, a := range l {
			f.all = append(f.all, segment{a, l[(i+1)%len(l)]})
			f.lo = r2.Vec{X: min(f.lo.X, a.X), Y: min(f.lo.Y, a.Y)}
			f.hi = r2.Vec{X: max(f.hi.X, a.X), Y: max(f.hi.Y, a.Y)}
		}
	}
	if len(f.all) == 0 {
		return f
	}
	n := min(len(f.all)/4+1, 128)
	f.low, f.step = f.lo.Y, max((f.hi.Y-f.lo.Y)/float64(n), 1e-9)
	f.bins = make([][]segment, n)
	for _, s := range f.all {
		for i, to := f.bin(min(s.a.Y, s.b.Y)), f.bin(max(s.a.Y, s.b.Y)); i <= to; i++ {
			f.bins[i] = append(f.bins[i], s)
		}
	}
	return f
}

func (f *fence) bin(y float64) int {
	t := (y - f.low) / f.step
	return min(len(f.bins)-1, max(0, int(max(-1, min(t, 1e6)))))
}

// distance is how far the region of g, moved by dx along X, is from that of f, or
// most where it is at least as far; 0 where they meet.
func (f *fence) distance(g *fence, dx, most float64) float64 {
	if len(f.all) == 0 || len(g.all) == 0 ||
		math.Hypot(gapBetween(f.lo.X, f.hi.X, g.lo.X+dx, g.hi.X+dx), gapBetween(f.lo.Y, f.hi.Y, g.lo.Y, g.hi.Y)) >= most {
		return most
	}
	for _, p := range g.starts {
		if f.rows.holds(r2.Vec{X: p.X + dx, Y: p.Y}) {
			return 0
		}
	}
	for _, p := range f.starts {
		if g.rows.holds(r2.Vec{X: p.X - dx, Y: p.Y}) {
			return 0
		}
	}
	best := most
	for _, s := range g.all {
		s.a.X += dx
		s.b.X += dx
		x0, x1 := min(s.a.X, s.b.X), max(s.a.X, s.b.X)
		y0, y1 := min(s.a.Y, s.b.Y), max(s.a.Y, s.b.Y)
		if gapBetween(f.lo.X, f.hi.X, x0, x1) >= best || gapBetween(f.lo.Y, f.hi.Y, y0, y1) >= best {
			continue
		}
		for i, to := f.bin(y0-best), f.bin(y1+best); i <= to; i++ {
			for _, t := range f.bins[i] {
				if gapBetween(min(t.a.X, t.b.X), max(t.a.X, t.b.X), x0, x1) >= best ||
					gapBetween(min(t.a.Y, t.b.Y), max(t.a.Y, t.b.Y), y0, y1) >= best {
					continue
				}
				if best = min(best, s.distance(t)); best == 0 {
					return 0
				}
			}
		}
	}
	return best
}

// gapBetween is how far two stretches are from one another, 0 where they meet.
func gapBetween(a0, a1, b0, b1 float64) float64 { return max(0, b0-a1, a0-b1) }

// meets are the shifts along X at which the region of g shares a place with that of
// f. Between the heights of two neighbouring corners of either, the stretches of both
// on a line along X change evenly with its height, and so do the first and the last
// shift at which two of them meet: those at the ends are the outermost.
func (f *fence) meets(g *fence) []span {
	if len(f.all) == 0 || len(g.all) == 0 {
		return nil
	}
	low, high := max(f.lo.Y, g.lo.Y), min(f.hi.Y, g.hi.Y)
	if low >= high {
		return nil
	}
	heights := []float64{low, high}
	for _, s := range slices.Concat(f.all, g.all) {
		if s.a.Y > low && s.a.Y < high {
			heights = append(heights, s.a.Y)
		}
	}
	slices.Sort(heights)
	heights = slices.Compact(heights)
	list := func(r rows, y float64) (out []span) {
		r.at(y, func(s span) { out = append(out, s) })
		return out
	}
	var out []span
	for i, y := range heights[1:] {
		// At a third and at two thirds of the way: clear of the corners.
		y0 := heights[i]
		a, b := y0+(y-y0)/3, y-(y-y0)/3
		fa, fb, ga, gb := list(f.rows, a), list(f.rows, b), list(g.rows, a), list(g.rows, b)
		if len(fa) != len(fb) || len(ga) != len(gb) {
			continue // the strip is thinner than rounding
		}
		for i := range fa {
			for k := range ga {
				first, first2 := fa[i].from-ga[k].to, fb[i].from-gb[k].to
				last, last2 := fa[i].to-ga[k].from, fb[i].to-gb[k].from
				out = append(out, span{
					min(2*first-first2, 2*first2-first), max(2*last-last2, 2*last2-last),
				})
			}
		}
		if len(out) > 4096 {
			out = joined(out)
		}
	}
	return joined(out)
}

// joined are stretches in order, those that overlap as one.
func joined(list []span) []span {
	slices.SortFunc(list, func(a, b span) int { return cmp.Compare(a.from, b.from) })
	out := list[:0]
	for _, s := range list {
		if n := len(out); n > 0 && s.from <= out[n-1].to {
			out[n-1].to = max(out[n-1].to, s.to)
			continue
		}
		out = append(out, s)
	}
	return out
}

// distance is that of two segments, 0 where they cross.
func (s segment) distance(t segment) float64 {
	side := func(u segment, p r2.Vec) float64 {
		return (u.b.X-u.a.X)*(p.Y-u.a.Y) - (u.b.Y-u.a.Y)*(p.X-u.a.X)
	}
	if side(s, t.a)*side(s, t.b) < 0 && side(t, s.a)*side(t, s.b) < 0 {
		return 0
	}
	return math.Sqrt(min(s.to(t.a), s.to(t.b), t.to(s.a), t.to(s.b)))
}

// to is the square of the distance of a point.
func (s segment) to(p r2.Vec) float64 {
	dx, dy, qx, qy := s.b.X-s.a.X, s.b.Y-s.a.Y, p.X-s.a.X, p.Y-s.a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(1, max(0, (qx*dx+qy*dy)/l))
	}
	qx -= t * dx
	qy -= t * dy
	return qx*qx + qy*qy
}
