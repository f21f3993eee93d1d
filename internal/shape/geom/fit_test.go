package geom

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// aFrame is a random right-handed frame.
func aFrame(r *rand.Rand) (e1, e2, e3 r3.Vec) {
	e3 = r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	e1, e2 = frame(e3)
	return
}

func place(o, e1, e2, e3 r3.Vec, x, y, z float64) r3.Vec {
	return r3.Add(o, r3.Add(r3.Scale(x, e1), r3.Add(r3.Scale(y, e2), r3.Scale(z, e3))))
}

// Points made on a surface whose parameters are known: the fit must give them
// back. The truth is the closed form the points come from.
func TestExactPoints(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 7))
		e1, e2, e3 := aFrame(r)
		o := r3.Vec{X: 50 * r.NormFloat64(), Y: 50 * r.NormFloat64(), Z: 50 * r.NormFloat64()}
		radius := math.Exp(3 * (r.Float64() - 0.3))
		sweep := 0.5 + 5.7*r.Float64()
		half := 0.02 + 1.4*r.Float64()
		sin, cos := math.Sincos(half)
		var cyl, cone, cn, sph, pln, nrm []r3.Vec
		for i := 0; i < 40; i++ {
			a := sweep * float64(i) / 39
			z := radius * float64(i%5)
			s, c := math.Sincos(a)
			cyl = append(cyl, place(o, e1, e2, e3, radius*c, radius*s, z))
			nrm = append(nrm, place(r3.Vec{}, e1, e2, e3, c, s, 0))
			l := radius * (1 + float64(i%5))
			cone = append(cone, place(o, e1, e2, e3, l*sin*c, l*sin*s, l*cos))
			cn = append(cn, place(r3.Vec{}, e1, e2, e3, cos*c, cos*s, -sin))
			b := 0.3 * float64(i%5)
			sph = append(sph, place(o, e1, e2, e3, radius*c*math.Cos(b), radius*s*math.Cos(b), radius*math.Sin(b)))
			pln = append(pln, place(o, e1, e2, e3, radius*c, z, 0))
		}
		near := func(what string, got, want float64) {
			if math.Abs(got-want) > 1e-9*max(1, radius, want) {
				rt.Errorf("%s: %.12g, want %.12g", what, got, want)
			}
		}
		if s, ok := FitPlane(pln, e3); !ok || s.Max > 1e-9*max(1, radius) || r3.Dot(s.Axis, e3) < 1-1e-12 {
			rt.Errorf("plane: %v %+v", ok, s)
		}
		if s, ok := FitSphere(sph); !ok {
			rt.Error("no sphere")
		} else {
			near("sphere radius", s.Radius, radius)
			near("sphere centre", r3.Norm(r3.Sub(s.At, o)), 0)
		}
		axis, _, _ := AxisOf(nrm)
		if s, ok := FitCylinder(cyl, axis); !ok {
			rt.Error("no cylinder")
		} else {
			near("cylinder radius", s.Radius, radius)
			near("cylinder axis", r3.Norm(r3.Cross(s.Axis, e3)), 0)
			near("cylinder place", r3.Norm(r3.Cross(r3.Sub(s.At, o), e3)), 0)
		}
		if s, ok := FitCone(cone, cn); !ok {
			rt.Errorf("no cone: half %v radius %v sweep %v", half, radius, sweep)
		} else {
			near("cone angle", s.HalfAngle, half)
			near("cone tip", r3.Norm(r3.Sub(s.At, o)), 0)
			near("cone axis", r3.Dot(s.Axis, e3), 1)
		}
	})
}

// A rough axis, 15 degrees off, must be enough to begin with.
func TestRoughAxis(t *testing.T) {
	var pts []r3.Vec
	for i := 0; i < 48; i++ {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 24)
		pts = append(pts, r3.Vec{X: 4 * c, Y: 4 * s, Z: 10 * float64(i/24)})
	}
	s, ok := FitCylinder(pts, r3.Unit(r3.Vec{X: 0.26, Z: 1}))
	if !ok || math.Abs(s.Radius-4) > 1e-9 || s.Max > 1e-9 {
		t.Errorf("%v %+v", ok, s)
	}
}

// With noise the radius must be within a few standard errors, sigma/sqrt(n)
// times the leverage of a full circle, and RMS must tell the noise.
func TestNoisyPoints(t *testing.T) {
	const sigma, n = 0.01, 4000
	r := rand.New(rand.NewPCG(1, 2))
	e1, e2, e3 := aFrame(r)
	var cyl, sph []r3.Vec
	for i := 0; i < n; i++ {
		s, c := math.Sincos(2 * math.Pi * r.Float64())
		d := 5 + sigma*r.NormFloat64()
		cyl = append(cyl, place(r3.Vec{X: 3}, e1, e2, e3, d*c, d*s, 20*r.Float64()))
		u := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
		sph = append(sph, r3.Scale(d, u))
	}
	s, ok := FitCylinder(cyl, r3.Unit(r3.Add(e3, r3.Scale(0.1, e1))))
	if !ok || math.Abs(s.Radius-5) > 4*sigma/math.Sqrt(n) || math.Abs(s.RMS/sigma-1) > 0.05 {
		t.Errorf("cylinder %v %+v", ok, s)
	}
	s, ok = FitSphere(sph)
	if !ok || math.Abs(s.Radius-5) > 4*sigma/math.Sqrt(n) || math.Abs(s.RMS/sigma-1) > 0.05 {
		t.Errorf("sphere %v %+v", ok, s)
	}
}

// A circle that any textbook solves by hand: through (0,0), (4,0), (0,2) goes
// the circle round (2,1) with radius √5; raised to a cylinder.
func TestThreeLines(t *testing.T) {
	var pts []r3.Vec
	for _, z := range []float64{0, 3} {
		pts = append(pts, r3.Vec{Z: z}, r3.Vec{X: 4, Z: z}, r3.Vec{Y: 2, Z: z})
	}
	s, ok := FitCylinder(pts, r3.Vec{Z: 1})
	if !ok || math.Abs(s.Radius-math.Sqrt(5)) > 1e-9 || math.Abs(s.At.X-2) > 1e-9 || math.Abs(s.At.Y-1) > 1e-9 {
		t.Errorf("%v %+v", ok, s)
	}
}

// Points that determine nothing are refused, not fitted.
func TestNothingToFit(t *testing.T) {
	line := []r3.Vec{{}, {X: 1}, {X: 2}, {X: 3}, {X: 4}, {X: 5}, {X: 6}}
	if _, ok := FitPlane(line, r3.Vec{}); ok {
		t.Error("a plane through a line")
	}
	if _, ok := FitSphere(line); ok {
		t.Error("a sphere through a line")
	}
	flat := []r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}, {X: 2, Y: 1}}
	if _, ok := FitSphere(flat); ok {
		t.Error("a sphere through a plane")
	}
}

// Eigenvalues of a matrix known by hand: [[2 1 0] [1 2 0] [0 0 5]] has 1, 3, 5.
func TestEigen(t *testing.T) {
	val, vec := Eigen([3][3]float64{{2, 1, 0}, {1, 2, 0}, {0, 0, 5}})
	for i, want := range []float64{1, 3, 5} {
		if math.Abs(val[i]-want) > 1e-14 {
			t.Errorf("value %d: %v, want %v", i, val[i], want)
		}
		if math.Abs(r3.Norm(vec[i])-1) > 1e-14 {
			t.Errorf("vector %d: %v", i, vec[i])
		}
	}
}
