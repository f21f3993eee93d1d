package slide

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// surface is a parametric surface with a motion that its construction gives it:
// the truth that these tests compare with.
type surface struct {
	name   string
	kind   Kind
	coarse int // the fewest steps a side at which it must be known
	f      func(u, v float64) r3.Vec
	axis   r3.Vec // of the first motion that turns, through the origin, else its direction
	pitch  float64
	exact  bool // an elementary surface
}

func polar(r, a, z float64) r3.Vec { return r3.Vec{X: r * math.Cos(a), Y: r * math.Sin(a), Z: z} }

// surfaces are pieces, so that no symmetry helps.
func surfaces() []surface {
	z := r3.Vec{Z: 1}
	const lead = 30.0
	return []surface{
		{"plane", Plane, 1, func(u, v float64) r3.Vec { return r3.Vec{X: 40*u - 15, Y: 20*v - 12} }, z, 0, true},
		{"cylinder", Cylinder, 6, func(u, v float64) r3.Vec { return polar(10, 1.5*u, 30*v) }, z, 0, true},
		{"cone", Revolved, 6, func(u, v float64) r3.Vec { return polar(5+5*v, 1.5*u, 20*v) }, z, 0, true},
		{"torus", Revolved, 16, func(u, v float64) r3.Vec {
			return polar(20+5*math.Cos(2*v), 1.5*u, 5*math.Sin(2*v))
		}, z, 0, false},
		// The flank of a screw with a straight edge, and a bent round bar.
		{"helicoid", Helix, 16, func(u, v float64) r3.Vec { return polar(5+5*v, 2.5*u, 2.5*u*lead/(2*math.Pi)+2*v) }, z, lead, false},
		{"left-hand helicoid", Helix, 16, func(u, v float64) r3.Vec { return polar(5+5*v, -2.5*u, 2.5*u*lead/(2*math.Pi)) }, z, -lead, false},
		{"helical tube", Helix, 24, func(u, v float64) r3.Vec {
			return polar(12+3*math.Cos(2*v), 2.5*u, 2.5*u*lead/(2*math.Pi)+3*math.Sin(2*v))
		}, z, lead, false},
		{"extruded spline", Extruded, 12, func(u, v float64) r3.Vec {
			x := 30*u - 15
			return r3.Vec{X: x, Y: 0.001*x*x*x - x*x/50, Z: -40 * v}
		}, z, 0, false},
		{"revolved spline", Revolved, 16, func(u, v float64) r3.Vec {
			h := 30 * v
			return polar(10+2*math.Sin(h/6)+0.002*h*h, 2.5*u, h)
		}, z, 0, false},
	}
}

// check compares the motions of a posed surface with its construction.
func (s *surface) check(t rapid.TB, q pose, kind Kind, ms []Motion, fine bool) {
	t.Helper()
	if kind != s.kind {
		t.Fatalf("%s: found to be %s, is %s", s.name, kind, s.kind)
	}
	if want := freedom(s.kind); s.kind == Cylinder && len(ms) != 2 || len(ms) != want {
		t.Fatalf("%s: %d motions", s.name, len(ms))
	}
	axis, origin := q.direction(s.axis), q.point(r3.Vec{})
	angle, off := 1e-3, 1e-2
	if s.exact {
		angle, off = 1e-6, 1e-6
	} else if !fine {
		angle, off = 0.02, 0.2 // what a coarse mesh knows of a free-form surface
	}
	m := ms[len(ms)-1]
	if s.kind == Plane {
		m.At = origin // any axis along the normal will do
		for _, m := range ms[:2] {
			if d := math.Abs(r3.Dot(m.Axis, axis)); d > angle {
				t.Fatalf("plane: stroke out of the plane by %g", d)
			}
		}
	}
	if d := between(m.Axis, axis); !(d <= angle) {
		t.Fatalf("%s: axis off by %g rad", s.name, d)
	}
	if m.Turns {
		if d := offLine(m.At, origin, axis); !(d <= off) {
			t.Fatalf("%s: axis off by %g mm", s.name, d)
		}
	}
	if tol := 1e-3 * math.Abs(s.pitch); fine && math.Abs(m.Pitch-s.pitch) > tol {
		t.Fatalf("%s: pitch %g, is %g", s.name, m.Pitch, s.pitch)
	}
	if s.pitch == 0 && m.Pitch != 0 {
		t.Fatalf("%s: a turn with pitch %g", s.name, m.Pitch)
	}
}

