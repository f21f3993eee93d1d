package slide

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// split divides facets and holds the result to what Split promises of every one.
func split(t testing.TB, p *patch.Patches, tris []int32, opt Options) []Patch {
	t.Helper()
	ps, err := Split(t.Context(), p, tris, opt)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[int32]int{}
	total := 0.0
	for i, q := range ps {
		area := 0.0
		for k, tri := range q.Tris {
			seen[tri]++
			area += p.Area[tri]
			if k > 0 && q.Tris[k-1] >= tri {
				t.Fatalf("patch %d: facets are not ascending", i)
			}
		}
		total += area
		if math.Abs(area-q.Area) > 1e-9*area || i > 0 && q.Area > ps[i-1].Area {
			t.Errorf("patch %d: area %g of %g, after %g", i, q.Area, area, ps[max(0, i-1)].Area)
		}
		if (q.Kind == Free) != (len(q.Motions) == 0) {
			t.Errorf("patch %d: %s with %d motions", i, q.Kind, len(q.Motions))
		}
		if n := len(q.Tris); n > 0 && pieces(p, q.Tris) != 1 {
			t.Errorf("patch %d is in %d pieces", i, pieces(p, q.Tris))
		}
	}
	for _, tri := range tris {
		if seen[tri] != 1 {
			t.Fatalf("facet %d is in %d patches", tri, seen[tri])
		}
	}
	if len(seen) != len(tris) {
		t.Errorf("%d facets of %d", len(seen), len(tris))
	}
	return ps
}

// pieces counts connected pieces over shared edges.
func pieces(p *patch.Patches, tris []int32) int {
	left := map[int32]bool{}
	for _, t := range tris {
		left[t] = true
	}
	n := 0
	for _, t := range tris {
		if !left[t] {
			continue
		}
		n++
		delete(left, t)
		list := []int32{t}
		for len(list) > 0 {
			t := list[len(list)-1]
			list = list[:len(list)-1]
			for _, u := range p.Topology.Across[t] {
				if left[u] {
					delete(left, u)
					list = append(list, u)
				}
			}
		}
	}
	return n
}

func shares(ps []Patch) map[Kind]int {
	n := map[Kind]int{}
	for _, q := range ps {
		n[q.Kind]++
	}
	return n
}

// bar is a length of an outline, closed at its ends.
func bar(outline []r2.Vec, length float64) *mesh.Mesh {
	b := &form.Builder{}
	low, high := b.Ring(outline, 0), b.Ring(outline, length)
	b.Wall(low, high)
	b.Region(form.Down, low)
	b.Region(form.Up, high)
	m, _ := mesh.Clean(b.Mesh(), mesh.Options{})
	return m
}

// A box with rounded upright edges: planes and quarter cylinders, each for itself,
// as each has more motions than it would share with its neighbour.
func TestSplitRoundedBox(t *testing.T) {
	q := anyPose(rand.New(rand.NewPCG(1, 1)))
	p := find(q.mesh(bar(form.Rectangle(r2.Vec{}, 40, 60, 5, 12), 25)))
	if diff := cmp.Diff(map[Kind]int{Plane: 6, Cylinder: 4}, shares(split(t, p, every(p), Options{}))); diff != "" {
		t.Error(diff)
	}
	// Edges too small for a block of their own leave the planes as they are.
	p = find(q.mesh(bar(form.Rectangle(r2.Vec{}, 40, 60, 0.5, 8), 25)))
	if diff := cmp.Diff(map[Kind]int{Plane: 6, Free: 4}, shares(split(t, p, every(p), Options{}))); diff != "" {
		t.Error(diff)
	}
}

// A flat bar's narrow edge with a small round to either side is one piece that
// slides along the bar: the rounds are slivers, but large ones against the edge.
func TestSplitBarEdge(t *testing.T) {
	q := anyPose(rand.New(rand.NewPCG(2, 1)))
	p := find(q.mesh(bar(form.Rectangle(r2.Vec{}, 80, 4, 0.8, 8), 120)))
	ps := split(t, p, every(p), Options{})
	// Two sides; two edges with their rounds; two ends.
	edges := 0
	for _, s := range ps {
		if s.Kind == Extruded {
			edges++
			if d := between(s.Motions[0].Axis, q.direction(r3.Vec{Z: 1})); d > 1e-6 {
				t.Errorf("stroke off by %g rad", d)
			}
			// 2.4 flat and two quarter rounds of 0.8, 120 long; of chords.
			if want := 120 * (2.4 + math.Pi*0.8); math.Abs(s.Area-want) > 0.005*want {
				t.Errorf("edge of %g mm², drawn %g", s.Area, want)
			}
		}
	}
	if edges != 2 || ps[0].Kind != Plane || ps[1].Kind != Plane {
		t.Errorf("found %v", shares(ps))
	}
}

// revolved is a profile of (radius, z), from the axis out, carried round.
func revolved(profile []r2.Vec, n int) *mesh.Mesh {
	f := func(u, v float64) r3.Vec {
		q := profile[int(math.Round(v*float64(len(profile)-1)))]
		return polar(q.X, 2*math.Pi*u, q.Y)
	}
	return sheet(n, len(profile)-1, func(u, v float64) r3.Vec { return f(u, 1-v) })
}

