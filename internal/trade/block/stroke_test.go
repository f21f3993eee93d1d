package block

import (
	"context"
	"math"
	"runtime"
	"slices"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/slide"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func r2v(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

// A parabola z = −x²/2a, drawn out along y, does not slide on itself round the centre
// of its crown. How far a block from its crown stands off farther on is found here
// in the plane by another way: a search over turn and shift for the least sum of
// squared distances from a finely divided curve.
func TestStandOffOnParabola(t *testing.T) {
	const a, c = 30.0, 8.0
	m := form.Sheet(-22, -6, 22, 6, 220, 6, func(x, y float64) float64 { return -x * x / (2 * a) })
	tris := make([]int32, len(m.Tri))
	for i := range tris {
		tris[i] = int32(i)
	}
	k := stroker{ground: newGround(m, tris), thick: paperMM, rest: 1}
	var flat []r2.Vec
	for i := -40; i <= 40; i++ {
		x := c * float64(i) / 40
		n := r2.Unit(r2v(x/a, 1))
		p := r2.Add(r2v(x, -x*x/(2*a)), r2.Scale(paperMM, n))
		flat = append(flat, p)
		for y := -4.0; y <= 4; y += 2 {
			k.pts = append(k.pts, r3.Vec{X: p.X, Y: y, Z: p.Y})
		}
	}
	turn := slide.Motion{Axis: r3.Vec{Y: 1}, At: r3.Vec{Z: -a}, Turns: true, PerMM: 1 / a}
	last := 0.0
	for _, s := range []float64{1, 2, 4, 6, 8} {
		got := k.lies(turn, s)
		want := settledInPlane(flat, a, s/a)
		if math.Abs(got.MaxUM-want) > 0.05*want+0.6 {
			t.Errorf("%.0f mm along: stands off by %.2f µm, by search %.2f", s, got.MaxUM, want)
		}
		if got.MaxUM < last {
			t.Errorf("%.0f mm along the stand-off falls to %.2f µm", s, got.MaxUM)
		}
		last = got.MaxUM
		t.Logf("%.0f mm: %.2f µm, by search %.2f", s, got.MaxUM, want)
	}
	// The reach is where that comes to the limit.
	reach, why, err := k.reach(context.Background(), turn, 14, 20, func(float64) bool { return true })
	if err != nil || why != "limit" {
		t.Fatalf("the reach ends at %.2f for %q, %v", reach, why, err)
	}
	if e := k.lies(turn, reach).MaxUM; e > 20 || e < 17 {
		t.Errorf("at the reach of %.2f mm it stands off by %.2f µm, want just under 20", reach, e)
	}
}

// settledInPlane is how far, in µm, points stand off a parabola once they are turned
// by an angle round the centre of its crown and then settled.
func settledInPlane(pts []r2.Vec, a, angle float64) float64 {
	move := func(p, at r2.Vec, angle float64, d r2.Vec) r2.Vec {
		s, c := math.Sincos(angle)
		q := r2.Sub(p, at)
		return r2.Add(r2.Add(at, r2v(c*q.X+s*q.Y, -s*q.X+c*q.Y)), d)
	}
	start := make([]r2.Vec, len(pts))
	var mid r2.Vec
	for i, p := range pts {
		start[i] = move(p, r2v(0, -a), angle, r2.Vec{})
		mid = r2.Add(mid, r2.Scale(1/float64(len(pts)), start[i]))
	}
	off := func(p r2.Vec) float64 { // distance from the curve less the paper
		u := p.X
		for range 30 { // the foot: (u − x) + (−u²/2a − z)(−u/a) = 0
			f := u - p.X + (u*u/(2*a)+p.Y)*u/a
			u -= f / (1 + 1.5*u*u/(a*a) + p.Y/a)
		}
		return math.Hypot(p.X-u, p.Y+u*u/(2*a)) - paperMM
	}
	// Moving along the curve is left out, as a block does not run away by itself.
	along := r2.Unit(r2v(1, -mid.X/a))
	up := r2v(-along.Y, along.X)
	place := func(x []float64, f func(float64)) {
		for _, p := range start {
			f(off(move(p, mid, x[0]/100, r2.Scale(x[1], up))))
		}
	}
	res, err := optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 {
		sum := 0.0
		place(x, func(o float64) { sum += 1e6 * o * o })
		return sum
	}}, []float64{0, 0}, nil, &optimize.NelderMead{})
	if err != nil {
		panic(err)
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	place(res.X, func(o float64) { lo, hi = min(lo, o), max(hi, o) })
	return 1000 * (hi - lo)
}