// Surfaces made by a motion are found to slide along it, wherever they lie and
// however finely they are cut.
func TestMotionsOfKnownSurfaces(t *testing.T) {
	all := surfaces()
	coarse := make([]*mesh.Mesh, len(all))
	fine := 48
	if testing.Short() {
		fine = 36
	}
	for i := range all {
		s := &all[i]
		coarse[i] = sheet(s.coarse, s.coarse, s.f)
		q := anyPose(rand.New(rand.NewPCG(uint64(i), 1)))
		p := find(q.mesh(sheet(fine, fine, s.f)))
		kind, ms, _ := Motions(p, every(p), Options{})
		s.check(t, q, kind, ms, true)
	}
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(all)-1).Draw(t, "surface")
		q := anyPose(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1)))
		p := find(q.mesh(coarse[i]))
		kind, ms, slip := Motions(p, every(p), Options{})
		all[i].check(t, q, kind, ms, false)
		for k, v := range slip {
			if k > 0 && v < slip[k-1] || v < 0 || v > 1+1e-12 {
				t.Fatalf("%s: slippage %v is not in order", all[i].name, slip)
			}
		}
	})
}

// A piece of a ball turns about its centre: first along its length.
func TestSphere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := anyPose(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2)))
		n := rapid.IntRange(6, 20).Draw(t, "steps")
		p := find(q.mesh(sheet(n, n, func(u, v float64) r3.Vec {
			a, b := 1.6*u-0.8, 0.8*v-0.4
			return polar(20*math.Cos(b), a, 20*math.Sin(b))
		})))
		kind, ms, _ := Motions(p, every(p), Options{})
		if kind != Sphere || len(ms) != 3 {
			t.Fatalf("%s with %d motions", kind, len(ms))
		}
		// Long around z, middle normal x.
		for i, axis := range []r3.Vec{{Z: 1}, {Y: 1}, {X: 1}} {
			if d := between(ms[i].Axis, q.direction(axis)); d > 1e-6 {
				t.Errorf("turn %d about an axis off by %g rad", i, d)
			}
			if d := r3.Norm(r3.Sub(ms[i].At, q.shift)); d > 1e-6 {
				t.Errorf("turn %d about a centre off by %g mm", i, d)
			}
		}
	})
}

// A plane's strokes run along its longest direction, across, and round its middle.
func TestPlaneStrokes(t *testing.T) {
	q := anyPose(rand.New(rand.NewPCG(7, 7)))
	p := find(q.mesh(sheet(3, 5, func(u, v float64) r3.Vec { return r3.Vec{X: 20 * u, Y: 50 * v} })))
	kind, ms, slip := Motions(p, every(p), Options{})
	if kind != Plane {
		t.Fatal(kind)
	}
	for i, axis := range []r3.Vec{{Y: 1}, {X: 1}, {Z: 1}} {
		if d := between(ms[i].Axis, q.direction(axis)); d > 1e-9 {
			t.Errorf("stroke %d off by %g rad", i, d)
		}
	}
	if d := r3.Norm(r3.Sub(ms[2].At, q.point(r3.Vec{X: 10, Y: 25}))); d > 1e-9 {
		t.Errorf("turns about a place %g mm off the middle", d)
	}
	// Off the plane there is nothing but loss: travel is all stray.
	for i, v := range slip {
		if want := float64(i / 3); math.Abs(v-want) > 1e-7 {
			t.Errorf("slip %d of a plane is %g", i, v)
		}
	}
}

