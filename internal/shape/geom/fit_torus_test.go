package geom

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// patchOf is a grid of points on a torus, its cells' middles and their facets'
// normals, as a mesh of it has: v runs round the axis, u round the tube.
func patchOf(o, e1, e2, e3 r3.Vec, major, minor, v0, v1, u0, u1 float64, nv, nu int) (pts, at, normals []r3.Vec) {
	point := func(i, j int) r3.Vec {
		sv, cv := math.Sincos(v0 + (v1-v0)*float64(i)/float64(nv))
		su, cu := math.Sincos(u0 + (u1-u0)*float64(j)/float64(nu))
		rho := major + minor*cu
		return place(o, e1, e2, e3, rho*cv, rho*sv, minor*su)
	}
	for i := range nv + 1 {
		for j := range nu + 1 {
			pts = append(pts, point(i, j))
			if i < nv && j < nu {
				a, b, c, d := point(i, j), point(i+1, j), point(i+1, j+1), point(i, j+1)
				for _, f := range [2][3]r3.Vec{{a, b, c}, {a, c, d}} {
					if n, area := TriangleNormal(f[0], f[1], f[2]); area > 0 {
						at = append(at, r3.Scale(1.0/3, r3.Add(f[0], r3.Add(f[1], f[2]))))
						normals = append(normals, n)
					}
				}
			}
		}
	}
	return
}

func torusNear(t interface{ Errorf(string, ...any) }, what string, s Surface, ok bool, o, axis r3.Vec, major, minor, tol float64) {
	if !ok || math.Abs(s.Major-major) > tol || math.Abs(s.Radius-minor) > tol ||
		r3.Norm(r3.Sub(s.At, o)) > tol || r3.Norm(r3.Cross(s.Axis, axis)) > tol/math.Abs(major) {
		t.Errorf("%s: %v %+v, want radii %v and %v", what, ok, s, major, minor)
	}
}

// Points on a torus whose parameters are known, in all the shapes that parts
// have: whole rings, fillets of a quarter of the tube all round and along a corner,
// small tubes on large rings, spindles. The truth is the closed form the points
// come from.
func TestExactTorus(t *testing.T) {
	quarter := math.Pi / 2
	cases := []struct {
		name         string
		major, minor float64
		v, u0, u1    float64
		nv, nu       int
	}{
		{"whole", 20, 5, 4 * quarter, 0, 4 * quarter, 24, 12},
		{"fillet all round", 10, 2, 4 * quarter, 0, quarter, 12, 3},
		{"outer fillet all round", 10, 2, 4 * quarter, quarter, 2 * quarter, 16, 4},
		{"fillet along a corner", 6, 2, quarter, quarter, 2 * quarter, 6, 4},
		{"outer quarter along a corner", 6, 2, quarter, 0, quarter, 6, 4},
		{"small fillet", 10, 0.2, 4 * quarter, -quarter, 0, 24, 3},
		{"small fillet along a corner", 10, 0.2, quarter, -quarter, 0, 8, 3},
		{"three rows", 10, 1, 4 * quarter, 0.2, 0.9, 12, 2},
		{"short bend of a pipe", 30, 4, 0.5, 0, 4 * quarter, 4, 12},
		{"crown", 4, 30, 4 * quarter, 1.2, 1.5, 24, 5},
		{"apple", 2, 5, 4 * quarter, -1, 1.9, 16, 8},
		{"lemon", -2, 5, 4 * quarter, -1.1, 1.1, 16, 8},
	}
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 9))
		e1, e2, e3 := aFrame(r)
		o := r3.Vec{X: 50 * r.NormFloat64(), Y: 50 * r.NormFloat64(), Z: 50 * r.NormFloat64()}
		for _, c := range cases {
			v0 := 6 * r.Float64()
			pts, at, nrm := patchOf(o, e1, e2, e3, c.major, c.minor, v0, v0+c.v, c.u0, c.u1, c.nv, c.nu)
			s, ok := FitTorus(pts, at, nrm)
			torusNear(rt, c.name, s, ok, o, e3, c.major, c.minor, 1e-7)
			if ok {
				for i, p := range pts {
					if d := s.Distance(p); math.Abs(d) > 1e-9 {
						rt.Errorf("%s: point %d is %g off", c.name, i, d)
					}
				}
			}
		}
	})
}

