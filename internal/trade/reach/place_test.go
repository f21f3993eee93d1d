package reach

import (
	"math"
	"runtime"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// A ball of radius r on the floor of a round pocket, in its middle, comes in
// along directions up to the angle θ at which it grazes the rim, where the rim is
// r from the line of its middle: R cos θ − (depth − r) sin θ = r. By cosine the
// share of those is sin² θ. Between the walls of a long slot it is sin θ: all
// directions along the slot are open (Nusselt's unit circle; both are the view
// factors of a disc and of a strip, as in tables of radiation).
func TestExposureInPockets(t *testing.T) {
	graze := func(half, depth, r float64) float64 {
		lo, hi := 0.0, math.Pi/2
		for range 60 {
			if mid := (lo + hi) / 2; half*math.Cos(mid)-(depth-r)*math.Sin(mid) >= r {
				lo = mid
			} else {
				hi = mid
			}
		}
		return lo
	}
	for _, r := range []float64{1, 2} {
		deep := 4 * r
		m := form.Plate(rectangle(22, 22), 10, form.Blind(form.Circle(r2.Vec{}, 16, 48), deep))
		res := measured(t, part(t, m, 0.7, ball(2*r)))
		got := meanOpenness(res, r, func(at, n r3.Vec) bool { return n.Z > 0.9 && at.Z < 9.9 && math.Hypot(at.X, at.Y) < 1.5 })
		if want := math.Pow(math.Sin(graze(8, deep, r)), 2); math.Abs(got-want) > 0.06 {
			t.Errorf("pocket %g deep, ball of radius %g: exposure %.3f, in truth %.3f", deep, r, got, want)
		}

		const w = 8.0
		long := notchedBy(40, r2.Vec{X: w / 2}, r2.Vec{X: w / 2, Y: -deep}, r2.Vec{X: -w / 2, Y: -deep}, r2.Vec{X: -w / 2})
		res = measured(t, part(t, long, 0.9, ball(2*r)))
		got = meanOpenness(res, r, func(at, n r3.Vec) bool {
			return n.Y > 0.9 && at.Y < -1 && math.Abs(at.X) < 0.8 && math.Abs(at.Z-20) < 4
		})
		if want := math.Sin(graze(w/2, deep, r)); math.Abs(got-want) > 0.06 {
			t.Errorf("slot %g deep, ball of radius %g: exposure %.3f, in truth %.3f", deep, r, got, want)
		}
	}
}

// meanOpenness to a ball over picked facets.
func meanOpenness(r *reacher, radius float64, pick func(at, n r3.Vec) bool) float64 {
	sum, area := 0.0, 0.0
	for f, t := range r.skin.from {
		if pick(r.skin.at[f], r.in.Detail.Patches.Normal[t]) {
			sum += r.skin.area[f] * r.openness(int32(f), radius)
			area += r.skin.area[f]
		}
	}
	return sum / area
}

// A larger ball reaches no facet that a smaller one does not, on any part.
func TestMonotone(t *testing.T) {
	sizes := []float64{0.8, 2, 4, 9}
	var media []fettle.Media
	for _, d := range sizes {
		media = append(media, ball(d))
	}
	rapid.Check(t, func(t *rapid.T) {
		r := measured(t, part(t, randomPlate(t), 3.5, media...))
		total := 0.0
		for _, a := range r.skin.area {
			total += a
		}
		if math.Abs(total-areaOf(r.in.Mesh)) > 1e-9*total {
			t.Fatalf("the skin has %.6f mm², the part %.6f", total, areaOf(r.in.Mesh))
		}
		for f := range r.skin.tri {
			for i := range sizes {
				is := r.reached(i, 0, int32(f))
				if i > 0 && is && !r.reached(i-1, 0, int32(f)) {
					t.Fatalf("ball of %g mm reaches facet %d, of %g mm does not", sizes[i], f, sizes[i-1])
				}
				if is && !r.reached(i, 1, int32(f)) {
					t.Fatalf("ball of %g mm reaches facet %d when new and not when worn", sizes[i], f)
				}
			}
		}
	})
}

// Values at vertices are shares, and their mean over the skin is the share that
// is told.
func TestValues(t *testing.T) {
	m := form.Plate(rectangle(30, 20), 8, form.Blind(form.Circle(r2.Vec{}, 9, 48), 5))
	r := of(t, part(t, m, 1.6, ball(2), ball(6), fettle.Media{Name: "cone", Shape: fettle.Cone, SizeMM: [2]float64{6, 8}, Worn: 0.8}))
	for i := range r.Media {
		sum, area := 0.0, 0.0
		values := r.Values(i)
		for _, v := range values {
			if v.New < 0 || v.New > 1+1e-6 || v.Worn < 0 || v.Worn > 1+1e-6 || v.Exposure < 0 || v.Exposure > 1+1e-6 || v.Removal < 0 || v.Removal > mostBend+1e-3 {
				t.Fatalf("%+v", v)
			}
		}
		for f, c := range r.Skin.Tri {
			_, a := r.Skin.Normal(f)
			for _, p := range c {
				sum += a / 3 * float64(values[p].New)
			}
			area += a
		}
		if math.Abs(sum/area-r.Media[i].ReachedShare) > 0.02 {
			t.Errorf("%s: vertices say %.3f, the media %.3f", r.Media[i].Name, sum/area, r.Media[i].ReachedShare)
		}
	}
}

func areaOf(m *mesh.Mesh) float64 {
	sum := 0.0
	for t := range m.Tri {
		_, a := m.Normal(t)
		sum += a
	}
	return sum
}

// randomPlate has one cut or two side by side.
func randomPlate(t *rapid.T) *mesh.Mesh {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	var cuts []form.Cut
	for i := range rapid.IntRange(1, 2).Draw(t, "cuts") {
		c := r2.Vec{X: float64(2*i-1) * 6}
		d := f("width", 1.5, 9)
		switch rapid.IntRange(0, 4).Draw(t, "cut") {
		case 0:
			cuts = append(cuts, form.Through(form.Circle(c, d, 16)))
		case 1:
			cuts = append(cuts, form.Blind(form.Circle(c, d, 20), f("depth", 1, 6)))
		case 2:
			cuts = append(cuts, form.Blind(form.Rectangle(c, 9, d, min(f("radius", 0, 1.5), d/3), 5), f("depth", 1, 6)))
		case 3:
			cuts = append(cuts, form.Countersunk(c, d/2, 0.9*d, 90, 24))
		case 4:
			cuts = append(cuts, form.Blind(form.Obround(c, 10, d/2, f("turn", 0, 180), 12), f("depth", 1, 6)))
		}
	}
	return form.Plate(form.Rectangle(r2.Vec{}, 24, 12, 1, 4), 7.5, cuts...)
}

// The same part gives the same answer on one core and on many.
func TestSameOnAnyCores(t *testing.T) {
	m := form.Plate(rectangle(24, 12), 7, form.Blind(form.Circle(r2.Vec{X: 6}, 7, 32), 5), form.Through(form.Obround(r2.Vec{X: -5}, 9, 3, 40, 12)))
	in := part(t, m, 2, ball(2), ball(5), fettle.Media{Name: "cone", Shape: fettle.Cone, SizeMM: [2]float64{6, 8}, Worn: 0.8})
	was := runtime.GOMAXPROCS(1)
	a := of(t, in)
	runtime.GOMAXPROCS(4)
	b := of(t, in)
	runtime.GOMAXPROCS(was)
	if d := cmp.Diff(a.Media, b.Media) + cmp.Diff(a.Edges, b.Edges) + cmp.Diff(a.Allowances, b.Allowances); d != "" {
		t.Error(d)
	}
	for i := range in.Media {
		if d := cmp.Diff(a.Values(i), b.Values(i)); d != "" {
			t.Error(d)
		}
	}
}

// Basic minor diameters of ISO 724 for the coarse threads of ISO 261.
func TestThreads(t *testing.T) {
	table := map[string]float64{
		"M2": 1.567, "M2.5": 2.013, "M3": 2.459, "M4": 3.242, "M5": 4.134, "M6": 4.917, "M8": 6.647, "M10": 8.376, "M12": 10.106,
	}
	// The usual drills for them, 5H to 6H (ISO 2306).
	drill := map[string]float64{
		"M2": 1.6, "M2.5": 2.05, "M3": 2.5, "M4": 3.3, "M5": 4.2, "M6": 5, "M8": 6.8, "M10": 8.5, "M12": 10.2,
	}
	if len(coarseThreads) != len(table) {
		t.Fatalf("%d threads, the table has %d", len(coarseThreads), len(table))
	}
	for _, th := range coarseThreads {
		if math.Abs(th.minor()-table[th.name]) > 6e-4 {
			t.Errorf("%s: minor diameter %.4f, ISO 724 has %.3f", th.name, th.minor(), table[th.name])
		}
		for _, d := range []float64{table[th.name], drill[th.name]} {
			if !th.core(d) {
				t.Errorf("%s: %.3f mm is not taken for its core", th.name, d)
			}
		}
		if th.core(th.diameter) {
			t.Errorf("%s: %.3f mm is taken for its core", th.name, th.diameter)
		}
	}
}

// The demo's plate: what a machinist would name, and nothing said of faces that
// lie open.
func TestEscutcheon(t *testing.T) {
	var m *mesh.Mesh
	for _, p := range demo.PartsAt(demo.Coarse) {
		if p.ID == "escutcheon" {
			m = p.Mesh
		}
	}
	r := of(t, part(t, m, 0.74, ball(5), ball(3.2), ball(1.5)))
	places := make([][]string, 3)
	for i, a := range r.Media {
		for _, l := range a.Leaves {
			places[i] = append(places[i], l.Place)
			if !strings.HasPrefix(l.Says, capital(l.Place)+":") || l.AreaMM2 <= 0 || l.Opening == "" {
				t.Errorf("%+v", l)
			}
		}
		for _, z := range a.Zones {
			if z.Zone != "openings" && (z.ReachedShare < 0.999 || z.Exposure < 0.95) {
				t.Errorf("ball of %g mm on %s: %+v", r.r.in.Media[i].SizeMM[0], z.Zone, z)
			}
		}
	}
	// 5 mm does not go into the screw holes of 4 mm or the slot of 3.6 mm, and stands 2.5 mm
	// off the corner of a wall 2.5 mm high; 3.2 mm
	// does both; the recess's corners are left by all.
	want := [][]string{
		{"walls of pocket-1", "inside corners of pocket-1", "walls of slot-1", "walls of hole-1", "walls of hole-2"},
		{"inside corners of pocket-1"},
		{"inside corners of pocket-1"},
	}
	if d := cmp.Diff(want, places); d != "" {
		t.Error(d)
	}
	// The floor of the recess is 22 × 32 mm with corners of 1.2 mm, and its walls
	// 2.5 mm high: a ball of radius r < 2.5 leaves r on both, all the way round.
	around := 2*(22+32) - (8-2*math.Pi)*1.2
	for i, radius := range []float64{1.6, 0.75} {
		l := r.Media[1+i].Leaves[0]
		if want := 2 * radius * around; math.Abs(l.AreaMM2-want) > 0.1*want {
			t.Errorf("ball of radius %g leaves %.1f mm² in the recess, about %.1f in truth", radius, l.AreaMM2, want)
		}
	}
	if len(r.Warnings) != 1 || !strings.Contains(r.Warnings[0], "sharp") {
		t.Errorf("warnings %q", r.Warnings)
	}
	length := 0.0
	for _, e := range r.Edges {
		length += e.LengthMM
	}
	if math.Abs(length-r.r.in.Survey.SharpEdgeMM) > 0.01*length {
		t.Errorf("edges add up to %.2f mm, the survey has %.2f", length, r.r.in.Survey.SharpEdgeMM)
	}
}