// What no motion leaves in place is refused, but the nearest motions are told.
func TestFreeForm(t *testing.T) {
	for _, n := range []int{20, 40} {
		p := find(sheet(n, n, func(u, v float64) r3.Vec {
			x, y := 44*u-22, 44*v-22
			return r3.Vec{X: x, Y: y, Z: 2*math.Sin(x/9)*math.Cos(y/7) + 0.002*x*x*x}
		}))
		kind, ms, slip := Motions(p, every(p), Options{})
		if kind != Free || len(ms) != 0 || slip[0] < 0.05 {
			t.Errorf("%d steps: %s with %d motions, slippage %v", n, kind, len(ms), slip)
		}
		near, s := Nearest(p, every(p))
		if len(near) != 6 {
			t.Fatalf("%d nearest motions", len(near))
		}
		for i := range 6 {
			if s[i] < slip[0] || i > 0 && s[i] < s[i-1] {
				t.Errorf("nearest motions stray by %v; nothing strays less than %g", s, slip[0])
			}
		}
		// y and −y are alike, so the best stroke is straight along y or lies across it.
		if d := math.Abs(near[0].Axis.Y); d > 1e-6 && d < 1-1e-6 {
			t.Errorf("the nearest motion %+v is not symmetric", near[0])
		}
	}
}

// A shallow dome, −x²/2a − y²/2b, slides on itself only nearly: rolled about an axis
// along x near the depth b below its top, it strays by what a parabola differs from
// a circle, and by what the arcs off the middle are flatter. The slippage of every
// such roll is worked out here from its definition, over the exact surface.
func TestDome(t *testing.T) {
	const a, b, hx, hy = 62.0, 163.0, 18.0, 29.0
	roll := func(depth float64) float64 {
		const n = 200
		off, way := 0.0, 0.0
		for i := range n {
			for j := range n {
				x, y := hx*(2*(float64(i)+0.5)/n-1), hy*(2*(float64(j)+0.5)/n-1)
				z := -(x*x/(2*a) + y*y/(2*b))
				nx, ny := x/a, y/b
				w := math.Sqrt(1 + nx*nx + ny*ny) // area of the surface over dx dy
				// Turning about x at z = −depth: velocity (0, −(z+depth), y).
				d := (-(z+depth)*ny + y) / w
				off += w * d * d
				way += w * ((z+depth)*(z+depth) + y*y)
			}
		}
		return math.Sqrt(off / way)
	}
	best, depth := 1.0, 0.0
	for d := 150.0; d < 180; d += 0.05 {
		if s := roll(d); s < best {
			best, depth = s, d
		}
	}
	p := find(sheet(40, 40, func(u, v float64) r3.Vec {
		x, y := hx*(2*u-1), hy*(2*v-1)
		return r3.Vec{X: x, Y: y, Z: -(x*x/(2*a) + y*y/(2*b))}
	}))
	kind, ms, slip := Motions(p, every(p), Options{})
	if kind != Revolved || between(ms[0].Axis, r3.Vec{X: 1}) > 1e-6 {
		t.Fatalf("%s %+v", kind, ms)
	}
	if math.Abs(slip[0]-best) > 0.01*best || math.Abs(ms[0].At.Z+depth) > 0.1 {
		t.Errorf("slip %.3g about an axis %.2f mm deep; by quadrature %.3g and %.2f", slip[0], -ms[0].At.Z, best, depth)
	}
	// The stricter shop gets none, but the same stroke as the nearest.
	if kind, _, _ := Motions(p, every(p), Options{Slip: best / 2}); kind != Free {
		t.Errorf("slides within half of its slippage: %s", kind)
	}
	if near, s := Nearest(p, every(p)); between(near[0].Axis, r3.Vec{X: 1}) > 1e-6 || s[0] > 1.01*best ||
		between(near[1].Axis, r3.Vec{Y: 1}) > 1e-6 || !near[1].Turns {
		t.Errorf("nearest are %+v with %v", near[:2], s)
	}
}

// Options and empty sets.
func TestNothing(t *testing.T) {
	p := find(sheet(2, 2, func(u, v float64) r3.Vec { return r3.Vec{X: u, Y: v} }))
	if kind, ms, slip := Motions(p, nil, Options{}); kind != Free || ms != nil || slip != [6]float64{} {
		t.Error(kind, ms, slip)
	}
	if ms, _ := Nearest(p, nil); ms != nil {
		t.Error(ms)
	}
	if ps, err := Split(t.Context(), p, nil, Options{}); err != nil || len(ps) != 0 {
		t.Error(ps, err)
	}
}
