package region

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// J. Steiner, Über parallele Flächen, 1840: a convex region grown by r has the area
// A + P r + π r².
func TestOffsetSteiner(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 50 {
		loop := make([]r2.Vec, 3+rng.IntN(12))
		turns := make([]float64, len(loop))
		sum := 0.0
		for i := range turns {
			turns[i] = 0.2 + rng.Float64()
			sum += turns[i]
		}
		a := 0.0
		for i := range loop { // corners on an ellipse
			a += 2 * math.Pi * turns[i] / sum
			loop[i] = r2.Vec{X: 9 * math.Cos(a), Y: 4 * math.Sin(a)}
		}
		r := Of(loop)
		d, tol := 0.1+5*rng.Float64(), 0.002
		g := r.Offset(d, tol)
		sound(t, g)
		want := r.Area() + r.Perimeter()*d + math.Pi*d*d
		// Tangents circumscribe the arcs: never less, and at most tol all round more.
		if got := g.Area(); got < want-1e-4 || got > want+2*math.Pi*(d+tol)*tol {
			t.Errorf("%v grown by %g has %g mm², Steiner says %g", loop, d, got, want)
		}
		// Back again the region itself is left.
		if back := g.Offset(-d, tol); math.Abs(back.Area()-r.Area()) > tol*r.Perimeter() || back.Minus(r).Area() > 1e-4 {
			t.Errorf("grown and shrunk by %g: %g mm² of %g", d, back.Area(), r.Area())
		}
	}
}

// farFrom checks a region offset by d against the distances of points by brute
// force.
func farFrom(t *testing.T, rng *rand.Rand, r Region, d, tol float64, n int, size float64) {
	t.Helper()
	g := r.Offset(d, tol)
	sound(t, g)
	for range n {
		p := r2.Vec{X: (rng.Float64()*1.6 - 0.3) * size, Y: (rng.Float64()*1.6 - 0.3) * size}
		far := r.Distance(p) // below 0 inside
		const rounding = 3 * Unit
		if got := g.Holds(p); got && far > d+max(0, tol)+rounding || d > 0 && !got && far < d-rounding ||
			d < 0 && got && far > d+rounding || !got && far < d-tol-rounding {
			t.Fatalf("offset by %g (within %g): %v, %g from the border, is held %v\n%v", d, tol, p, far, got, r.Loops)
		}
	}
}

func TestOffsetAgainstDistance(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	rounds := 400
	if testing.Short() {
		rounds = 80
	}
	for range rounds {
		size := 4 + rng.IntN(9)
		r := Of(ragged(rng, 3, 6, size, 1)...)
		d := (rng.Float64() - 0.5) * 4
		if rng.IntN(3) == 0 {
			d = math.Round(d*2) / 2 // as far as corners lie apart
		}
		farFrom(t, rng, r, d, 0.003+0.05*rng.Float64(), 60, float64(size))
	}
}

// Rounded plates with holes and islands that are nearly swallowed.
func TestOffsetOfRoundThings(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	rounds := 60
	if testing.Short() {
		rounds = 15
	}
	for range rounds {
		r := Rect(r2.Vec{}, r2.Vec{X: 10, Y: 10})
		for range 5 {
			c, s := r2.Vec{X: 10 * rng.Float64(), Y: 10 * rng.Float64()}, 0.2+2*rng.Float64()
			r = r.Minus(Disc(c, s, 0.005)).Union(Disc(c, s*0.7*rng.Float64()+0.05, 0.005))
		}
		farFrom(t, rng, r, (rng.Float64()-0.5)*3, 0.01, 60, 10)
	}
}

// A square a × a opened by a disc of radius r loses what is in its corners beyond
// the arcs: (4 − π) r².
func TestOpenedSquare(t *testing.T) {
	for _, r := range []float64{0.5, 1, 3, 4.99} {
		tol := 0.001
		sq := Rect(r2.Vec{}, r2.Vec{X: 10, Y: 10})
		o := sq.Opened(r, tol)
		sound(t, o)
		if got, want := o.Area(), 100-(4-math.Pi)*r*r; got < want-1e-4 || got > 100-(4-math.Pi)*(r-tol)*(r-tol) {
			t.Errorf("opened by %g: %.6f mm², want %.6f", r, got, want)
		}
	}
	if o := Rect(r2.Vec{}, r2.Vec{X: 10, Y: 10}).Opened(5.1, 0.01); !o.Empty() {
		t.Errorf("a disc wider than the square got in: %v", o)
	}
	// A slot of the cutter's own width is cleared, but for its corners.
	if o := Rect(r2.Vec{}, r2.Vec{X: 30, Y: 6}).Opened(3, 0.01); math.Abs(o.Area()-(180-(4-math.Pi)*9)) > 0.1 {
		t.Errorf("a slot of the cutter's own width: %g mm²", o.Area())
	}
}