// Distance and normal against a search over the torus's own two angles.
func TestTorusDistance(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 8))
	e1, e2, e3 := aFrame(r)
	s := Surface{Kind: Torus, At: r3.Vec{X: 1, Y: 2, Z: 3}, Axis: e3, Major: 7, Radius: 2}
	for range 40 {
		p := place(s.At, e1, e2, e3, 12*(r.Float64()-0.5), 12*(r.Float64()-0.5), 5*(r.Float64()-0.5))
		best, at := math.Inf(1), r3.Vec{}
		v, u, reach := 0.0, 0.0, math.Pi
		for range 30 {
			bv, bu := v, u
			for i := -12; i <= 12; i++ {
				for j := -12; j <= 12; j++ {
					sv, cv := math.Sincos(v + reach*float64(i)/12)
					su, cu := math.Sincos(u + reach*float64(j)/12)
					q := place(s.At, e1, e2, e3, (7+2*cu)*cv, (7+2*cu)*sv, 2*su)
					if d := r3.Norm(r3.Sub(q, p)); d < best {
						best, at, bv, bu = d, q, v+reach*float64(i)/12, u+reach*float64(j)/12
					}
				}
			}
			v, u, reach = bv, bu, reach/2
		}
		if math.Abs(math.Abs(s.Distance(p))-best) > 1e-9 {
			t.Errorf("distance %v, nearest point is %v away", s.Distance(p), best)
		}
		if foot := r3.Sub(p, r3.Scale(s.Distance(p), s.Normal(p))); r3.Norm(r3.Sub(foot, at)) > 1e-6 {
			t.Errorf("foot %v, nearest point %v", foot, at)
		}
	}
}

// What the points do not tell is refused: two circles lie on many tori, a ball
// and a cylinder are tori of no radius and of an endless one, and a few square
// tenths of a large ring in single precision tell nothing.
func TestVagueTorus(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	e1, e2, e3 := aFrame(r)
	refused := func(what string, pts, at, nrm []r3.Vec) {
		if s, ok := FitTorus(pts, at, nrm); ok {
			t.Errorf("%s: taken as %+v", what, s)
		}
	}
	pts, at, nrm := patchOf(r3.Vec{}, e1, e2, e3, 10, 2, 0, 2*math.Pi, 0, 1.5, 24, 1)
	refused("two circles", pts, at, nrm)
	pts, at, nrm = patchOf(r3.Vec{}, e1, e2, e3, 0, 5, 0, 6, -1, 1, 16, 8)
	refused("a ball", pts, at, nrm)
	pts, at, nrm = patchOf(r3.Vec{}, e1, e2, e3, 1e9, 5, 0, 1e-8, -1, 1, 4, 8)
	refused("a cylinder", pts, at, nrm)
	pts, at, nrm = patchOf(r3.Vec{X: 40}, e1, e2, e3, 60, 20, 0, 0.01, 0, 0.03, 4, 4)
	for i, p := range pts {
		pts[i] = r3.Vec{X: float64(float32(p.X)), Y: float64(float32(p.Y)), Z: float64(float32(p.Z))}
	}
	refused("a crumb", pts, at, nrm)
}

// A fillet told by its edges: where it runs into a plane and into a cylinder.
func TestTouch(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 5))
	e1, e2, e3 := aFrame(r)
	o := r3.Vec{X: 10, Y: -3, Z: 8}
	var at, nrm, cyl, cn, ball, bn []r3.Vec
	for i := range 5 {
		s, c := math.Sincos(0.4 * float64(i))
		at = append(at, place(o, e1, e2, e3, 6*c, 6*s, -2), place(o, e1, e2, e3, 4*c, 4*s, 0))
		nrm = append(nrm, r3.Scale(-1, e3), place(r3.Vec{}, e1, e2, e3, -c, -s, 0))
		cyl = append(cyl, place(o, e1, e2, e3, 3, 0, float64(i)), place(o, e1, e2, e3, 0, 3, float64(i)))
		cn = append(cn, r3.Scale(-1, e1), r3.Scale(-1, e2))
		ball = append(ball, place(o, e1, e2, e3, 3*c, 3*s, 0), place(o, e1, e2, e3, 3*c, 0, 3*s))
		bn = append(bn, place(r3.Vec{}, e1, e2, e3, c, s, 0), place(r3.Vec{}, e1, e2, e3, c, 0, s))
	}
	s, ok := Touch(Torus, at, nrm)
	torusNear(t, "torus", s, ok, o, e3, 6, 2, 1e-9)
	s, ok = Touch(Cylinder, cyl, cn)
	if !ok || math.Abs(s.Radius-3) > 1e-9 || s.Max > 1e-9 || r3.Norm(r3.Cross(r3.Sub(s.At, o), e3)) > 1e-9 {
		t.Errorf("cylinder: %v %+v", ok, s)
	}
	s, ok = Touch(Sphere, ball, bn)
	if !ok || math.Abs(s.Radius-3) > 1e-9 || r3.Norm(r3.Sub(s.At, o)) > 1e-9 {
		t.Errorf("sphere: %v %+v", ok, s)
	}
}
