package bvh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// entry is a node that waits on the stack of a query, with what made it wait.
type entry struct {
	key  float32
	kid  int32
	size int32 // triangles of a leaf, 0 for a node
}

// Nearest is the triangle nearest to p, the point of it nearest to p and the
// square of the distance; [None] and infinity for an empty tree. Of triangles
// equally near, one is chosen, always the same.
func (t *Tree) Nearest(p r3.Vec) (tri int, point r3.Vec, dist2 float64) {
	return t.NearestWithin(p, math.Inf(1))
}

// NearestWithin is Nearest among what lies nearer than the distance whose
// square is given; [None], the zero vector and the limit where nothing does. A
// limit known beforehand, such as the answer at a neighbouring point plus the
// way from there, saves time.
func (t *Tree) NearestWithin(p r3.Vec, limit2 float64) (tri int, point r3.Vec, dist2 float64) {
	slot, at, d := t.NearestBeside(p, None, limit2)
	if slot == None {
		return None, r3.Vec{}, limit2
	}
	return int(t.id[slot]), at, d
}

// NearestBeside is NearestWithin for the next of a run of neighbouring points: it
// takes and gives the slot of the nearest triangle, [None] for none. Beginning with
// the last answer, it need only look into the ball that this leaves. See
// [Tree.Slot].
func (t *Tree) NearestBeside(p r3.Vec, slot int32, limit2 float64) (next int32, point r3.Vec, dist2 float64) {
	if len(t.nodes) == 0 {
		return None, r3.Vec{}, limit2
	}
	p = r3.Sub(p, t.origin)
	q := [3]float64{p.X, p.Y, p.Z}
	best, found := limit2, None
	var at [3]float64
	if slot >= 0 {
		if c, d := closest(&t.tri[slot], q); d < best {
			best, found, at = d, int(slot), c
		}
	}
	best, found, at = t.nearest(q, best, found, at)
	if found < 0 {
		return None, r3.Vec{}, limit2
	}
	return int32(found), r3.Add(r3.Vec{X: at[0], Y: at[1], Z: at[2]}, t.origin), best
}

// Slot is the triangle in a slot, and the point of it nearest to p with the
// square of its distance.
func (t *Tree) Slot(slot int32, p r3.Vec) (tri int, point r3.Vec, dist2 float64) {
	p = r3.Sub(p, t.origin)
	at, d := closest(&t.tri[slot], [3]float64{p.X, p.Y, p.Z})
	return int(t.id[slot]), r3.Add(r3.Vec{X: at[0], Y: at[1], Z: at[2]}, t.origin), d
}

// nearest looks for anything nearer than the best so far, by place relative to
// the tree's origin.
func (t *Tree) nearest(q [3]float64, best float64, found int, at [3]float64) (float64, int, [3]float64) {
	// The query as a box in single precision that holds it: the distance
	// between boxes is then never more than the true one but for the rounding
	// of four operations, which slack covers.
	var lo, hi [3]float32
	for k := range 3 {
		lo[k], hi[k] = down(q[k]), up(q[k])
	}
	const slack = 1 + 1e-6
	best32 := up(best * slack)

	var stack [stackSize]entry
	stack[0] = entry{}
	top := 1
	for top > 0 {
		top--
		e := stack[top]
		if e.key > best32 {
			continue
		}
		if e.size > 0 {
			for i := e.kid; i < e.kid+e.size; i++ {
				c, d := closest(&t.tri[i], q)
				if d < best {
					best, found, at = d, int(i), c
				}
			}
			best32 = up(best * slack)
			continue
		}
		n := &t.nodes[e.kid]
		first := top
		for k := range width {
			x := gap(n.lo[0][k], n.hi[0][k], lo[0], hi[0])
			y := gap(n.lo[1][k], n.hi[1][k], lo[1], hi[1])
			z := gap(n.lo[2][k], n.hi[2][k], lo[2], hi[2])
			d := x*x + y*y + z*z
			if !(d <= best32) {
				continue
			}
			// Far ones below, near ones on top.
			i := top
			for i > first && stack[i-1].key < d {
				stack[i] = stack[i-1]
				i--
			}
			stack[i] = entry{d, n.kid[k], n.count[k]}
			top++
		}
	}
	return best, found, at
}

// gap is the distance between two intervals, 0 where they overlap.
func gap(alo, ahi, blo, bhi float32) float32 {
	return max(alo-bhi, blo-ahi, 0)
}

// closest is the point of a triangle closest to q and the square of its
// distance, by the region of the triangle's plane that q projects to (Ericson,
// Real-Time Collision Detection, 2005, section 5.1.5).
func closest(t *[3]corner, q [3]float64) ([3]float64, float64) {
	a := &t[0]
	abx, aby, abz := t[1][0]-a[0], t[1][1]-a[1], t[1][2]-a[2]
	acx, acy, acz := t[2][0]-a[0], t[2][1]-a[1], t[2][2]-a[2]
	apx, apy, apz := q[0]-a[0], q[1]-a[1], q[2]-a[2]

	d1 := abx*apx + aby*apy + abz*apz
	d2 := acx*apx + acy*apy + acz*apz
	bb := abx*abx + aby*aby + abz*abz
	bc := abx*acx + aby*acy + abz*acz
	cc := acx*acx + acy*acy + acz*acz
	d3, d4 := d1-bb, d2-bc
	d5, d6 := d1-bc, d2-cc

	var v, w float64 // the point is a + v ab + w ac
	vc := d1*d4 - d3*d2
	vb := d5*d2 - d1*d6
	va := d3*d6 - d5*d4
	switch {
	case d1 <= 0 && d2 <= 0:
	case d3 >= 0 && d4 <= d3:
		v = 1
	case d6 >= 0 && d5 <= d6:
		w = 1
	case vc <= 0 && d1 >= 0 && d3 <= 0:
		v = d1 / (d1 - d3)
	case vb <= 0 && d2 >= 0 && d6 <= 0:
		w = d2 / (d2 - d6)
	case va <= 0 && d4 >= d3 && d5 >= d6:
		w = (d4 - d3) / ((d4 - d3) + (d5 - d6))
		v = 1 - w
	default:
		s := 1 / (va + vb + vc)
		v, w = vb*s, vc*s
	}
	dx, dy, dz := v*abx+w*acx-apx, v*aby+w*acy-apy, v*abz+w*acz-apz
	return [3]float64{q[0] + dx, q[1] + dy, q[2] + dz}, dx*dx + dy*dy + dz*dz
}