// The crown of the demo's plate, a paraboloid: no motion of its own, yet short
// strokes, and the farther the worse.
func TestParaboloid(t *testing.T) {
	if testing.Short() {
		t.Skip("a whole block")
	}
	in := input(t, form.Sheet(-17, -26, 17, 26, 50, 50, func(x, y float64) float64 { return -(x*x/124 + y*y/326) }), all)
	in.LimitUM = 15
	b := make1(t, in)
	if !b.Doc.Stiff {
		t.Fatal(b.Doc.Says)
	}
	s := b.Doc.Strokes[0]
	mid, end := 0.0, 0.0
	for _, e := range s.Errors {
		if e.AtMM == 0 {
			mid = e.MaxUM
		}
		if math.Abs(e.AtMM-s.ReachMM) < 1e-9 {
			end = e.MaxUM
		}
	}
	t.Logf("%s, %s: reach %.1f, from %.1f to %.1f µm: %s", b.Doc.Surface, s.Kind, s.ReachMM, mid, end, b.Doc.Says)
	if !(end > 2*mid) || s.ErrorUM > 15+3*b.Doc.Fit.FacetUM || s.ReachMM < shortStroke {
		t.Errorf("%+v", s)
	}
}

func TestOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := outline{long: rapid.Float64Range(3, 80).Draw(t, "long"), wide: rapid.Float64Range(3, 45).Draw(t, "wide"), round: rapid.Float64Range(0.3, 1.4).Draw(t, "round")}
		at := rapid.Float64Range(0, 7.999).Draw(t, "station")
		p, n := o.at(at)
		if d := o.depth(p); math.Abs(d) > 1e-9 || math.Abs(r2.Norm(n)-1) > 1e-12 {
			t.Fatalf("a point of the border is %g within it, normal %v", d, n)
		}
		in := rapid.Float64Range(-2, 0.25).Draw(t, "in")
		if d := o.depth(r2.Sub(p, r2.Scale(in, n))); math.Abs(d-in) > 1e-9 {
			t.Fatalf("%g along the normal is %g deep", in, d)
		}
		q, _ := o.inset(in).at(at)
		if r2.Norm(r2.Sub(q, r2.Sub(p, r2.Scale(in, n)))) > 1e-9 {
			t.Fatalf("the inset's station %v is not along the normal from %v", q, p)
		}
	})
}

func TestNeckLeansNoMoreThan45(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.01, 30).Draw(t, "d")
		pts := stroke45(d, rapid.Float64Range(0.5, 8).Draw(t, "radius"), 5)
		if pts[0] != [2]float64{0, 0} || math.Abs(pts[len(pts)-1][0]-1) > 1e-9 {
			t.Fatalf("runs from %v to %v", pts[0], pts[len(pts)-1])
		}
		for i := range pts[1:] {
			dx, dz := d*(pts[i+1][0]-pts[i][0]), pts[i+1][1]-pts[i][1]
			if dz <= 0 || dx < -1e-12 || dx > dz*(1+1e-6) {
				t.Fatalf("step %d goes %g out and %g up", i, dx, dz)
			}
		}
	})
}

func BenchmarkBlock(b *testing.B) {
	in := input(b, form.Sheet(-40, -30, 40, 30, 100, 80, func(x, y float64) float64 { return math.Sqrt(3600 - x*x - y*y) }), all)
	in.LongMM, in.WideMM = 60, 40
	for b.Loop() {
		make1(b, in)
	}
}

// The same block, bit for bit, on any number of cores.
func TestAnyNumberOfCores(t *testing.T) {
	if testing.Short() {
		t.Skip("two whole blocks")
	}
	in := input(t, form.Sheet(-17, -20, 17, 20, 40, 40, func(x, y float64) float64 { return -(x*x/124 + y*y/326) }), all)
	many := make1(t, in)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := make1(t, in)
	if d := cmp.Diff(many.Doc, one.Doc); d != "" {
		t.Error(d)
	}
	if !slices.Equal(many.Mesh.Pos, one.Mesh.Pos) || !slices.Equal(many.Mesh.Tri, one.Mesh.Tri) {
		t.Error("the solids differ")
	}
}
