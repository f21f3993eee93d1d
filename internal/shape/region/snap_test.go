package region

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// In boxes of a few units every crossing is rounded far, and nothing may cross,
// touch or go missing all the same.
func TestDrawCoarse(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	rounds := 1500
	if testing.Short() {
		rounds = 200
	}
	for range rounds {
		size := 3 + rng.IntN(40)
		var segs []segment
		for layer := range int32(2) {
			segs = lines(segs, ragged(rng, 1+rng.IntN(3), 1+rng.IntN(12), size, Unit), 1, layer)
		}
		g := draw(segs, 2)
		for e := range g.from {
			a, b := g.pts[g.from[e]], g.pts[g.to[e]]
			if order(a, b) >= 0 {
				t.Fatalf("edge %d runs back", e)
			}
			for f := range e {
				c, d := g.pts[g.from[f]], g.pts[g.to[f]]
				if p, q := turn(a, b, c), turn(a, b, d); p < 0 && q > 0 || p > 0 && q < 0 {
					if p, q := turn(c, d, a), turn(c, d, b); p < 0 && q > 0 || p > 0 && q < 0 {
						t.Fatalf("%v–%v crosses %v–%v", a, b, c, d)
					}
				}
			}
			for _, p := range g.pts {
				if p != a && p != b && turn(a, b, p) == 0 && through(a, b, p) {
					t.Fatalf("%v–%v goes through %v", a, b, p)
				}
			}
		}
		g.sweep(func(p, _ int32, ends, begins []int32) {
			if len(ends)+len(begins) < 2 {
				t.Fatalf("a loose end at %v", g.pts[p])
			}
		})
	}
}

// The predicates against arithmetic without limits.
func TestPredicates(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 24))
	whole := func(x int64) *big.Rat { return new(big.Rat).SetInt64(x) }
	for i := range 8000 {
		size := []int64{8, 1000, 1 << 30, 1 << 50}[i%4]
		at := func() pt { return pt{rng.Int64N(2*size) - size, rng.Int64N(2*size) - size} }
		a, b, c, d := at(), at(), at(), at()
		if i%3 == 0 { // nearly on one line
			c = pt{(a.x + b.x) / 2, (a.y + b.y) / 2}
			d = pt{c.x + rng.Int64N(3) - 1, c.y + rng.Int64N(3) - 1}
		}
		exact := func(a, b, c pt) *big.Rat {
			l := new(big.Rat).Mul(whole(b.x-a.x), whole(c.y-a.y))
			return l.Sub(l, new(big.Rat).Mul(whole(b.y-a.y), whole(c.x-a.x)))
		}
		if got, want := turn(a, b, c), exact(a, b, c).Sign(); got > 0 != (want > 0) || got < 0 != (want < 0) {
			t.Fatalf("%v %v %v turn %d, want %d", a, b, c, got, want)
		}
		// A crossing lies in the pixel whose centre is the answer.
		if exact(a, b, c).Sign()*exact(a, b, d).Sign() < 0 && exact(c, d, a).Sign()*exact(c, d, b).Sign() < 0 {
			share := new(big.Rat).Quo(exact(c, d, a), new(big.Rat).Sub(exact(c, d, a), exact(c, d, b)))
			p := meet(a, b, c, d)
			for _, k := range [][3]int64{{a.x, b.x, p.x}, {a.y, b.y, p.y}} {
				off := new(big.Rat).Mul(share, whole(k[1]-k[0]))
				off.Add(off, whole(k[0]-k[2]))
				if h := big.NewRat(1, 2); off.Cmp(h) >= 0 || off.Cmp(h.Neg(h)) < 0 {
					t.Fatalf("%v–%v and %v–%v do not meet at %v", a, b, c, d, p)
				}
			}
			if !through(a, b, p) || !through(c, d, p) {
				t.Fatalf("%v is not on %v–%v and %v–%v", p, a, b, c, d)
			}
		}
	}
}

// A pixel has its left and lower sides, but not the others.
func TestThrough(t *testing.T) {
	for _, c := range []struct {
		a, b, p pt
		want    bool
	}{
		{pt{0, 0}, pt{4, 2}, pt{2, 1}, true},
		{pt{0, 0}, pt{2, 1}, pt{1, 0}, true},   // through its upper left corner and on through it
		{pt{-1, 0}, pt{0, -1}, pt{0, 0}, true}, // touches its lower left corner
		{pt{1, 0}, pt{0, 1}, pt{0, 0}, false},  // its upper right one
		{pt{-1, 0}, pt{0, 1}, pt{0, 0}, false}, // its upper left one
		{pt{0, -1}, pt{1, 0}, pt{0, 0}, false}, // its lower right one
		{pt{0, 0}, pt{9, 0}, pt{4, 0}, true},
		{pt{0, 0}, pt{9, 0}, pt{4, 1}, false},
		{pt{0, 0}, pt{9, 0}, pt{10, 0}, false},
		{pt{0, 0}, pt{0, 9}, pt{0, 4}, true},
	} {
		if got := through(c.a, c.b, c.p); got != c.want {
			t.Errorf("%v–%v through %v: %v", c.a, c.b, c.p, got)
		}
		if got := through(c.b, c.a, c.p); got != c.want {
			t.Errorf("%v–%v through %v: %v", c.b, c.a, c.p, got)
		}
	}
}

// Copies turned by next to nothing, and the same again, lie as close as borders
// can.
func TestNearlyTheSame(t *testing.T) {
	rng := rand.New(rand.NewPCG(25, 26))
	rounds := 150
	if testing.Short() {
		rounds = 30
	}
	for range rounds {
		a := Of(ragged(rng, 2, 8, 9, 1)...)
		if again := a.Union(a); math.Abs(again.Area()-a.Area()) > Unit*a.Perimeter() {
			t.Fatalf("united with itself: %g mm² of %g", again.Area(), a.Area())
		}
		if !a.Minus(a).Empty() {
			t.Fatalf("without itself: %v", a.Minus(a))
		}
		b := a.Moved(math.Pow(10, -7*rng.Float64()-2), r2.Vec{X: 1e-6 * rng.NormFloat64()})
		c := a.Moved(rng.Float64(), r2.Vec{}).Moved(1e-8*rng.NormFloat64(), r2.Vec{Y: 1e-6})
		u := a.Union(b, c)
		sound(t, u)
		x := a.And(b)
		sound(t, x)
		if e := a.Union(b).Area() + x.Area() - a.Area() - b.Area(); math.Abs(e) > 4*Unit*(1+a.Perimeter()) {
			t.Fatalf("off by %g mm²", e)
		}
		sound(t, a.Minus(b).Union(b.Minus(a)))
	}
}
