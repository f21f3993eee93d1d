package form

import (
	"math"
	"math/big"

	"gonum.org/v1/gonum/spatial/r2"
)

// unit is half the gap between 1 and the next float64.
const unit = 1.0 / (1 << 53)

// turn is positive when a, b, c turn left, negative when they turn right and
// zero exactly when they lie on one line: a float64 answer where its error
// bound allows one (Shewchuk, "Adaptive Precision Floating-Point Arithmetic and
// Fast Robust Geometric Predicates", 1997), an exact one otherwise.
func turn(a, b, c r2.Vec) float64 {
	l := (a.X - c.X) * (b.Y - c.Y)
	r := (a.Y - c.Y) * (b.X - c.X)
	det := l - r
	if math.Abs(det) > (3+16*unit)*unit*(math.Abs(l)+math.Abs(r)) {
		return det
	}
	return float64(exactTurn(a, b, c))
}

// exactTurn is the sign of turn. 512 bits hold the products of differences of
// any coordinates that a part can have without rounding.
func exactTurn(a, b, c r2.Vec) int {
	sub := func(x, y float64) *big.Float {
		z := new(big.Float).SetPrec(512).SetFloat64(x)
		return z.Sub(z, new(big.Float).SetPrec(512).SetFloat64(y))
	}
	l := sub(a.X, c.X)
	l.Mul(l, sub(b.Y, c.Y))
	r := sub(a.Y, c.Y)
	r.Mul(r, sub(b.X, c.X))
	return l.Cmp(r)
}

// inCircle reports whether d lies surely inside the circle through a, b, c,
// which turn left. Doubtful cases count as outside: a grid's four corners lie
// on one circle and either diagonal will do, and a flip that is only made when
// it is surely right cannot go round for ever.
func inCircle(a, b, c, d r2.Vec) bool {
	ax, ay := a.X-d.X, a.Y-d.Y
	bx, by := b.X-d.X, b.Y-d.Y
	cx, cy := c.X-d.X, c.Y-d.Y
	a2, b2, c2 := ax*ax+ay*ay, bx*bx+by*by, cx*cx+cy*cy
	det := a2*(bx*cy-cx*by) + b2*(cx*ay-ax*cy) + c2*(ax*by-bx*ay)
	size := a2*(math.Abs(bx*cy)+math.Abs(cx*by)) + b2*(math.Abs(cx*ay)+math.Abs(ax*cy)) +
		c2*(math.Abs(ax*by)+math.Abs(bx*ay))
	return det > (10+96*unit)*unit*size
}