func TestOpenedAgainstDiscs(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	rounds := 150
	if testing.Short() {
		rounds = 30
	}
	for range rounds {
		size := 6 + rng.IntN(7)
		a := Of(ragged(rng, 2, 6, size, 1)...)
		r, tol := 0.2+rng.Float64(), 0.01
		o := a.Opened(r, tol)
		sound(t, o)
		if out := o.Minus(a); out.Area() > Unit*a.Perimeter() {
			t.Fatalf("opened by %g, %g mm² lie outside", r, out.Area())
		}
		again := o.Opened(r, tol)
		if lost := o.Area() - again.Area(); lost < -1e-5*(1+a.Perimeter()) || lost > tol*(1+o.Perimeter()) {
			t.Fatalf("opened again by %g, %g mm² more are lost of %g: %v", r, lost, o.Area(), a.Loops)
		}
		// Any disc that lies in the region is cleared.
		for range 40 {
			c := r2.Vec{X: rng.Float64() * float64(size), Y: rng.Float64() * float64(size)}
			if a.Distance(c) > -r-1e-5 {
				continue
			}
			sin, cos := math.Sincos(rng.Float64() * 2 * math.Pi)
			p := r2.Add(c, r2.Scale((r-1e-5)*math.Sqrt(rng.Float64()), r2.Vec{X: cos, Y: sin}))
			if !o.Holds(p) {
				t.Fatalf("%v within %g of %v is not cleared: %v", p, r, c, a.Loops)
			}
		}
		// And nothing is cleared that no disc a little smaller reaches.
		grown := a.Offset(-(r - tol), tol/8)
		for range 40 {
			p := r2.Vec{X: rng.Float64() * float64(size), Y: rng.Float64() * float64(size)}
			if o.Holds(p) && grown.Distance(p) > r-tol+tol/2 {
				t.Fatalf("%v is cleared, %g from the nearest centre: %v", p, grown.Distance(p), a.Loops)
			}
		}
	}
}

func TestRoundShapes(t *testing.T) {
	for _, tol := range []float64{0.1, 0.01, 0.001} {
		d := Disc(r2.Vec{X: 1, Y: 2}, 3, tol)
		lo, hi := d.Box()
		if lo != (r2.Vec{X: -2, Y: -1}) || hi != (r2.Vec{X: 4, Y: 5}) {
			t.Errorf("a disc's box is %v to %v", lo, hi)
		}
		if got, least := d.Area(), 9*math.Pi; got < least || got > math.Pi*(3+tol)*(3+tol) {
			t.Errorf("a disc has %g mm², want at least %g", got, least)
		}
		c := Capsule(r2.Vec{}, r2.Vec{X: 3, Y: 4}, 2, tol)
		if got, want := c.Area(), 20+4*math.Pi; got < want-1e-5 || got > want+2*math.Pi*(2+tol)*tol {
			t.Errorf("a capsule has %g mm², want %g", got, want)
		}
		for _, outside := range []bool{false, true} {
			for i, p := range Arc(r2.Vec{X: 1}, 5, 1, -2, tol, outside) {
				r := math.Hypot(p.X-1, p.Y)
				if outside && (r < 5-1e-12 || r > 5+tol) || !outside && math.Abs(r-5) > 1e-12 {
					t.Errorf("corner %d of an arc lies at %g", i, r)
				}
			}
		}
	}
}

func TestDistanceAndMoments(t *testing.T) {
	r := Rect(r2.Vec{X: 1, Y: 1}, r2.Vec{X: 5, Y: 3}).Minus(Rect(r2.Vec{X: 2, Y: 1}, r2.Vec{X: 3, Y: 2}))
	if r.Area() != 7 || r.Perimeter() != 14 {
		t.Errorf("area %g, perimeter %g", r.Area(), r.Perimeter())
	}
	// Rectangles about their own centres: (8·(3, 2) − 1·(2.5, 1.5)) / 7.
	if c := r.Centroid(); math.Hypot(c.X-21.5/7, c.Y-14.5/7) > 1e-14 {
		t.Errorf("centroid %v", c)
	}
	for p, want := range map[r2.Vec]float64{{X: 4, Y: 2}: -1, {X: 2.5, Y: 1.5}: 0.5, {X: 8, Y: 7}: 5, {X: 3, Y: 2.25}: -0.25} {
		if got := r.Distance(p); math.Abs(got-want) > 1e-14 {
			t.Errorf("%v is at %g, want %g", p, got, want)
		}
	}
	if !math.IsInf(Region{}.Distance(r2.Vec{}), 1) || (Region{}).Holds(r2.Vec{}) || (Region{}).Area() != 0 {
		t.Error("nothing is somewhere")
	}
	m := r.Moved(math.Pi/2, r2.Vec{X: 10})
	sound(t, m)
	if lo, hi := m.Box(); lo != (r2.Vec{X: 7, Y: 1}) || hi != (r2.Vec{X: 9, Y: 5}) || m.Area() != 7 {
		t.Errorf("moved to %v, %v", lo, hi)
	}
}

func BenchmarkOffset(b *testing.B) {
	loop := make([]r2.Vec, 10000)
	for i := range loop {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(len(loop)))
		r := 30 + 5*math.Sin(float64(i)*0.02) + 0.01*math.Sin(float64(i)*0.9)
		loop[i] = r2.Vec{X: r * cos, Y: r * sin}
	}
	a := Of(loop)
	for _, d := range []float64{0.1, 2, -2} {
		b.Run(map[bool]string{true: "grow", false: "shrink"}[d > 0], func(b *testing.B) {
			for range b.N {
				a.Offset(d, 0.01)
			}
		})
	}
}
