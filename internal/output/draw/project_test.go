package draw

import (
	"math"
	"runtime"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

func drawn(t testing.TB, m *mesh.Mesh, v View) *Drawing {
	t.Helper()
	d, err := Project(m, v)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// ink is the length of all lines in mm.
func inkLength(d *Drawing) float64 {
	sum := 0.0
	for _, l := range d.Lines {
		n := len(l.Pts)
		for i := 1; i < n; i++ {
			sum += math.Hypot(l.Pts[i].X-l.Pts[i-1].X, l.Pts[i].Y-l.Pts[i-1].Y)
		}
		if l.Closed {
			sum += math.Hypot(l.Pts[0].X-l.Pts[n-1].X, l.Pts[0].Y-l.Pts[n-1].Y)
		}
	}
	return sum
}

func near(t interface {
	Helper()
	Errorf(string, ...any)
}, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.4f, want %.4f ± %.4f", what, got, want, tol)
	}
}

// drilled is a plate of 40 × 30 × 8 mm with a hole of 12 mm through its
// middle.
func drilled() *mesh.Mesh {
	return form.Plate(form.Rectangle(r2.Vec{}, 40, 30, 0, 0), 8, form.Through(form.Circle(r2.Vec{}, 12, 180)))
}

// Seen square from above, a drilled plate is a rectangle and a circle.
func TestDrilledPlateFromAbove(t *testing.T) {
	d := drawn(t, drilled(), FromAbove(r3.Vec{}))
	near(t, "length of lines", inkLength(d), 140+math.Pi*12, 0.05)
	if len(d.Lines) != 2 {
		t.Errorf("%d lines, want the outline and the hole", len(d.Lines))
	}
	for _, l := range d.Lines {
		if !l.Closed {
			t.Error("a line that should close does not")
		}
	}
	f, _ := d.Bounds(nil)
	near(t, "width", f.W(), 40+WeightOutline, 1e-9)
	near(t, "height", f.H(), 30+WeightOutline, 1e-9)
}

// Seen from the side, the hole is hidden.
func TestDrilledPlateFromTheSide(t *testing.T) {
	d := drawn(t, drilled(), FromAbove(r3.Vec{}).FromRight())
	near(t, "length of lines", inkLength(d), 2*(30+8), 0.1)
}

// Seen askew, nine of the box's twelve edges are visible; of the hole the upper
// rim, and that part of the lower rim that lies within the upper one when both
// are projected: with the paper undone, two circles of radius r whose centres
// are d = thickness·tan(tilt) apart, of which the arc 2 acos(d/2r) is inside.
func TestDrilledPlateAskew(t *testing.T) {
	const thick, r = 8.0, 6.0
	for _, toward := range []r3.Vec{{X: 0.3, Y: -0.35, Z: 1}, {X: -0.5, Y: 0.2, Z: 1}, {X: 0.1, Y: 0.12, Z: 1}, {X: -0.7, Y: -0.8, Z: 1}} {
		n := r3.Unit(toward)
		right := r3.Unit(r3.Cross(r3.Vec{Y: 1}, n))
		v := View{right, r3.Cross(n, right), n}
		on := func(d r3.Vec) float64 { return math.Hypot(r3.Dot(d, v.Right), r3.Dot(d, v.Up)) }
		// Three edges from the hidden corner are hidden: one of each direction.
		want := 3 * (on(r3.Vec{X: 40}) + on(r3.Vec{Y: 30}) + on(r3.Vec{Z: thick}))
		arc := func(from, to float64) float64 {
			sum := 0.0
			const steps = 20000
			for i := range steps {
				a := from + (to-from)*(float64(i)+0.5)/steps
				sum += on(r3.Vec{X: -math.Sin(a), Y: math.Cos(a)}) * r * (to - from) / steps
			}
			return sum
		}
		want += arc(0, 2*math.Pi)
		// The lower rim appears moved away from the eye by shift.
		shift := r2.Vec{X: -thick * toward.X / toward.Z * -1, Y: -thick * toward.Y / toward.Z * -1}
		d := r2.Norm(shift)
		if d < 2*r {
			// Points of the lower circle, moved, lie inside the upper one on the side
			// that looks back to the upper centre.
			mid, half := math.Atan2(-shift.Y, -shift.X), math.Acos(d/(2*r))
			want += arc(mid-half, mid+half)
		}
		near(t, "length of lines seen from an angle", inkLength(drawn(t, drilled(), v)), want, 0.006*want)
	}
}

// The outline of a ball is a circle of its radius, from anywhere.
func TestBall(t *testing.T) {
	m := form.Icosphere(10, 5)
	for _, up := range []r3.Vec{{Z: 1}, {X: 1, Y: 2, Z: 3}, {X: -1}} {
		d := drawn(t, m, FromAbove(up))
		for _, l := range d.Lines {
			for _, p := range l.Pts {
				near(t, "distance from the centre", math.Hypot(p.X, p.Y), 10, 0.1)
			}
		}
		near(t, "outline", inkLength(d), 20*math.Pi, 0.02*20*math.Pi)
	}
}

// A small box behind a large one is not drawn; in front of it, it is.
func TestOneBodyHidesAnother(t *testing.T) {
	both := func(z float64) *mesh.Mesh {
		m, s := form.Box(20, 20, 2), form.Box(4, 4, 4)
		n := uint32(len(m.Pos))
		for _, p := range s.Pos {
			m.Pos = append(m.Pos, r3.Add(p, r3.Vec{X: 3, Y: 3, Z: z}))
		}
		for _, tri := range s.Tri {
			m.Tri = append(m.Tri, [3]uint32{tri[0] + n, tri[1] + n, tri[2] + n})
		}
		return m
	}
	near(t, "large box over the small one", inkLength(drawn(t, both(-30), FromAbove(r3.Vec{}))), 80, 1e-6)
	near(t, "small box over the large one", inkLength(drawn(t, both(30), FromAbove(r3.Vec{}))), 96, 1e-6)
}

// A view is a right-handed frame, and the back is seen with left and right
// exchanged.
func TestViews(t *testing.T) {
	for _, up := range []r3.Vec{{}, {Z: 1}, {Z: -1}, {X: 1}, {X: 2, Y: -3, Z: 0.5}} {
		a := FromAbove(up)
		for name, v := range map[string]View{"above": a, "behind": a.Behind(), "right": a.FromRight(), "below": a.FromBelow(), "oblique": a.Oblique()} {
			near(t, name+": right × up · toward", r3.Dot(r3.Cross(v.Right, v.Up), v.Toward), 1, 1e-12)
			near(t, name+": right · right", r3.Norm2(v.Right), 1, 1e-12)
		}
	}
	p := r3.Vec{X: 3, Y: 5}
	if got, want := FromAbove(r3.Vec{}).Spot(p), (Pt{3, -5}); got != want {
		t.Errorf("from above (3, 5) stands at %v, want %v", got, want)
	}
	if got, want := FromAbove(r3.Vec{}).Behind().Spot(p), (Pt{-3, -5}); got != want {
		t.Errorf("from behind (3, 5) stands at %v, want %v", got, want)
	}
}

// The same mesh gives the same drawing and picture for any number of cores.
func TestSameEveryTime(t *testing.T) {
	m := escutcheon(t)
	v := FromAbove(r3.Vec{}).Oblique()
	first := drawn(t, m, v)
	pic, err := Shade(m, v, 160)
	if err != nil {
		t.Fatal(err)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if diff := cmp.Diff(first, drawn(t, m, v)); diff != "" {
		t.Error(diff)
	}
	again, err := Shade(m, v, 160)
	if err != nil {
		t.Fatal(err)
	}
	if !cmp.Equal(pic.Pix, again.Pix) {
		t.Error("the picture differs on one core")
	}
}

func TestRefuses(t *testing.T) {
	box := form.Box(1, 2, 3)
	nan := form.Box(1, 2, 3)
	nan.Pos[nan.Tri[0][0]].X = math.NaN()
	wild := form.Box(1, 2, 3)
	wild.Tri[2][1] = 4000
	ok := PanelOptions{Width: 180, Height: 110}
	for name, err := range map[string]error{
		"no mesh":        second(Project(nil, FromAbove(r3.Vec{}))),
		"empty mesh":     second(Project(&mesh.Mesh{}, FromAbove(r3.Vec{}))),
		"not a number":   second(Project(nan, FromAbove(r3.Vec{}))),
		"wild corner":    second(Panel(PartView{Mesh: wild}, ok)),
		"tiny panel":     second(Panel(PartView{Mesh: box}, PanelOptions{Width: 10, Height: 10})),
		"NaN panel":      second(Panel(PartView{Mesh: box}, PanelOptions{Width: math.NaN(), Height: 110})),
		"tiny picture":   second(Shade(box, FromAbove(r3.Vec{}), 1)),
		"huge picture":   second(Shade(box, FromAbove(r3.Vec{}), 1<<20)),
		"picture of NaN": second(Shade(nan, FromAbove(r3.Vec{}), 100)),
	} {
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v, want a sentence with code invalid", name, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }
