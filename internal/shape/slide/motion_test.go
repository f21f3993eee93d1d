package slide

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func anyMotion(r *rand.Rand, kind int) Motion {
	q := anyPose(r)
	m := Motion{Axis: q.direction(r3.Vec{Z: 1})}
	if kind > 0 {
		m.Turns, m.At, m.PerMM = true, q.shift, 0.001+r.Float64()
	}
	if kind > 1 {
		m.Pitch = 40 * r.NormFloat64()
	}
	return m
}

// A motion is rigid, goes back the way it came, goes on at an even pace, and its
// velocity is the derivative by central differences.
func TestMotionIsRigidAndEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		m := anyMotion(r, rapid.IntRange(0, 2).Draw(t, "kind"))
		vec := func() r3.Vec {
			return r3.Vec{X: 30 * r.NormFloat64(), Y: 30 * r.NormFloat64(), Z: 30 * r.NormFloat64()}
		}
		p, q, s := vec(), vec(), 20*r.NormFloat64()
		near := func(what string, a, b r3.Vec, tol float64) {
			if d := r3.Norm(r3.Sub(a, b)); !(d <= tol) {
				t.Errorf("%s: off by %g", what, d)
			}
		}
		near("there and back", m.Move(m.Move(p, s), -s), p, 1e-11)
		near("in two goes", m.Move(m.Move(p, s/3), 2*s/3), m.Move(p, s), 1e-11)
		near("difference of places is a direction", r3.Sub(m.Move(p, s), m.Move(q, s)), m.Turned(r3.Sub(p, q), s), 1e-11)
		if a, b := r3.Norm(m.Turned(p, s)), r3.Norm(p); math.Abs(a-b) > 1e-11 {
			t.Errorf("a direction is stretched by %g", a/b)
		}
		const h = 1e-4
		diff := r3.Scale(1/(2*h), r3.Sub(m.Move(p, h), m.Move(p, -h)))
		near("velocity", m.Velocity(p), diff, 1e-6*(1+r3.Norm(m.Velocity(p))))
		near("no way", m.Move(p, 0), p, 1e-12)
	})
}

// A full turn of a screw comes back round, one pitch along the axis; a positive
// pitch is a right-hand thread, as on a common bolt: turned from x to y it advances
// along z.
func TestScrewAdvances(t *testing.T) {
	m := Motion{Axis: r3.Vec{Z: 1}, At: r3.Vec{X: 3}, Turns: true, Pitch: 1.75, PerMM: 0.125}
	p := r3.Vec{X: 13, Y: 0, Z: 2}
	if d := r3.Norm(r3.Sub(m.Move(p, 2*math.Pi/m.PerMM), r3.Vec{X: 13, Z: 3.75})); d > 1e-12 {
		t.Errorf("a full turn is off by %g", d)
	}
	if d := r3.Norm(r3.Sub(m.Move(p, math.Pi/2/m.PerMM), r3.Vec{X: 3, Y: 10, Z: 2.4375})); d > 1e-12 {
		t.Errorf("a quarter turn is off by %g", d)
	}
}

// The middle of a patch travels 1 mm for each mm, along its circle or helix; where
// it lies on the axis, a typical point does.
func TestPace(t *testing.T) {
	for _, s := range surfaces() {
		p := find(sheet(24, 24, s.f))
		ps, err := Split(t.Context(), p, every(p), Options{})
		if err != nil || len(ps) != 1 {
			t.Fatalf("%s: %d patches, %v", s.name, len(ps), err)
		}
		for _, m := range ps[0].Motions {
			v := r3.Norm(m.Velocity(ps[0].Centroid))
			want := 1.0
			if s.kind == Plane && m.Turns {
				// Round the middle of 40 × 20 mm the mean square radius is (40² + 20²)/12.
				v, want = m.PerMM, 1/math.Sqrt((40.0*40+20*20)/12)
			}
			if math.Abs(v-want) > 1e-9*want {
				t.Errorf("%s: pace %g, not %g", s.name, v, want)
			}
		}
	}
	// A full round bar: its middle is on the axis, its skin at the radius, of which
	// 40 flats keep r²(cos²a + sin²a/3) in the mean square, a being half a step.
	p := find(sheet(40, 4, func(u, v float64) r3.Vec { return polar(8, 2*math.Pi*u, 30*v) }))
	_, ms, _ := Motions(p, every(p), Options{})
	sin, cos := math.Sincos(math.Pi / 40)
	if len(ms) != 2 || math.Abs(ms[1].PerMM*8*math.Sqrt(cos*cos+sin*sin/3)-1) > 1e-9 {
		t.Errorf("a bar of radius 8: %+v", ms)
	}
}

// Chasles: a twist at any point becomes the same velocities as a screw.
func TestScrewOfTwist(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		vec := func(k float64) r3.Vec {
			return r3.Vec{X: k * r.NormFloat64(), Y: k * r.NormFloat64(), Z: k * r.NormFloat64()}
		}
		tw, c, p := twist{vec(0.1), vec(1)}, vec(50), vec(50)
		m := tw.screw(c, 1e12)
		m.PerMM = r3.Norm(tw.W)
		if r3.Dot(m.Axis, tw.W) < 0 {
			m.PerMM = -m.PerMM
		}
		want := r3.Add(tw.V, r3.Cross(tw.W, r3.Sub(p, c)))
		if d := r3.Norm(r3.Sub(m.Velocity(p), want)); d > 1e-9*(1+r3.Norm(want)) {
			t.Errorf("off by %g", d)
		}
	})
}
