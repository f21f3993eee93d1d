package region

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// windings counts by hand how often loops wind round p: the angles that their
// sides are seen under, added up.
func windings(p r2.Vec, loops ...[]r2.Vec) int {
	sum := 0.0
	for _, loop := range loops {
		u := r2.Sub(loop[len(loop)-1], p)
		for _, q := range loop {
			v := r2.Sub(q, p)
			sum += math.Atan2(r2.Cross(u, v), r2.Dot(u, v))
			u = v
		}
	}
	return int(math.Round(sum / (2 * math.Pi)))
}

// gap is the distance of p from the sides of loops.
func gap(p r2.Vec, loops ...[]r2.Vec) float64 {
	return math.Abs(Region{loops}.Distance(p))
}

// ragged are a few polygons of any sense that cross themselves and each other, with
// corners on a coarse grid so that much coincides: corners on sides, sides on sides,
// many through one point.
func ragged(rng *rand.Rand, loops, corners, size int, scale float64) [][]r2.Vec {
	out := make([][]r2.Vec, loops)
	for i := range out {
		out[i] = make([]r2.Vec, 3+rng.IntN(corners))
		for k := range out[i] {
			out[i][k] = r2.Vec{X: scale * float64(rng.IntN(size)), Y: scale * float64(rng.IntN(size))}
		}
	}
	return out
}

// sound fails unless the loops of a region are simple, do not cross, have the
// material on their left and stand in order.
func sound(t testing.TB, r Region) {
	t.Helper()
	segs := lines(nil, r.Loops, 1, 0)
	slices.SortFunc(segs, func(s, u segment) int { return order(s.a, u.a) })
	for i, s := range segs {
		for _, u := range segs[i+1:] {
			if u.a.x > s.b.x {
				break
			}
			a, b, c, d := turn(s.a, s.b, u.a), turn(s.a, s.b, u.b), turn(u.a, u.b, s.a), turn(u.a, u.b, s.b)
			if (a < 0 && b > 0 || a > 0 && b < 0) && (c < 0 && d > 0 || c > 0 && d < 0) {
				t.Fatalf("sides cross: %v and %v of %v", s, u, r.Loops)
			}
		}
	}
	for _, loop := range r.Loops {
		seen := map[r2.Vec]bool{}
		for _, p := range loop {
			if seen[p] {
				t.Fatalf("a loop comes to %v twice: %v", p, loop)
			}
			seen[p] = true
			if p.Y < loop[0].Y || p.Y == loop[0].Y && p.X < loop[0].X {
				t.Fatalf("a loop does not begin at its lowest corner: %v", loop)
			}
		}
	}
	g := draw(segs, 1)
	below := g.sweep(nil)
	for e := range g.from {
		if w := [2]int32{below[e], below[e] + g.rise[e]}; w != [2]int32{0, 1} && w != [2]int32{1, 0} {
			t.Fatalf("a side of %v lies between %d and %d windings", r.Loops, w[0], w[1])
		}
	}
}

