package region

import (
	"cmp"
	"math"
	"math/big"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r2"
)

// pt is a point of the grid. All decisions about sides and order are made on
// these whole numbers and are exact.
type pt struct{ x, y int64 }

const (
	perMM = 1e6
	// farthest keeps differences of coordinates exact as float64: 2250 km.
	farthest = 1 << 51
)

// onGrid is the point of the grid nearest to p.
func onGrid(p r2.Vec) pt {
	x, y := math.Round(p.X*perMM), math.Round(p.Y*perMM)
	if !(math.Abs(x) <= farthest && math.Abs(y) <= farthest) {
		panic("region: a corner is no number or lies out of all reach")
	}
	return pt{int64(x), int64(y)}
}

// vec divides, so that what prints as a short decimal comes back as one.
func (p pt) vec() r2.Vec { return r2.Vec{X: float64(p.x) / perMM, Y: float64(p.y) / perMM} }

// order puts points from left to right, then upwards.
func order(a, b pt) int {
	if c := cmp.Compare(a.x, b.x); c != 0 {
		return c
	}
	return cmp.Compare(a.y, b.y)
}

// cross is the cross product of two vectors where it fits in 62 bits, and only
// its sign, as a huge number, otherwise. The float64 product is wrong by less
// than 2⁵⁴, so below 2⁶⁰ the whole numbers, which wrap round, have not done so.
func cross(ux, uy, vx, vy int64) int64 {
	f := float64(ux)*float64(vy) - float64(uy)*float64(vx)
	switch {
	case f > 1<<61:
		return math.MaxInt64
	case f < -(1 << 61):
		return -math.MaxInt64
	}
	return ux*vy - uy*vx
}

// turn is above 0 when a, b, c turn left, below when they turn right, 0 when they
// lie on one line.
func turn(a, b, c pt) int64 { return cross(b.x-a.x, b.y-a.y, c.x-a.x, c.y-a.y) }

// through reports whether the segment from a to b passes the pixel round c: the
// unit square about it with its left and lower sides. Coordinates are whole and
// the pixel's sides are not, so the boxes alone never touch; only the line may,
// at one corner.
func through(a, b, c pt) bool {
	if c.x < min(a.x, b.x) || c.x > max(a.x, b.x) || c.y < min(a.y, b.y) || c.y > max(a.y, b.y) {
		return false
	}
	if c == a || c == b {
		return true
	}
	dx, dy := b.x-a.x, b.y-a.y
	s := cross(dx, dy, c.x-a.x, c.y-a.y)
	reach := max(dx, -dx) + max(dy, -dy)
	if s > reach || s < -reach {
		return false
	}
	s *= 2
	return max(s, -s) < reach || max(s, -s) == reach && s-dx+dy == 0
}

// meet is the pixel in which the segments ab and cd, which cross, do so.
func meet(a, b, c, d pt) pt {
	ux, uy, vx, vy, wx, wy := b.x-a.x, b.y-a.y, d.x-c.x, d.y-c.y, c.x-a.x, c.y-a.y
	num, den := cross(wx, wy, vx, vy), cross(ux, uy, vx, vy)
	if max(num, -num, den, -den) == math.MaxInt64 {
		return meetFar(a, ux, uy, vx, vy, wx, wy)
	}
	if den < 0 {
		num, den = -num, -den
	}
	return pt{a.x + share(ux, num, den), a.y + share(uy, num, den)}
}

// share is u·num/den for 0 ≤ num ≤ den, rounded to the nearest whole number, halves
// upwards.
func share(u, num, den int64) int64 {
	n := uint64(max(u, -u))
	hi, lo := bits.Mul64(n, uint64(num))
	q, r := bits.Div64(hi, lo, uint64(den))
	if u >= 0 {
		if r >= uint64(den)-r {
			q++
		}
		return int64(q)
	}
	if r > uint64(den)-r {
		q++
	}
	return -int64(q)
}

// meetFar is meet for segments too long for machine words.
func meetFar(a pt, ux, uy, vx, vy, wx, wy int64) pt {
	wide := func(px, py, qx, qy int64) *big.Int {
		l := new(big.Int).Mul(big.NewInt(px), big.NewInt(qy))
		return l.Sub(l, new(big.Int).Mul(big.NewInt(py), big.NewInt(qx)))
	}
	num, den := wide(wx, wy, vx, vy), wide(ux, uy, vx, vy)
	if den.Sign() < 0 {
		num.Neg(num)
		den.Neg(den)
	}
	at := func(u int64) int64 { // floor((2 u num + den) / (2 den))
		n := new(big.Int).Mul(big.NewInt(2*u), num)
		n.Add(n, den)
		return n.Div(n, new(big.Int).Lsh(den, 1)).Int64()
	}
	return pt{a.x + at(ux), a.y + at(uy)}
}
