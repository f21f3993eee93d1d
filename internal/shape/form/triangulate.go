package form

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Triangulate divides the region between loops into triangles that turn left.
// A loop is a closed ring of indices into pts, of either sense; a place is
// inside when it is surrounded by an odd number of loops, so the first may be an
// outline and the rest holes. Points in no loop that lie inside become corners
// too; those outside are left alone. Every edge of every loop is an edge of the
// result, which is otherwise the Delaunay triangulation: points are put in one
// by one with edge flips (Lawson 1977), loop edges that are missing are then
// forced by flips (Sloan, "A fast algorithm for generating constrained Delaunay
// triangulations", 1993). The result is the same every time.
//
// Loops that cross or touch, and points that coincide, are an error.
func Triangulate(pts []r2.Vec, loops ...[]int) ([][3]int, error) {
	d := newDivision(pts)
	for i := range pts {
		if math.IsNaN(pts[i].X+pts[i].Y) || math.IsInf(pts[i].X+pts[i].Y, 0) {
			return nil, fmt.Errorf("point %d is not a number", i)
		}
	}
	// Loops first: their points come in runs of neighbours, and so do the rest.
	seen := make([]bool, len(pts))
	for l, loop := range loops {
		if len(loop) < 3 {
			return nil, fmt.Errorf("loop %d has %d points; it needs three", l, len(loop))
		}
		for _, i := range loop {
			if seen[i] {
				return nil, fmt.Errorf("point %d is used twice in the loops", i)
			}
			seen[i] = true
			if err := d.insert(int32(i)); err != nil {
				return nil, err
			}
		}
	}
	for i := range pts {
		if !seen[i] {
			if err := d.insert(int32(i)); err != nil {
				return nil, err
			}
		}
	}
	for _, loop := range loops {
		for k, a := range loop {
			if err := d.force(int32(a), int32(loop[(k+1)%len(loop)])); err != nil {
				return nil, err
			}
		}
	}
	return d.inside(), nil
}

// cell is a triangle: corners turning left, and the cell across the edge from
// corner k to corner k+1, -1 at the rim.
type cell struct{ v, n [3]int32 }

// division is a triangulation of the whole surroundings of a set of points: its
// last three points are the corners of one large triangle around the others.
type division struct {
	p     []r2.Vec
	c     []cell
	at    []int32 // a cell at each point, -1 before it is in
	last  int32   // where the next search begins
	fixed map[[2]int32]bool
}

func newDivision(pts []r2.Vec) *division {
	lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, p := range pts {
		lo = r2.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
		hi = r2.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
	}
	mid, s := r2.Scale(0.5, r2.Add(lo, hi)), 64*(hi.X-lo.X+hi.Y-lo.Y)
	n := int32(len(pts))
	d := &division{p: make([]r2.Vec, 0, n+3), at: make([]int32, n+3), fixed: map[[2]int32]bool{}}
	d.p = append(append(d.p, pts...),
		r2.Add(mid, r2.Vec{X: -s, Y: -s}), r2.Add(mid, r2.Vec{X: s, Y: -s}), r2.Add(mid, r2.Vec{Y: s}))
	for i := range d.at {
		d.at[i] = -1
	}
	d.c = append(make([]cell, 0, 2*n+8), cell{[3]int32{n, n + 1, n + 2}, [3]int32{-1, -1, -1}})
	return d
}

func edge(a, b int32) [2]int32 { return [2]int32{min(a, b), max(a, b)} }

// set writes a cell and points its corners at it.
func (d *division) set(i int32, v, n [3]int32) {
	d.c[i] = cell{v, n}
	for _, p := range v {
		d.at[p] = i
	}
}

// relink tells cell i that the neighbour it knew as was is now is.
func (d *division) relink(i, was, is int32) {
	if i < 0 {
		return
	}
	for k := range d.c[i].n {
		if d.c[i].n[k] == was {
			d.c[i].n[k] = is
			return
		}
	}
}

// side is the number of the edge of cell i behind which cell j lies.
func (d *division) side(i, j int32) int {
	for k, n := range d.c[i].n {
		if n == j {
			return k
		}
	}
	panic("form: cells are not neighbours")
}

// locate walks from the last cell to the one that holds p.
func (d *division) locate(p r2.Vec) int32 {
	t := d.last
walk:
	for step := 0; step < len(d.c)+16; step++ {
		c := d.c[t]
		for j := 0; j < 3; j++ {
			k := (j + step) % 3 // a changing first edge keeps the walk from circling
			if c.n[k] >= 0 && turn(d.p[c.v[k]], d.p[c.v[(k+1)%3]], p) < 0 {
				t = c.n[k]
				continue walk
			}
		}
		return t
	}
	for i, c := range d.c { // only if the walk was led round
		if turn(d.p[c.v[0]], d.p[c.v[1]], p) >= 0 && turn(d.p[c.v[1]], d.p[c.v[2]], p) >= 0 &&
			turn(d.p[c.v[2]], d.p[c.v[0]], p) >= 0 {
			return int32(i)
		}
	}
	panic("form: a point lies outside the triangle around all points")
}

