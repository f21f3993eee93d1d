package cavity

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/stock"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// shuffled has the triangles of a mesh in another order, each beginning at
// another corner.
func shuffled(m *mesh.Mesh, r *rand.Rand) *mesh.Mesh {
	out := &mesh.Mesh{Pos: m.Pos, Tri: slices.Clone(m.Tri)}
	r.Shuffle(len(out.Tri), func(i, j int) { out.Tri[i], out.Tri[j] = out.Tri[j], out.Tri[i] })
	for i, t := range out.Tri {
		if r.IntN(2) == 0 {
			out.Tri[i] = [3]uint32{t[1], t[2], t[0]}
		}
	}
	return out
}

// yard is a plate with three gaps of different widths, a bowl and two holes.
func yard() *mesh.Mesh {
	b := &form.Builder{}
	base := form.Rectangle(r2.Vec{}, 50, 30, 0, 1)
	low, top := b.Ring(base, 0), b.Ring(base, 5)
	b.Wall(low, top)
	var feet, ends []form.Ring
	stud := func(loop []r2.Vec, high float64) {
		foot, head := b.Ring(loop, 5), b.Ring(loop, 5+high)
		b.Wall(foot, head)
		b.Region(form.Up, head)
		feet = append(feet, foot)
	}
	hole := func(loop []r2.Vec) {
		over, under := b.Ring(loop, 5), b.Ring(loop, 0)
		b.Wall(over, under)
		feet, ends = append(feet, over), append(ends, under)
	}
	const n = 48
	stud(form.Circle(r2.Vec{X: -20, Y: -8}, 4, n), 9)
	stud(form.Circle(r2.Vec{X: -14, Y: -8}, 4, n), 9)
	stud(form.Circle(r2.Vec{X: 15, Y: -8}, 5, n), 9)
	stud(form.Circle(r2.Vec{X: 21.5, Y: -8}, 5, n), 9)
	hole(form.Circle(r2.Vec{X: -15, Y: 8}, 4, n))
	hole(form.Circle(r2.Vec{X: 15, Y: 8}, 5, n))
	b.Region(form.Up, top, feet...)
	b.Region(form.Down, low, ends...)
	return b.Mesh()
}

// Shuffled, shifted and turned, a part keeps its openings, their ids and, within
// two cells, their measures.
func TestStable(t *testing.T) {
	const cell = 0.4
	m := yard()
	_, first, _ := find(t, m, cell)
	var ids []string
	for _, o := range first {
		ids = append(ids, o.ID)
	}
	if got := strings.Join(ids, " "); got != "hole-1 hole-2 gap-1 gap-2" {
		t.Fatalf("found %s", got)
	}
	r := rand.New(rand.NewPCG(3, 5))
	quarter := r3.NewRotation(math.Pi/2, r3.Vec{X: 1})
	some := r3.NewRotation(0.6, r3.Unit(r3.Vec{X: 1, Y: -2, Z: 2}))
	for _, c := range []struct {
		name string
		m    *mesh.Mesh
		turn r3.Rotation
		by   r3.Vec
	}{
		{"shuffled", shuffled(m, r), still(), r3.Vec{}},
		{"shifted", moved(m, still(), r3.Vec{X: 7.3, Y: 100.1, Z: -3}), still(), r3.Vec{X: 7.3, Y: 100.1, Z: -3}},
		{"quarter turn", moved(m, quarter, r3.Vec{}), quarter, r3.Vec{}},
		{"turned", moved(m, some, r3.Vec{}), some, r3.Vec{}},
	} {
		if testing.Short() && c.name != "shuffled" {
			continue
		}
		_, list, _ := find(t, c.m, cell)
		if len(list) != len(first) {
			t.Errorf("%s: %d openings", c.name, len(list))
			continue
		}
		for i, o := range list {
			w := first[i]
			if o.ID != w.ID || o.Through != w.Through || math.Abs(o.WidthMM-w.WidthMM) > 2*cell || math.Abs(o.DepthMM-w.DepthMM) > 2*cell {
				t.Errorf("%s: %s %v %.3f %.3f, was %s %v %.3f %.3f", c.name, o.ID, o.Through, o.WidthMM, o.DepthMM, w.ID, w.Through, w.WidthMM, w.DepthMM)
			}
			if o.Kind != fettle.Gap {
				continue
			}
			// A gap's two mouths are alike: its middle is what stays.
			mid := func(o fettle.Opening) r3.Vec {
				return r3.Sub(geom.Vec(o.At), r3.Scale(o.DepthMM/2, geom.Vec(o.Axis)))
			}
			if d := r3.Norm(r3.Sub(mid(o), r3.Add(c.turn.Rotate(mid(w)), c.by))); d > 2*cell {
				t.Errorf("%s: %s has moved by %.3f", c.name, o.ID, d)
			}
		}
	}
}

