package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// MaxConcave is the most corners that a polygon with inward corners may have:
// cutting one takes time with the square of their number.
const MaxConcave = 4096

// CutPolygon cuts a polygon in space into triangles over its corners, counter-
// clockwise like the polygon, and appends them to dst. It works in the plane of
// the polygon's normal by Newell's method. A polygon with only outward corners
// is cut from corner to corner; one with inward corners by taking off ears
// (G. H. Meisters, "Polygons have ears", 1975), never over a corner that lies
// in between. ok is false where no clean cut exists, because the polygon
// crosses itself or has no area; it is then cut all the same, except when it
// has more than [MaxConcave] corners or fewer than 3.
func CutPolygon(p []r3.Vec, dst [][3]uint32) (tri [][3]uint32, ok bool) {
	n := len(p)
	switch {
	case n < 3:
		return dst, false
	case n == 3:
		return append(dst, [3]uint32{0, 1, 2}), true
	}
	q := flatten(p)
	if n == 4 {
		return cutQuad(p, q, dst)
	}
	if convex(q) {
		for i := 1; i+1 < n; i++ {
			dst = append(dst, [3]uint32{0, uint32(i), uint32(i + 1)})
		}
		return dst, true
	}
	if n > MaxConcave {
		return dst, false
	}
	return cutEars(q, dst)
}

// flatten drops the axis along which the polygon's normal is largest, turned so
// that the polygon stays counter-clockwise.
func flatten(p []r3.Vec) [][2]float64 {
	var n r3.Vec
	for i, a := range p {
		b := p[(i+1)%len(p)]
		a, b = r3.Sub(a, p[0]), r3.Sub(b, p[0])
		n = r3.Add(n, r3.Cross(a, b))
	}
	q := make([][2]float64, len(p))
	x, y, z := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	for i, v := range p {
		var s float64
		switch {
		case z >= x && z >= y:
			q[i], s = [2]float64{v.X, v.Y}, n.Z
		case y >= x:
			q[i], s = [2]float64{v.Z, v.X}, n.Y
		default:
			q[i], s = [2]float64{v.Y, v.Z}, n.X
		}
		if s < 0 {
			q[i][0] = -q[i][0]
		}
	}
	return q
}

// turnOf is twice the area of the triangle, positive if it turns left.
func turnOf(a, b, c [2]float64) float64 {
	return float64((b[0]-a[0])*(c[1]-a[1])) - float64((b[1]-a[1])*(c[0]-a[0]))
}

// cutQuad takes the shorter of the diagonals that leave both halves upright.
func cutQuad(p []r3.Vec, q [][2]float64, dst [][3]uint32) ([][3]uint32, bool) {
	a := min(turnOf(q[0], q[1], q[2]), turnOf(q[0], q[2], q[3]))
	b := min(turnOf(q[1], q[2], q[3]), turnOf(q[1], q[3], q[0]))
	short := r3.Norm2(r3.Sub(p[2], p[0])) <= r3.Norm2(r3.Sub(p[3], p[1]))
	if a > 0 && (short || b <= 0) || b <= 0 && a >= b {
		return append(dst, [3]uint32{0, 1, 2}, [3]uint32{0, 2, 3}), a > 0
	}
	return append(dst, [3]uint32{1, 2, 3}, [3]uint32{1, 3, 0}), b > 0
}

// convex reports whether every corner turns left and the polygon goes round
// once only, which it does if its direction changes sides twice along an axis.
func convex(q [][2]float64) bool {
	n, changes := len(q), 0
	last := 0
	for i := range q {
		a, b, c := q[i], q[(i+1)%n], q[(i+2)%n]
		if turnOf(a, b, c) <= 0 {
			return false
		}
	}
	for i := 0; i <= n; i++ {
		d := q[(i+1)%n][0] - q[i%n][0]
		s := 0
		if d > 0 {
			s = 1
		} else if d < 0 {
			s = -1
		}
		if s != 0 {
			if last != 0 && s != last {
				changes++
			}
			last = s
		}
	}
	return changes <= 2
}

// cutEars takes ears off until three corners are left.
func cutEars(q [][2]float64, dst [][3]uint32) ([][3]uint32, bool) {
	n := len(q)
	next, prev := make([]int32, n), make([]int32, n)
	for i := range q {
		next[i], prev[i] = int32((i+1)%n), int32((i+n-1)%n)
	}
	// Only corners that do not turn left can lie in an ear.
	inward := make([]bool, n)
	var blockers []int32
	for i := range q {
		if turnOf(q[prev[i]], q[i], q[next[i]]) <= 0 {
			inward[i] = true
			blockers = append(blockers, int32(i))
		}
	}
	gone := make([]bool, n)
	ok := true
	at, missed := int32(0), 0
	for left := n; left > 3; {
		a, c := prev[at], next[at]
		ear := missed > left // nothing fits: take whatever comes
		if ear {
			ok = false
		} else {
			ear = !inward[at] && free(q, blockers, gone, inward, a, at, c)
		}
		if !ear {
			at = c
			missed++
			continue
		}
		dst = append(dst, [3]uint32{uint32(a), uint32(at), uint32(c)})
		next[a], prev[c] = c, a
		gone[at] = true
		left--
		missed = 0
		for _, i := range [2]int32{a, c} {
			was := inward[i]
			inward[i] = turnOf(q[prev[i]], q[i], q[next[i]]) <= 0
			if inward[i] && !was {
				blockers = append(blockers, i)
			}
		}
		at = next[c] // skipping one keeps the triangles from becoming a fan of needles
		if left <= 4 {
			at = c
		}
	}
	a := at
	b, c := next[a], next[next[a]]
	if turnOf(q[a], q[b], q[c]) <= 0 {
		ok = false
	}
	return append(dst, [3]uint32{uint32(a), uint32(b), uint32(c)}), ok
}

// free reports whether no inward corner lies in the triangle a b c or on its
// rim, apart from ones at the very place of its corners.
func free(q [][2]float64, blockers []int32, gone, inward []bool, a, b, c int32) bool {
	pa, pb, pc := q[a], q[b], q[c]
	for _, i := range blockers {
		if gone[i] || !inward[i] || i == a || i == b || i == c {
			continue
		}
		p := q[i]
		if p == pa || p == pb || p == pc {
			continue
		}
		if turnOf(pa, pb, p) >= 0 && turnOf(pb, pc, p) >= 0 && turnOf(pc, pa, p) >= 0 {
			return false
		}
	}
	return true
}