// A ball-shaped cap with a round edge of a torus and a cone below: all turn about
// one axis. The cap keeps its three motions, what else runs into each other is one.
func TestSplitTurned(t *testing.T) {
	var profile []r2.Vec
	// Radius 30 about (0, −30), 20° down; radius 3 from there on, to 70°; a cone.
	for i := range 13 {
		a := 20 * math.Pi / 180 * float64(i) / 12
		profile = append(profile, r2.Vec{X: 30 * math.Sin(a), Y: 30*math.Cos(a) - 30})
	}
	last := profile[12]
	c := r2.Vec{X: last.X - 3*math.Sin(20*math.Pi/180), Y: last.Y - 3*math.Cos(20*math.Pi/180)}
	for i := 1; i < 11; i++ {
		a := (20 + 50*float64(i)/10) * math.Pi / 180
		profile = append(profile, r2.Vec{X: c.X + 3*math.Sin(a), Y: c.Y + 3*math.Cos(a)})
	}
	last = profile[len(profile)-1]
	for i := 1; i < 5; i++ {
		s := 3 * float64(i)
		profile = append(profile, r2.Vec{X: last.X + s*math.Cos(70*math.Pi/180), Y: last.Y - s*math.Sin(70*math.Pi/180)})
	}
	q := anyPose(rand.New(rand.NewPCG(3, 1)))
	p := find(q.mesh(revolved(profile, 60)))
	ps := split(t, p, every(p), Options{})
	if diff := cmp.Diff(map[Kind]int{Sphere: 1, Revolved: 1}, shares(ps)); diff != "" {
		t.Fatal(diff)
	}
	for _, s := range ps {
		m := s.Motions[len(s.Motions)-1]
		if d := between(m.Axis, q.direction(r3.Vec{Z: 1})); s.Kind == Revolved && d > 1e-3 {
			t.Errorf("axis off by %g rad", d)
		}
		if d := offLine(m.At, q.shift, q.direction(r3.Vec{Z: 1})); d > 1e-2 {
			t.Errorf("%s: axis off by %g mm", s.Kind, d)
		}
	}
}

// One smooth free-form face of two halves, one that was carried along y and one
// that no motion keeps: the half that slides is found, up to about the line.
func TestSplitFindsTheHalf(t *testing.T) {
	if testing.Short() {
		t.Skip("20 000 facets in cells take seconds")
	}
	f := func(u, v float64) r3.Vec {
		x, y := 80*u-40, 60*v-30
		z := 3 * math.Sin(x/8)
		if x > 0 {
			z += 0.004 * x * x * math.Sin(y/5) // joins with the same slope
		}
		return r3.Vec{X: x, Y: y, Z: z}
	}
	q := anyPose(rand.New(rand.NewPCG(4, 1)))
	p := find(q.mesh(sheet(120, 90, f)))
	ps := split(t, p, every(p), Options{})
	s := ps[0]
	for _, o := range ps {
		if o.Kind != Free && (s.Kind == Free || o.Area > s.Area) {
			s = o
		}
	}
	if s.Kind != Extruded || between(s.Motions[0].Axis, q.direction(r3.Vec{Y: 1})) > 2e-3 {
		t.Fatalf("%s %+v", s.Kind, s.Motions)
	}
	// The half's area; beyond the line the surface leaves the stroke softly, by a
	// slope of 0.0008 x² at most, 0.02 at 5 mm.
	half, beyond, strayed := 0.0, 0.0, 0.0
	in := map[int32]bool{}
	for _, tri := range s.Tris {
		in[tri] = true
	}
	for i, a := range p.Area {
		x := float64(i/2/90)*80/120 - 40
		if x < -80.0/120 {
			half += a
			if !in[int32(i)] {
				strayed += a
			}
		} else if in[int32(i)] {
			if x > 5 {
				beyond += a
			}
		}
	}
	if strayed > 0.03*half || beyond > 0.03*half {
		t.Errorf("%.0f of %.0f mm² are left out; %.0f mm² lie well beyond the line", strayed, half, beyond)
	}
}

// A wavy sheet has no patch that is worth a block.
func TestSplitFreeForm(t *testing.T) {
	p := find(sheet(50, 50, func(u, v float64) r3.Vec {
		x, y := 40*u, 40*v
		return r3.Vec{X: x, Y: y, Z: 2 * math.Sin(x/3) * math.Cos(y/3.3)}
	}))
	ps := split(t, p, every(p), Options{})
	if len(ps) != 1 || ps[0].Kind != Free {
		t.Errorf("found %v", shares(ps))
	}
}

// The same bits on one core as on several, and an end when asked for.
func TestSplitIsDeterministic(t *testing.T) {
	p := find(sheet(40, 40, func(u, v float64) r3.Vec {
		x, y := 60*u, 60*v
		return r3.Vec{X: x, Y: y, Z: 2*math.Sin(x/12)*math.Cos(y/30) + 0.01*x*y}
	}))
	many := split(t, p, every(p), Options{})
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if diff := cmp.Diff(many, split(t, p, every(p), Options{})); diff != "" {
		t.Errorf("another answer on one core:\n%s", diff)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := Split(ctx, p, every(p), Options{}); err != context.Canceled {
		t.Errorf("stopped with %v", err)
	}
}