// The same answer, to the bit, for any number of cores.
func TestSameForAnyCores(t *testing.T) {
	in := input(t, yard(), 0.6)
	first, list, _, err := Find(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{1, 3} {
		if testing.Short() && n == 1 {
			continue
		}
		runtime.GOMAXPROCS(n)
		v, again, _, err := Find(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(list, again); d != "" {
			t.Errorf("with %d cores:\n%s", n, d)
		}
		if !slices.Equal(first.D, v.D) || !slices.Equal(first.Opening, v.Opening) || !slices.Equal(first.Passage, v.Passage) {
			t.Errorf("with %d cores the void differs", n)
		}
	}
}

// The sample parts against their drawings: the survey's openings and nothing
// else, each with its clear width.
func TestSampleParts(t *testing.T) {
	const cell = 0.4
	for _, p := range demo.PartsAt(demo.Coarse) {
		if testing.Short() && p.ID != "knob" {
			continue
		}
		in := input(t, p.Mesh, cell)
		v, list, warn, err := Find(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		if len(list) != len(in.Survey.Openings) {
			t.Errorf("%s: %d openings, the survey has %d", p.ID, len(list), len(in.Survey.Openings))
			continue
		}
		for i, o := range list {
			w := in.Survey.Openings[i]
			small := w.WidthMM < 4*cell
			o.Profile, o.CellMM = w.Profile, w.CellMM
			if d := cmp.Diff(w, o); d != "" {
				t.Errorf("%s: the survey's %s has changed:\n%s", p.ID, w.ID, d)
			}
			o = list[i]
			if small != (len(o.Profile) == 0) || small != (o.CellMM == 0) {
				t.Errorf("%s: %s, %.2f wide, has a profile of %d", p.ID, o.ID, o.WidthMM, len(o.Profile))
			}
			if small {
				continue
			}
			first, last := o.Profile[0].WidthMM, o.Profile[len(o.Profile)-1].WidthMM
			if math.Abs(first-o.WidestMM) > 2*cell {
				t.Errorf("%s: the mouth of %s is %.3f wide, drawn %.3f", p.ID, o.ID, first, o.WidestMM)
			}
			if want := o.WidthMM; o.Form != "keyhole" && math.Abs(last-want) > 2*cell {
				t.Errorf("%s: %s ends %.3f wide, drawn %.3f", p.ID, o.ID, last, want)
			}
		}
		if small := len(v.Coarse) == 1 && strings.Contains(v.Coarse[0], "too small for the grid"); p.ID == "knob" != small || !small && len(v.Coarse) > 0 || len(warn) > 0 {
			t.Errorf("%s: %q, %q", p.ID, v.Coarse, warn)
		}
		checkCells(t, p.ID, v, list)
	}
}

// A mesh with facets missing is told all the same.
func TestOpenMesh(t *testing.T) {
	m := form.Plate(plate, 8, form.Through(form.Circle(r2.Vec{X: -10}, 6, 64)), form.Blind(form.Rectangle(r2.Vec{X: 10}, 10, 8, 1, 8), 3))
	m.Tri = m.Tri[9:]
	_, list, _ := find(t, m, 0.4)
	if len(list) != 2 || math.Abs(list[0].Profile[0].WidthMM-6) > 0.8 || math.Abs(list[1].Profile[0].WidthMM-8) > 0.8 {
		t.Errorf("%+v", list)
	}
	if _, _, _, err := Find(context.Background(), Input{Mesh: &mesh.Mesh{}}); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("no triangles: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, _, _, err := Find(ctx, input(t, form.Box(5, 5, 5), 0.4)); err == nil {
		t.Error("a search that was called off went on")
	}
}

// Random plates: every opening drawn is in the list, and no other.
func TestRandomPlates(t *testing.T) {
	const cell = 0.4
	for seed := range tries() {
		r := rand.New(rand.NewPCG(seed, 11))
		var cuts []form.Cut
		var widths []float64 // of holes
		for i, c := range []r2.Vec{{X: -14}, {}, {X: 14}} {
			n := 4 * (6 + r.IntN(9))
			d, deep := 2+6*r.Float64(), 2+4*r.Float64()
			switch r.IntN(8) {
			case 0:
				cuts, widths = append(cuts, form.Through(form.Circle(c, d, n))), append(widths, d)
			case 1:
				cuts, widths = append(cuts, form.Drilled(c, d, deep, 150, n)), append(widths, d)
			case 2:
				cuts, widths = append(cuts, form.Countersunk(c, d, d+3, 90, n)), append(widths, d)
			case 3:
				cuts = append(cuts, form.Blind(form.Rectangle(c, d+2, d, d/4, 4), deep))
			case 4:
				cuts = append(cuts, form.Through(form.Obround(c, 10, min(d, 5), float64(30*i), n/2)))
			case 5:
				cuts = append(cuts, form.Through(form.Keyhole(r2.Add(c, r2.Vec{Y: 3}), 7, 3, 8, n)))
			case 6:
				var s []form.Section
				for k := range 8 {
					sin, cos := math.Sincos(float64(k) / 8 * math.Pi / 2)
					s = append(s, form.Section{Loop: form.Circle(c, 8*cos, n), Depth: 4 * sin})
				}
				cuts = append(cuts, form.Cut{Sections: s, Tip: true, Point: 4 - s[7].Depth})
			}
		}
		in := input(t, form.Plate(form.Rectangle(r2.Vec{}, 48, 20, 0, 1), 9, cuts...), cell)
		in.Media = pieces(3)
		v, list, _, err := Find(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		if len(list) != len(cuts) {
			t.Errorf("plate %d: %d openings, drawn %d: %+v", seed, len(list), len(cuts), list)
			continue
		}
		slices.Sort(widths)
		slices.Reverse(widths)
		for i, o := range list {
			if i < len(widths) && (o.Kind != fettle.Hole || len(o.Profile) == 0 || math.Abs(narrowestOf(o.Profile)-widths[i]) > 2*cell) {
				t.Errorf("plate %d: %s: %v, drawn %.3f", seed, o.ID, o.Profile, widths[i])
			}
			if found := i >= len(in.Survey.Openings); found && (o.Kind != fettle.Pocket || math.Abs(o.WidestMM-8) > 2*cell || math.Abs(o.DepthMM-4) > 2*cell) {
				o.Facets = nil
				t.Errorf("plate %d: the bowl is told as %+v", seed, o)
			}
		}
		checkCells(t, "plate", v, list)
	}
}

// plates is how many random plates are tried.
var plates = flag.Uint64("plates", 3, "random plates to try")

func tries() uint64 {
	if testing.Short() {
		return 1
	}
	return *plates
}

// Random pairs of pins: one gap, as wide as drawn.
func TestRandomPins(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	const cell = 0.4
	for seed := range tries() {
		r := rand.New(rand.NewPCG(seed, 12))
		a, b, gap, high := 3+4*r.Float64(), 3+4*r.Float64(), 1.8+2*r.Float64(), 3+7*r.Float64()
		m := studded(plate, 4, high, form.Circle(r2.Vec{X: -a/2 - gap/2}, a, 64), form.Circle(r2.Vec{X: b/2 + gap/2}, b, 64))
		m = moved(m, r3.NewRotation(6*r.Float64(), r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})), r3.Vec{})
		_, list, warn := find(t, m, cell)
		if len(list) != 1 || list[0].ID != "gap-1" || math.Abs(list[0].WidthMM-gap) > 2*cell || len(warn) > 0 {
			t.Errorf("pins %d: %.3f, %.3f, %.3f apart, %.3f high: %+v %q", seed, a, b, gap, high, list, warn)
		}
	}
}

func narrowestOf(p []fettle.Width) float64 {
	least := math.Inf(1)
	for _, w := range p {
		least = min(least, w.WidthMM)
	}
	return least
}

// The grid's cell: fine enough for the narrowest opening and the smallest piece,
// no finer than the points allow.
func TestCellFor(t *testing.T) {
	box := geom.Box{Max: r3.Vec{X: 40, Y: 30, Z: 10}}
	open := []fettle.Opening{{ID: "hole-1", WidthMM: 2}, {ID: "hole-2", WidthMM: 0.3}}
	for _, c := range []struct {
		name  string
		open  []fettle.Opening
		media []fettle.Media
		want  float64
		says  string
	}{
		{"bare", nil, nil, 0.25, "160 cells along"},
		{"opening", []fettle.Opening{{ID: "hole-1", WidthMM: 1.9}}, pieces(1.8), 0.2375, "hole-1"},
		{"too narrow to enter", append(open[1:], fettle.Opening{ID: "hole-1", WidthMM: 1.9}), pieces(1.8), 0.2375, "hole-1"},
		{"small piece", open[:1], pieces(1.9, 0.8), 0.18, "smallest piece"}, // 0.8 · 0.9 / 4
	} {
		if got, why := CellFor(box, c.open, c.media); math.Abs(got-c.want) > 1e-9 || !strings.Contains(why, c.says) {
			t.Errorf("%s: %g, want %g: %s", c.name, got, c.want, why)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Float64Range(1, 300)
		box := geom.Box{Max: r3.Vec{X: side.Draw(t, "x"), Y: side.Draw(t, "y"), Z: side.Draw(t, "z")}}
		media := stock.Shelf().Media
		open := []fettle.Opening{{ID: "slot-1", WidthMM: rapid.Float64Range(0.1, 30).Draw(t, "width")}}
		cell, why := CellFor(box, open, media)
		s, m := box.Size(), 2*Margin(box, media)
		points := (s.X + m) / cell * (s.Y + m) / cell * (s.Z + m) / cell
		if !(cell > 0) || points > mostPoints || !strings.HasSuffix(why, ".") {
			t.Errorf("cell %g, %g points: %s", cell, points, why)
		}
		if bit, _ := smallest(media); points < 0.8*mostPoints && (cell > bit/4+1e-9 || open[0].WidthMM > bit && cell > open[0].WidthMM/8+1e-9 || cell > max(s.X, s.Y, s.Z)/alongPart+1e-9) {
			t.Errorf("cell %g is coarse for %g points: %s", cell, points, why)
		}
	})
}