// insert puts point i in and makes the edges around it Delaunay.
func (d *division) insert(i int32) error {
	p := d.p[i]
	t := d.locate(p)
	c := d.c[t]
	on := -1
	for k := 0; k < 3; k++ {
		if d.p[c.v[k]] == p {
			return fmt.Errorf("points %d and %d coincide at (%g, %g)", c.v[k], i, p.X, p.Y)
		}
		if turn(d.p[c.v[k]], d.p[c.v[(k+1)%3]], p) == 0 {
			on = k
		}
	}
	n := int32(len(d.c))
	if on < 0 { // three cells from one
		d.c = append(d.c, cell{}, cell{})
		d.set(t, [3]int32{c.v[0], c.v[1], i}, [3]int32{c.n[0], n, n + 1})
		d.set(n, [3]int32{c.v[1], c.v[2], i}, [3]int32{c.n[1], n + 1, t})
		d.set(n+1, [3]int32{c.v[2], c.v[0], i}, [3]int32{c.n[2], t, n})
		d.relink(c.n[1], t, n)
		d.relink(c.n[2], t, n+1)
		d.last = t
		d.settle([][2]int32{{c.v[0], c.v[1]}, {c.v[1], c.v[2]}, {c.v[2], c.v[0]}})
		return nil
	}
	// Four cells from the two on either side of the edge a-b that p lies on.
	u := c.n[on]
	e := d.c[u]
	m := d.side(u, t)
	a, b, x := c.v[on], c.v[(on+1)%3], c.v[(on+2)%3]
	y := e.v[(m+2)%3]
	bx, xa := c.n[(on+1)%3], c.n[(on+2)%3]
	ay, yb := e.n[(m+1)%3], e.n[(m+2)%3]
	d.c = append(d.c, cell{}, cell{})
	d.set(t, [3]int32{a, i, x}, [3]int32{u, n, xa})
	d.set(n, [3]int32{i, b, x}, [3]int32{n + 1, bx, t})
	d.set(u, [3]int32{i, a, y}, [3]int32{t, ay, n + 1})
	d.set(n+1, [3]int32{b, i, y}, [3]int32{n, u, yb})
	d.relink(bx, t, n)
	d.relink(yb, u, n+1)
	d.last = t
	d.settle([][2]int32{{x, a}, {b, x}, {a, y}, {y, b}})
	return nil
}

// find is the cell that has the edge from a to b, and the edge's number; -1
// where there is none. It turns round a, whose cells form a full circle: a must
// not be a corner of the large triangle.
func (d *division) find(a, b int32) (int32, int) {
	first := d.at[a]
	for t := first; ; {
		c := &d.c[t]
		k := 0
		for c.v[k] != a {
			k++
		}
		if c.v[(k+1)%3] == b {
			return t, k
		}
		if t = c.n[(k+2)%3]; t < 0 || t == first {
			return -1, 0
		}
	}
}

// settle flips edges until the given ones and all that follow from them are
// Delaunay or fixed.
func (d *division) settle(todo [][2]int32) {
	large := int32(len(d.p) - 3)
	for len(todo) > 0 {
		a, b := todo[len(todo)-1][0], todo[len(todo)-1][1]
		todo = todo[:len(todo)-1]
		if a >= large {
			a, b = b, a
		}
		if a >= large || d.fixed[edge(a, b)] {
			continue
		}
		t, k := d.find(a, b)
		if t < 0 || d.c[t].n[k] < 0 {
			continue
		}
		u := d.c[t].n[k]
		x, y := d.c[t].v[(k+2)%3], d.c[u].v[(d.side(u, t)+2)%3]
		if inCircle(d.p[a], d.p[b], d.p[x], d.p[y]) && d.flip(t, k) {
			todo = append(todo, [2]int32{b, x}, [2]int32{x, a}, [2]int32{a, y}, [2]int32{y, b})
		}
	}
}

// flip turns the edge k of cell t into the other diagonal of its two cells,
// unless they do not form a strictly convex quadrilateral.
func (d *division) flip(t int32, k int) bool {
	c := d.c[t]
	u := c.n[k]
	e := d.c[u]
	m := d.side(u, t)
	a, b, x, y := c.v[k], c.v[(k+1)%3], c.v[(k+2)%3], e.v[(m+2)%3]
	if turn(d.p[y], d.p[b], d.p[x]) <= 0 || turn(d.p[x], d.p[a], d.p[y]) <= 0 {
		return false
	}
	bx, xa := c.n[(k+1)%3], c.n[(k+2)%3]
	ay, yb := e.n[(m+1)%3], e.n[(m+2)%3]
	d.set(t, [3]int32{y, b, x}, [3]int32{yb, bx, u})
	d.set(u, [3]int32{x, a, y}, [3]int32{xa, ay, t})
	d.relink(yb, u, t)
	d.relink(xa, t, u)
	return true
}
