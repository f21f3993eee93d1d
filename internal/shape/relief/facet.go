package relief

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// facet is a triangle that a tool is lowered onto. The height of the tip, as a
// function of the plan, is concave (its negative is what [swept] is for a move),
// because triangle and tool are convex.
type facet struct {
	p [3]r3.Vec
	n r3.Vec // unit, Z ≥ 0; a wall has Z = 0
	// edges are the sides as moves upside down: a tool lowered onto an edge is the
	// edge swept by the tool, seen from below.
	edges [3]swept
	turn  float64 // twice the area in plan, negative where the corners go clockwise
	mid   [2]float64
	round float64 // no corner is farther from mid in plan
	top   float64 // the highest corner
}

// upright is the Z of a normal below which a facet counts as a wall, touched at
// its edges only.
const upright = 1e-7

func newFacet(a, b, c r3.Vec) facet {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	if l := r3.Norm(n); l > 0 {
		n = r3.Scale(1/l, n)
	}
	if n.Z < 0 {
		n = r3.Scale(-1, n) // a sheet may be touched from either side
	}
	if n.Z < upright {
		n = r3.Vec{}
	}
	f := facet{p: [3]r3.Vec{a, b, c}, n: n, turn: cross2(a, b, c.X, c.Y)}
	f.mid = [2]float64{(a.X + b.X + c.X) / 3, (a.Y + b.Y + c.Y) / 3}
	f.top = max(a.Z, b.Z, c.Z)
	for e := range 3 {
		a, b := f.p[e], f.p[(e+1)%3]
		f.round = math.Max(f.round, math.Hypot(a.X-f.mid[0], a.Y-f.mid[1]))
		f.edges[e] = newSwept([3]float64{a.X, a.Y, -a.Z}, [3]float64{b.X, b.Y, -b.Z})
	}
	return f
}

// touch is the highest tip of the tool over (x, y) that touches the facet: the
// edge it touches (0 to 2), or 3 for the inside; −1 where the tool passes by.
func (f *facet) touch(t Tool, x, y float64) (z float64, on int) {
	var out [3]bool
	if f.n.Z > 0 {
		var hit bool
		if z, hit, out = f.inside(t, x, y); hit {
			return z, 3
		}
	} else {
		out = [3]bool{true, true, true}
	}
	// What is best over the plane lies beyond these edges, so what is best over
	// the triangle lies on one of them.
	z, on = math.Inf(-1), -1
	for e := range 3 {
		if !out[e] {
			continue
		}
		if h := -f.edges[e].at(t, x, y); h > z {
			z, on = h, e
		}
	}
	return z, on
}

// inside is the height of the tip that touches the facet's plane, whether it
// touches within the triangle, and beyond which edges it does not.
func (f *facet) inside(t Tool, x, y float64) (z float64, hit bool, out [3]bool) {
	n := f.n
	px, py := x, y
	if h := math.Hypot(n.X, n.Y); h > 1e-12 {
		reach := t.flat()/h + t.Corner
		px -= n.X * reach
		py -= n.Y * reach
	}
	hit = true
	// Which side of an edge is inside depends on how the triangle goes round.
	for e := range 3 {
		if side := cross2(f.p[e], f.p[(e+1)%3], px, py); side*f.turn < 0 {
			hit, out[e] = false, true
		}
	}
	if hit {
		a := f.p[0]
		z = a.Z - (n.X*(px-a.X)+n.Y*(py-a.Y))/n.Z - t.Corner*(1-n.Z)
	}
	return z, hit, out
}

func cross2(a, b r3.Vec, x, y float64) float64 {
	return (b.X-a.X)*(y-a.Y) - (b.Y-a.Y)*(x-a.X)
}

// plane is a plane that lies over the heights of the tip everywhere: its height
// at a point of the plan and its slopes.
//
// Where the tool touches the function has one slope, that of what it touches,
// and being concave it stays below. Off the facet, or where the slope is too
// steep to be of use, the nearest place nearer to it is taken. The square edge of
// a flat end makes kinks, where slopes of single edges do not bound the whole: a
// bull nose that the end fits into has none, and touches no lower.
func (f *facet) plane(t Tool, x, y float64) (z, gx, gy float64) {
	if t.Corner == 0 {
		t = Bull(t.Radius*1.05, t.Radius*0.05)
	}
	z, on := f.touch(t, x, y)
	if on == 3 {
		return z, -f.n.X / f.n.Z, -f.n.Y / f.n.Z
	}
	if on >= 0 {
		if sx, sy := f.edges[on].grade(t, x, y); sx*sx+sy*sy < 9 {
			return z, -sx, -sy
		}
	}
	nx, ny := f.nearest(x, y)
	dx, dy := x-nx, y-ny
	if d := math.Hypot(dx, dy); d > near*t.Radius {
		dx *= near * t.Radius / d
		dy *= near * t.Radius / d
	}
	px, py := nx+dx, ny+dy
	z, on = f.touch(t, px, py)
	switch {
	case on < 0:
		return f.top, 0, 0
	case on == 3:
		gx, gy = -f.n.X/f.n.Z, -f.n.Y/f.n.Z
	default:
		gx, gy = f.edges[on].grade(t, px, py)
		gx, gy = -gx, -gy
	}
	return z + gx*(x-px) + gy*(y-py), gx, gy
}

// nearest is the point of the triangle's plan that is nearest to (x, y).
func (f *facet) nearest(x, y float64) (nx, ny float64) {
	best, in := math.Inf(1), f.turn != 0
	for e := range 3 {
		a, b := f.p[e], f.p[(e+1)%3]
		if cross2(a, b, x, y)*f.turn < 0 {
			in = false
		}
		dx, dy := b.X-a.X, b.Y-a.Y
		u := 0.0
		if l2 := dx*dx + dy*dy; l2 > 0 {
			u = math.Min(math.Max(((x-a.X)*dx+(y-a.Y)*dy)/l2, 0), 1)
		}
		px, py := a.X+u*dx, a.Y+u*dy
		if d := (px-x)*(px-x) + (py-y)*(py-y); d < best {
			best, nx, ny = d, px, py
		}
	}
	if in {
		return x, y
	}
	return nx, ny
}