func TestOfKnownShapes(t *testing.T) {
	square := []r2.Vec{{}, {X: 2}, {X: 2, Y: 2}, {Y: 2}}
	hole := []r2.Vec{{X: 0.5, Y: 0.5}, {X: 0.5, Y: 1.5}, {X: 1.5, Y: 1.5}, {X: 1.5, Y: 0.5}}
	for _, c := range []struct {
		name  string
		loops [][]r2.Vec
		want  Region
	}{
		{"nothing", nil, Region{}},
		{"a line there and back", [][]r2.Vec{{{}, {X: 1}}}, Region{}},
		{"a square", [][]r2.Vec{square}, Region{[][]r2.Vec{square}}},
		{"a square the wrong way", [][]r2.Vec{{{}, {Y: 2}, {X: 2, Y: 2}, {X: 2}}}, Region{}},
		{"with a hole", [][]r2.Vec{hole, square}, Region{[][]r2.Vec{square, hole}}},
		{"with needless corners", [][]r2.Vec{{{X: 1, Y: 2}, {Y: 2}, {Y: 2}, {Y: 1}, {}, {X: 1}, {X: 2}, {X: 2, Y: 2}}}, Region{[][]r2.Vec{square}}},
		{"side by side", [][]r2.Vec{{{}, {X: 1}, {X: 1, Y: 2}, {Y: 2}}, {{X: 1}, {X: 2}, {X: 2, Y: 2}, {X: 1, Y: 2}}}, Region{[][]r2.Vec{square}}},
		{"corner to corner", [][]r2.Vec{{{}, {X: 1}, {X: 1, Y: 1}, {Y: 1}}, {{X: 1, Y: 1}, {X: 2, Y: 1}, {X: 2, Y: 2}, {X: 1, Y: 2}}},
			Region{[][]r2.Vec{{{}, {X: 1}, {X: 1, Y: 1}, {Y: 1}}, {{X: 1, Y: 1}, {X: 2, Y: 1}, {X: 2, Y: 2}, {X: 1, Y: 2}}}}},
		{"a bow tie has one half", [][]r2.Vec{{{}, {X: 2, Y: 2}, {X: 2}, {Y: 2}}}, Region{[][]r2.Vec{{{}, {X: 1, Y: 1}, {Y: 2}}}}},
	} {
		if d := cmp.Diff(c.want, Of(c.loops...)); c.name != "a bow tie has one half" && d != "" {
			t.Errorf("%s: %s", c.name, d)
		} else if got := Of(c.loops...); c.name == "a bow tie has one half" && got.Area() != 1 {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// Points off the border are inside exactly where the loops wind round them.
func TestOfAgainstWindings(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	rounds := 1500
	if testing.Short() {
		rounds = 300
	}
	for range rounds {
		loops := ragged(rng, 1+rng.IntN(3), 1+rng.IntN(9), 4+rng.IntN(9), 1)
		r := Of(loops...)
		sound(t, r)
		for range 30 {
			p := r2.Vec{X: rng.Float64() * 12, Y: rng.Float64() * 12}
			if gap(p, loops...) > 1e-5 && r.Holds(p) != (windings(p, loops...) > 0) {
				t.Fatalf("%v of %v: held %v, wound round %d times", p, loops, r.Holds(p), windings(p, loops...))
			}
		}
	}
}

// A ∪ B and A ∩ B have together the area of A and B; A − B is A without A ∩ B; and
// points are where they should be.
func TestBooleanIdentities(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	rounds := 1500
	if testing.Short() {
		rounds = 300
	}
	for range rounds {
		size := 4 + rng.IntN(9)
		a, b := Of(ragged(rng, 2, 6, size, 1)...), Of(ragged(rng, 2, 6, size, 1)...)
		union, both, less := a.Union(b), a.And(b), a.Minus(b)
		for _, r := range []Region{union, both, less} {
			sound(t, r)
		}
		within := 2 * Unit * (a.Perimeter() + b.Perimeter() + 1)
		if e := union.Area() + both.Area() - a.Area() - b.Area(); math.Abs(e) > within {
			t.Fatalf("union and intersection are off by %g mm²: %v, %v", e, a, b)
		}
		if e := less.Area() + both.Area() - a.Area(); math.Abs(e) > within {
			t.Fatalf("difference and intersection are off by %g mm²: %v, %v", e, a, b)
		}
		if d := cmp.Diff(union, b.Union(a)); d != "" {
			t.Fatalf("the order of a union counts: %s", d)
		}
		for range 20 {
			p := r2.Vec{X: rng.Float64() * 12, Y: rng.Float64() * 12}
			if min(math.Abs(a.Distance(p)), math.Abs(b.Distance(p))) < 1e-5 {
				continue
			}
			if in, also := a.Holds(p), b.Holds(p); union.Holds(p) != (in || also) || both.Holds(p) != (in && also) ||
				less.Holds(p) != (in && !also) {
				t.Fatalf("%v: a %v, b %v, union %v, both %v, less %v", p, in, also, union.Holds(p), both.Holds(p), less.Holds(p))
			}
		}
	}
}

// Where sides run along the axes or at 45° on whole numbers, crossings fall on the
// grid and the identities hold to the last bit that areas of this size have.
func TestBooleanIdentitiesExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	stairs := func() Region {
		var loops [][]r2.Vec
		for range 1 + rng.IntN(6) {
			x, y, w, h := float64(rng.IntN(8)), float64(rng.IntN(8)), float64(1+rng.IntN(5)), float64(1+rng.IntN(5))
			if rng.IntN(2) == 0 {
				loops = append(loops, []r2.Vec{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}})
			} else {
				loops = append(loops, []r2.Vec{{X: x, Y: y - w}, {X: x + w, Y: y}, {X: x, Y: y + w}, {X: x - w, Y: y}})
			}
		}
		return Of(loops...)
	}
	rounds := 3000
	if testing.Short() {
		rounds = 300
	}
	for range rounds {
		a, b := stairs(), stairs()
		union, both, less := a.Union(b), a.And(b), a.Minus(b)
		if union.Area()+both.Area() != a.Area()+b.Area() || less.Area()+both.Area() != a.Area() {
			t.Fatalf("areas: a %v, b %v, union %v, both %v, less %v\n%v\n%v", a.Area(), b.Area(), union.Area(), both.Area(), less.Area(), a, b)
		}
		parts, sum := union.Parts(), 0.0
		for i, p := range parts {
			sum += p.Area()
			for _, q := range parts[:i] {
				if p.And(q).Area() != 0 {
					t.Fatalf("parts overlap: %v, %v", p, q)
				}
			}
		}
		if d := cmp.Diff(union, union.Union(parts...)); sum != union.Area() || d != "" {
			t.Fatalf("parts have %g mm² of %g: %s", sum, union.Area(), d)
		}
	}
}

// Loops with corners anywhere, at sizes from a few units of the grid to a metre.
func TestOfAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		scale := math.Pow(10, rapid.Float64Range(-5, 3).Draw(t, "scale"))
		corner := rapid.Custom(func(t *rapid.T) r2.Vec {
			return r2.Vec{X: scale * rapid.Float64Range(-1, 1).Draw(t, "x"), Y: scale * rapid.Float64Range(-1, 1).Draw(t, "y")}
		})
		loops := rapid.SliceOfN(rapid.SliceOfN(corner, 0, 12), 0, 4).Draw(t, "loops")
		r := Of(loops...)
		if again := Of(r.Loops...); math.Abs(again.Area()-r.Area()) > 2*Unit*(r.Perimeter()+scale) {
			t.Fatalf("not the same again: %v, %v", r, again)
		}
		for range 8 {
			p := r2.Vec{X: scale * rapid.Float64Range(-1, 1).Draw(t, "px"), Y: scale * rapid.Float64Range(-1, 1).Draw(t, "py")}
			n := 0
			for _, l := range loops {
				if len(l) > 0 {
					n += windings(p, l)
					if gap(p, l) < 4*Unit {
						return
					}
				}
			}
			if r.Holds(p) != (n > 0) {
				t.Fatalf("%v is held %v, wound round %d times", p, r.Holds(p), n)
			}
		}
	})
}

func BenchmarkUnion(b *testing.B) {
	gear := func(n int, c r2.Vec, phase float64) Region {
		loop := make([]r2.Vec, n)
		for i := range loop {
			sin, cos := math.Sincos(2*math.Pi*float64(i)/float64(n) + phase)
			r := 30 + 0.4*math.Sin(float64(i)*0.7)
			loop[i] = r2.Add(c, r2.Scale(r, r2.Vec{X: cos, Y: sin}))
		}
		return Of(loop)
	}
	p, q := gear(10000, r2.Vec{}, 0), gear(10000, r2.Vec{X: 0.01}, 0.00003)
	b.ResetTimer()
	for range b.N {
		p.Union(q)
	}
	b.ReportMetric(float64(len(p.Loops[0])+len(q.Loops[0])), "sides")
}
