package cavity

import (
	"context"
	"math"

	"fettle/internal/shape/cores"
	"fettle/internal/shape/field"
)

// rollPoints bounds the coarse grid that the sphere rolls on.
const rollPoints = 1.5e6

// roll marks the cells of the void that the rolling sphere does not get into.
//
// A point is reached where some sphere of that radius or a larger one, clear of
// the part, covers it: min(|x − c|² − D(c)²) ≤ 0 over the centres c with
// D(c) ≥ R that hang together with the outside. The squares make it a power
// distance (see [field.Power]). Taking D(c) and not R for each sphere, a coarse
// grid of centres does: a centre that is a cell h off its best place makes its
// sphere fall short by h²/2R only. The least power, less |x|², is concave in
// pieces of planes, so that it may be interpolated to the fine grid.
func (f *finder) roll(ctx context.Context) error {
	r := f.radius
	s := f.box.Size()
	pad := 2 * (r + 0.2*r)
	h := max(f.Cell, r/12, math.Cbrt((s.X+pad)*(s.Y+pad)*(s.Z+pad)/rollPoints))
	g := field.GridFor(f.box, h, r+3*h)
	d, err := field.Distance(ctx, f.Tree, g)
	if err != nil {
		return err
	}
	power := make([]float32, g.Len())
	for i := range power {
		power[i] = field.NoCentre
	}
	for _, at := range outside(d, float32(r)) {
		power[at] = -d.D[at] * d.D[at]
	}
	if err := field.Power(ctx, power, g); err != nil {
		return err
	}
	// What distances far off the surface may be too long by is no room.
	limit := 2 * r * (max(0.3*f.Cell, 0.1*h) + h*h/(2*r))
	return f.compare(ctx, power, g, float32(limit))
}

// outside lists the points with room for a sphere that can be reached from the
// grid's border over such points.
func outside(d *field.Field, r float32) []int32 {
	n := d.N
	free := make([]bool, d.Len())
	for i, v := range d.D {
		free[i] = v >= r
	}
	var queue []int32
	push := func(at int) {
		if free[at] {
			free[at] = false
			queue = append(queue, int32(at))
		}
	}
	for k := range n[2] {
		for j := range n[1] {
			for i := range n[0] {
				if i == 0 || j == 0 || k == 0 || i == n[0]-1 || j == n[1]-1 || k == n[2]-1 {
					push(d.Index(i, j, k))
				}
			}
		}
	}
	for next := 0; next < len(queue); next++ {
		eachBeside(&d.Grid, int(queue[next]), func(at, _ int) { push(at) })
	}
	return queue
}

// eachBeside calls f with each of the up to six cells that share a side with a
// cell; side is 2·axis, and one more on the upper side.
func eachBeside(g *field.Grid, at int, f func(at, side int)) {
	i, j, k := g.Split(at)
	step := 1
	for axis, x := range [3]int{i, j, k} {
		if x > 0 {
			f(at-step, 2*axis)
		}
		if x+1 < g.N[axis] {
			f(at+step, 2*axis+1)
		}
		step *= g.N[axis]
	}
}

// compare marks the fine cells of the void whose least power is above a limit.
func (f *finder) compare(ctx context.Context, power []float32, g field.Grid, limit float32) error {
	h := g.Cell
	split := func(x float64, n int) (int, float32) {
		i := min(max(int(x), 0), n-2)
		return i, float32(x - float64(i))
	}
	bend := func(t float32) float32 { return t * (1 - t) * float32(h*h) }
	nx := f.N[0]
	type node struct {
		i int
		t float32
	}
	along := make([]node, nx)
	for i := range along {
		a, t := split((f.Origin.X+float64(i)*f.Cell-g.Origin.X)/h, g.N[0])
		along[i] = node{a, t}
	}
	return cores.Each(ctx, f.N[2], func(k int) {
		row := make([]float32, g.N[0])
		c, tz := split((f.Origin.Z+float64(k)*f.Cell-g.Origin.Z)/h, g.N[2])
		for j := range f.N[1] {
			b, ty := split((f.Origin.Y+float64(j)*f.Cell-g.Origin.Y)/h, g.N[1])
			p := power[(c*g.N[1]+b)*g.N[0]:]
			up, in := g.N[0], g.N[0]*g.N[1]
			for i := range row {
				lo := p[i] + ty*(p[i+up]-p[i])
				hi := p[i+in] + ty*(p[i+in+up]-p[i+in])
				row[i] = lo + tz*(hi-lo)
			}
			less := bend(ty) + bend(tz)
			at := f.Index(0, j, k)
			for i, n := range along {
				if f.D[at+i] > 0 && row[n.i]+n.t*(row[n.i+1]-row[n.i])-less-bend(n.t) > limit {
					f.state[at+i] |= left
				}
			}
		}
	})
}
