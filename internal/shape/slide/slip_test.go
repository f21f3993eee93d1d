package slide

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/bvh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Slippage of a whole cylinder wall of radius r and height h, by hand: a motion
// across strays by cos θ, whose mean square is ½ (twice); a tilt about a diameter
// strays by z sin θ and travels by y² + z², so that its squared slippage is
// (h²/24)/(r²/2 + h²/12) = 1/(2 + 12 r²/h²) (twice); turn and straight motion along
// the axis do not stray. By symmetry nothing mixes.
func TestSlipOfCylinder(t *testing.T) {
	const r, h = 8.0, 30.0
	p := find(sheet(400, 6, func(u, v float64) r3.Vec { return polar(r, 2*math.Pi*u, h*v) }))
	_, _, slip := Motions(p, every(p), Options{})
	tilt := math.Sqrt(1 / (2 + 12*r*r/(h*h)))
	want := [6]float64{0, 0, tilt, tilt, math.Sqrt(0.5), math.Sqrt(0.5)}
	for i, v := range slip {
		if math.Abs(v-want[i]) > 2e-4 {
			t.Errorf("value %d is %.6f, by hand %.6f", i, v, want[i])
		}
	}
}

// Slippage of a half ball of radius 1, by hand. Turns about its centre do not
// stray, and may be added to a straight motion v to make it travel least, which is
// what the eigenvectors are. It strays by v·n, of mean square ⅓ in any direction.
// Along the axis no turn helps: ⅓. Along x a turn b about y makes the mean square
// travel 1 + 2b·mean(z) + b²·mean(z² + x²) = 1 + b + ⅔b², at least ⅝: ⅓ : ⅝ = 8/15,
// and along y the same.
func TestSlipOfHalfBall(t *testing.T) {
	p := find(sheet(120, 40, func(u, v float64) r3.Vec {
		a := math.Pi / 2 * v
		return polar(20*math.Cos(a), 2*math.Pi*u, 20*math.Sin(a))
	}))
	_, _, slip := Motions(p, every(p), Options{})
	want := [6]float64{0, 0, 0, math.Sqrt(1.0 / 3), math.Sqrt(8.0 / 15), math.Sqrt(8.0 / 15)}
	for i, v := range slip {
		if math.Abs(v-want[i]) > 1e-3 {
			t.Errorf("value %d is %.6f, by hand %.6f", i, v, want[i])
		}
	}
}

// Slippage is what it says: points on the surface, moved a little along a motion,
// are found to stand off the surface by as much, against how far they went, by
// brute force on a finer mesh.
func TestSlipIsDistance(t *testing.T) {
	if testing.Short() {
		t.Skip("the fine mesh takes seconds")
	}
	f := func(u, v float64) r3.Vec {
		x, y := 40*u-20, 30*v-15
		return r3.Vec{X: x, Y: y, Z: 3 * math.Sin(x/9) * math.Cos(y/11)}
	}
	p := find(sheet(40, 30, f))
	// Beyond the patch the surface goes on, so that its points do not leave it.
	tree := bvh.Build(sheet(300, 250, func(u, v float64) r3.Vec { return f(1.2*u-0.1, 1.2*v-0.1) }))
	near, slip := Nearest(p, every(p))
	r := rand.New(rand.NewPCG(5, 5))
	for i, m := range near {
		const ds = 0.05
		off, way := 0.0, 0.0
		for range 3000 {
			u, v := r.Float64(), r.Float64()
			q := f(u, v)
			// By area: over dx dy it is the length of the normal (−z_x, −z_y, 1).
			const e = 1e-5
			du, dv := r3.Sub(f(u+e, v), f(u-e, v)), r3.Sub(f(u, v+e), f(u, v-e))
			w := r3.Norm(r3.Cross(du, dv))
			to := m.Move(q, ds)
			_, _, d2 := tree.Nearest(to)
			off += w * d2
			way += w * r3.Norm2(r3.Sub(to, q))
		}
		if got := math.Sqrt(off / way); math.Abs(got-slip[i]) > 0.03*slip[i]+0.002 {
			t.Errorf("motion %d %+v: slippage %.4f, by distances %.4f", i, m, slip[i], got)
		}
	}
}
