package reach

import (
	"context"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/field"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cavity"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// tester is what helpers need of a test, drawn or not.
type tester interface {
	Helper()
	Fatal(args ...any)
}

// part surveys a mesh and measures its void; cell 0 for no void.
func part(t tester, m *mesh.Mesh, cell float64, media ...fettle.Media) Input {
	t.Helper()
	ctx := context.Background()
	s, d, err := survey.Of(ctx, m, mesh.NewTopology(m), survey.Options{Up: r3.Vec{Z: 1}})
	if err != nil {
		t.Fatal(err)
	}
	in := Input{Mesh: m, Survey: s, Detail: d, Media: media}
	if cell > 0 {
		f, err := field.Distance(ctx, d.Tree, field.GridFor(m.Box(), cell, 4*cell))
		if err != nil {
			t.Fatal(err)
		}
		passage, err := field.Passage(ctx, f)
		if err != nil {
			t.Fatal(err)
		}
		in.Void = &cavity.Void{Field: f, Passage: passage}
	}
	return in
}

func of(t tester, in Input) *Result {
	t.Helper()
	r, err := Of(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// measured is what of does before it asks how openly a place lies.
func measured(t tester, in Input) *reacher {
	t.Helper()
	ctx := context.Background()
	r, err := measure(ctx, in)
	if err == nil {
		err = r.tryPoses(ctx)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func ball(mm float64) fettle.Media {
	return fettle.Media{Name: "ball", Title: "Ball", Shape: fettle.Sphere, SizeMM: [2]float64{mm, mm}, Worn: 0.8}
}

// share is the share of the area of facets picked by their middle and normal
// that the media of that index reach.
func share(r *reacher, media int, pick func(at, n r3.Vec) bool) float64 {
	sum, in := 0.0, 0.0
	for f, t := range r.skin.from {
		if pick(r.skin.at[f], r.in.Detail.Patches.Normal[t]) {
			sum += r.skin.area[f]
			if r.reached(media, 0, int32(f)) {
				in += r.skin.area[f]
			}
		}
	}
	if sum == 0 {
		return math.NaN()
	}
	return in / sum
}

func rectangle(x, y float64) []r2.Vec { return form.Rectangle(r2.Vec{}, x, y, 0, 1) }

// On the flat floor of a round pocket a ball of radius r reaches all but a ring
// of width r: the share ((R−r)/R)². Of the upright wall it reaches all but the
// lowest r.
func TestRoundPocket(t *testing.T) {
	const R, deep = 10.0, 8.0
	m := form.Plate(rectangle(26, 26), 14, form.Blind(form.Circle(r2.Vec{}, 2*R, 96), deep))
	sizes := []float64{1.5, 3, 5, 8, 14}
	var media []fettle.Media
	for _, d := range sizes {
		media = append(media, ball(d))
	}
	r := measured(t, part(t, m, 1, media...))
	for i, d := range sizes {
		floor := share(r, i, func(at, n r3.Vec) bool { return n.Z > 0.9 && at.Z < 10 })
		if want := math.Pow((R-d/2)/R, 2); math.Abs(floor-want) > 0.03 {
			t.Errorf("ball of %g mm reaches %.3f of the floor, in truth %.3f", d, floor, want)
		}
		wall := share(r, i, func(at, n r3.Vec) bool { return math.Hypot(at.X, at.Y) < 10.1 && math.Abs(n.Z) < 0.1 })
		if want := (deep - d/2) / deep; math.Abs(wall-want) > 0.05 {
			t.Errorf("ball of %g mm reaches %.3f of the wall, in truth %.3f", d, wall, want)
		}
		top := share(r, i, func(at, n r3.Vec) bool { return n.Z > 0.9 && at.Z > 10 })
		if top != 1 {
			t.Errorf("ball of %g mm reaches %.3f of the open face", d, top)
		}
	}
}

// notched is a block 14 mm long with the notch of that outline cut into its
// upper side, the way of the notch along Z.
func notched(notch ...r2.Vec) *mesh.Mesh { return notchedBy(14, notch...) }

// notchedBy is as long as asked.
func notchedBy(long float64, notch ...r2.Vec) *mesh.Mesh {
	loop := []r2.Vec{{X: -13, Y: -14}, {X: 13, Y: -14}, {X: 13}}
	loop = append(loop, notch...)
	return form.Plate(append(loop, r2.Vec{X: -13}), long)
}

// A ball of radius r in a V of half-angle α has its middle r/sin α from the
// bottom, and touches the sides r/tan α from it.
func TestVee(t *testing.T) {
	for _, deg := range []float64{25, 60} {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		long := 12.0 // of a side
		m := notched(r2.Vec{X: long * sin}, r2.Vec{Y: -long * cos}, r2.Vec{X: -long * sin})
		for _, void := range []float64{0, 1} {
			r := measured(t, part(t, m, void, ball(2), ball(4), ball(6)))
			for i, radius := range []float64{1, 2, 3} {
				got := share(r, i, func(at, n r3.Vec) bool {
					return at.Y < -1e-3 && at.Y > -11.99 && math.Abs(at.X) < 11.9 && math.Abs(n.Z) < 0.1
				})
				want := 1 - radius*cos/sin/long
				if math.Abs(got-want) > 0.04 {
					t.Errorf("half-angle %g°, ball of radius %g, cell %g: %.3f reached, in truth %.3f", deg, radius, void, got, want)
				}
			}
		}
	}
}

// The walls of a slot are reached by balls as wide as the slot or less.
func TestSlot(t *testing.T) {
	for _, w := range []float64{3, 5} {
		m := notched(r2.Vec{X: w / 2}, r2.Vec{X: w / 2, Y: -10}, r2.Vec{X: -w / 2, Y: -10}, r2.Vec{X: -w / 2})
		// The walls between the bottom's corners and the rounded way in.
		pick := func(at, n r3.Vec) bool {
			return math.Abs(at.X) < w/2+0.01 && at.Y < -1 && at.Y > -7 && math.Abs(n.X) > 0.9
		}
		r := measured(t, part(t, m, 0.8, ball(0.9*w), ball(0.999*w), ball(w*1.01), ball(1.5*w)))
		for i, want := range []float64{1, 1, 0, 0} {
			if got := share(r, i, pick); got != want {
				t.Errorf("slot of %g mm: ball of %g mm reaches %.3f of its walls, in truth %g", w, r.in.Media[i].SizeMM[0], got, want)
			}
		}
	}
}

// A spherical hollow of radius R is reached by balls of that radius or less.
func TestSphericalPocket(t *testing.T) {
	const R = 8.0
	profile := []r2.Vec{{}, {X: 16}, {X: 16, Y: 12}}
	const n = 16
	for i := range n + 1 {
		a := 0.9 * math.Pi / 2 * float64(n-i) / n
		profile = append(profile, r2.Vec{X: R * math.Sin(a), Y: 12 + R*math.Cos(0.9*math.Pi/2) - R*math.Cos(a)})
	}
	m := form.Revolve(profile, 48)
	r := measured(t, part(t, m, 1.4, ball(8), ball(15.8), ball(16.6), ball(24)))
	for i, want := range []float64{1, 1, 0, 0} {
		got := share(r, i, func(at, n r3.Vec) bool { return math.Hypot(at.X, at.Y) < 7.4 && at.Z > 1 })
		if math.Abs(got-want) > 0.02 {
			t.Errorf("ball of %g mm reaches %.3f of the hollow, in truth %g", r.in.Media[i].SizeMM[0], got, want)
		}
	}
}

// Nothing comes into a closed cavity, however well it would fit there.
func TestSealed(t *testing.T) {
	m := form.Box(20, 20, 20)
	in := form.Box(10, 10, 10)
	for _, p := range in.Pos {
		m.Pos = append(m.Pos, r3.Add(p, r3.Vec{X: 5, Y: 5, Z: 5}))
	}
	for _, v := range in.Tri {
		m.Tri = append(m.Tri, [3]uint32{v[0] + 8, v[2] + 8, v[1] + 8})
	}
	r := measured(t, part(t, m, 0.6, ball(1), ball(4)))
	for i := range 2 {
		inner := share(r, i, func(at, _ r3.Vec) bool { return r3.Norm(r3.Sub(at, r3.Vec{X: 10, Y: 10, Z: 10})) < 8.7 })
		outer := share(r, i, func(at, _ r3.Vec) bool { return r3.Norm(r3.Sub(at, r3.Vec{X: 10, Y: 10, Z: 10})) > 9.9 })
		if inner != 0 || outer != 1 {
			t.Errorf("media %d reach %.3f of the cavity and %.3f of the outside", i, inner, outer)
		}
	}
}

// The upright corners of a pocket are rounded to 1.2 mm: balls up to that radius
// reach into them, however coarse the chords of the arc.
func TestFillet(t *testing.T) {
	for _, chords := range []int{4, 24} {
		m := form.Plate(rectangle(30, 30), 8, form.Blind(form.Rectangle(r2.Vec{}, 16, 12, 1.2, chords), 6))
		r := measured(t, part(t, m, 0.6, ball(1), ball(2.3), ball(3), ball(4)))
		for i, want := range []float64{1, 1, 0, 0} {
			got := share(r, i, func(at, n r3.Vec) bool {
				// The middle half of each arc, clear of the floor.
				a := math.Abs(math.Abs(math.Atan2(n.Y, n.X)*180/math.Pi)-90) / 45
				in := math.Abs(at.X) > 8-1.2*0.65 && math.Abs(at.Y) > 6-1.2*0.65
				return in && math.Abs(a-1) < 0.6 && at.Z > 3.5 && at.Z < 7 && math.Abs(n.Z) < 0.1 && math.Abs(at.X) < 8.1
			})
			if math.Abs(got-want) > 0.02 {
				t.Errorf("%d chords: ball of %g mm reaches %.3f of the rounded corners, in truth %g", chords, r.in.Media[i].SizeMM[0], got, want)
			}
		}
	}
}

// Balls and flats are reached everywhere, and lie open to all sides.
func TestOutside(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"ball": form.Icosphere(12, 2), "box": form.Box(20, 14, 6), "ring's outside": form.Cylinder(20, 8, 24),
	} {
		r := of(t, part(t, m, 2.5, ball(2), ball(30)))
		for _, a := range r.Media {
			if a.ReachedShare < 1-1e-9 || a.WornShare < 1-1e-9 {
				t.Errorf("%s: %.4f reached, worn %.4f", name, a.ReachedShare, a.WornShare)
			}
			for _, z := range a.Zones {
				if z.Exposure < 0.97 || z.Exposure > 1+1e-9 {
					t.Errorf("%s, %s: exposure %.3f", name, z.Zone, z.Exposure)
				}
			}
			if len(a.Leaves) > 0 {
				t.Errorf("%s: %+v", name, a.Leaves)
			}
		}
	}
}
