package cavity

import (
	"context"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// failer is a test, also a random one.
type failer interface {
	Helper()
	Fatal(args ...any)
	Errorf(format string, args ...any)
}

func input(t failer, m *mesh.Mesh, cell float64) Input {
	t.Helper()
	s, d, err := survey.Of(context.Background(), m, mesh.NewTopology(m), survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return Input{Mesh: m, Tree: d.Tree, Survey: s, Detail: d, CellMM: cell, Media: pieces(4, 2)}
}

// pieces are balls of the given diameters.
func pieces(size ...float64) []fettle.Media {
	var out []fettle.Media
	for _, s := range size {
		out = append(out, fettle.Media{Name: "ball", Shape: fettle.Sphere, SizeMM: [2]float64{s, s}, Worn: 0.8})
	}
	return out
}

func find(t failer, m *mesh.Mesh, cell float64) (*Void, []fettle.Opening, []string) {
	t.Helper()
	v, list, warn, err := Find(context.Background(), input(t, m, cell))
	if err != nil {
		t.Fatal(err)
	}
	return v, list, warn
}

// pts makes an outline from pairs.
func pts(v ...float64) []r2.Vec {
	var out []r2.Vec
	for i := 0; i+1 < len(v); i += 2 {
		out = append(out, r2.Vec{X: v[i], Y: v[i+1]})
	}
	return out
}

var plate = form.Rectangle(r2.Vec{}, 50, 30, 0, 1)

// moved returns the mesh turned and shifted.
func moved(m *mesh.Mesh, turn r3.Rotation, by r3.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Tri: m.Tri, Pos: make([]r3.Vec, len(m.Pos))}
	for i, p := range m.Pos {
		out.Pos[i] = r3.Add(turn.Rotate(p), by)
	}
	return out
}

func still() r3.Rotation { return r3.NewRotation(0, r3.Vec{Z: 1}) }

// inward turns a closed mesh inside out.
func inward(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Pos: m.Pos}
	for _, t := range m.Tri {
		out.Tri = append(out.Tri, [3]uint32{t[0], t[2], t[1]})
	}
	return out
}

// studded is a plate with upright studs of given outlines on it.
func studded(base []r2.Vec, thick, high float64, studs ...[]r2.Vec) *mesh.Mesh {
	b := &form.Builder{}
	low, top := b.Ring(base, 0), b.Ring(base, thick)
	b.Wall(low, top)
	b.Region(form.Down, low)
	var feet []form.Ring
	for _, s := range studs {
		foot, head := b.Ring(s, thick), b.Ring(s, thick+high)
		b.Wall(foot, head)
		b.Region(form.Up, head)
		feet = append(feet, foot)
	}
	b.Region(form.Up, top, feet...)
	return b.Mesh()
}

// wedge is a plate with a groove of the included angle across it.
func wedge(deg, deep, long float64) *mesh.Mesh {
	h := deep * math.Tan(deg*math.Pi/360)
	return form.Plate(pts(-12, 0, 12, 0, 12, 12, h, 12, 0, 12-deep, -h, 12, -12, 12), long)
}

// drawn is what is known of an opening from its drawing. wide is its clear width
// at a depth; nil where that is the same all the way.
type drawn struct {
	kind    fettle.OpeningKind
	through bool
	width   float64
	depth   float64
	wide    func(depth float64) float64
}

// shapes are parts with one opening each, known in closed form.
func shapes() map[string]struct {
	mesh *mesh.Mesh
	want drawn
} {
	bowl := []form.Section{}
	for i := range 12 {
		sin, cos := math.Sincos(float64(i) / 12 * math.Pi / 2)
		bowl = append(bowl, form.Section{Loop: form.Circle(r2.Vec{}, 10*cos, 64), Depth: 5 * sin})
	}
	const n = 64
	h, s, p, g := fettle.Hole, fettle.Slot, fettle.Pocket, fettle.Gap
	return map[string]struct {
		mesh *mesh.Mesh
		want drawn
	}{
		"bore":    {form.Plate(plate, 8, form.Through(form.Circle(r2.Vec{}, 6, n))), drawn{h, true, 6, 8, nil}},
		"drilled": {form.Plate(plate, 8, form.Drilled(r2.Vec{}, 4, 4, 118, n)), drawn{h, false, 4, 4, nil}},
		"keyhole": {form.Plate(plate, 8, form.Through(form.Keyhole(r2.Vec{}, 9, 3.6, 12, n))), drawn{s, true, 3.6, 8,
			func(float64) float64 { return 9 }}},
		"countersunk": {form.Plate(plate, 8, form.Countersunk(r2.Vec{}, 4, 8, 90, n)), drawn{h, true, 4, 8,
			func(d float64) float64 { return max(8-2*d, 4) }}},
		"counterbored": {form.Plate(plate, 8, form.Counterbored(r2.Vec{}, 4, 8, 3, n)), drawn{h, true, 4, 8,
			func(d float64) float64 {
				if d < 3 {
					return 8
				}
				return 4
			}}},
		"pocket": {form.Plate(plate, 8, form.Blind(form.Rectangle(r2.Vec{}, 20, 12, 2, 8), 3)), drawn{p, false, 12, 3, nil}},
		"slot":   {form.Plate(plate, 8, form.Through(form.Obround(r2.Vec{}, 20, 4, 30, 32))), drawn{s, true, 4, 8, nil}},
		"kerf":   {form.Plate(pts(0, 0, 20, 0, 20, 15, 11, 15, 11, 5, 9, 5, 9, 15, 0, 15), 12), drawn{s, false, 2, 10, nil}},
		"groove": {form.Revolve(pts(0, 0, 20, 0, 20, 10, 17, 10, 17, 13, 20, 13, 20, 40, 0, 40), n), drawn{s, false, 3, 3, nil}},
		"bowl": {form.Plate(plate, 8, form.Cut{Sections: bowl, Tip: true, Point: 5 - bowl[11].Depth}), drawn{p, false, 2 * math.Sqrt(25-2.5*2.5), 5,
			func(d float64) float64 { return 2 * math.Sqrt(25-d*d) }}},
		// Two pins side by side: from between them the gap widens both ways, and is
		// told as far as it is twice as wide.
		"pins": {studded(plate, 4, 10, form.Circle(r2.Vec{X: -3}, 4, n), form.Circle(r2.Vec{X: 3}, 4, n)), drawn{g, true, 2, 2 * math.Sqrt(3),
			func(d float64) float64 { return 6 - 2*math.Sqrt(4-(math.Sqrt(3)-d)*(math.Sqrt(3)-d)) }}},
		"wedge of 60": {wedge(60, 6, 20), drawn{g, false, 6 * math.Tan(math.Pi/6), 6,
			func(d float64) float64 { return 2 * (6 - d) * math.Tan(math.Pi/6) }}},
		"wedge of 30": {wedge(30, 6, 20), drawn{s, false, 6 * math.Tan(math.Pi/12), 6,
			func(d float64) float64 { return 2 * (6 - d) * math.Tan(math.Pi/12) }}},
		"boss at a wall": {studded(plate, 4, 8, form.Circle(r2.Vec{X: -3}, 6, n), form.Rectangle(r2.Vec{X: 4}, 4, 20, 0, 1)),
			drawn{g, true, 2, 2 * math.Sqrt(8),
				func(d float64) float64 { return 5 - math.Sqrt(9-(math.Sqrt(8)-d)*(math.Sqrt(8)-d)) }}},
	}
}

// Width, depth and form of openings known in closed form, within two cells.
func TestShapes(t *testing.T) {
	const cell = 0.4
	for name, c := range shapes() {
		if testing.Short() && name != "bowl" { // the race detector is ten times slower
			continue
		}
		v, list, warn := find(t, c.mesh, cell)
		if len(list) != 1 {
			t.Errorf("%s: %d openings", name, len(list))
			continue
		}
		if turned := name == "wedge of 30"; turned != (len(warn) == 1 && strings.Contains(warn[0], "open all along one side")) || !turned && len(warn) > 0 {
			t.Errorf("%s: %q", name, warn)
		}
		o, w := list[0], c.want
		if o.Kind != w.kind || o.Through != w.through || o.ID != string(w.kind)+"-1" {
			t.Errorf("%s: %s %s, through %v", name, o.ID, o.Kind, o.Through)
		}
		if math.Abs(o.WidthMM-w.width) > 2*cell || math.Abs(o.DepthMM-w.depth) > 2*cell {
			t.Errorf("%s: %.3f wide and %.3f deep, drawn %.3f and %.3f", name, o.WidthMM, o.DepthMM, w.width, w.depth)
		}
		if o.CellMM != v.Cell || len(o.Profile) < 2 || len(o.Profile) > 24 {
			t.Errorf("%s: cell %g, profile of %d", name, o.CellMM, len(o.Profile))
			continue
		}
		first, last := o.Profile[0], o.Profile[len(o.Profile)-1]
		if first.DepthMM != 0 || math.Abs(last.DepthMM-o.DepthMM) > 1e-9 {
			t.Errorf("%s: the profile runs from %g to %g", name, first.DepthMM, last.DepthMM)
		}
		for i := range 101 {
			d := o.DepthMM * float64(i) / 100
			want := w.width
			if w.wide != nil {
				want = w.wide(d)
			}
			// A width that jumps or ends steeply may do so two cells off.
			if got := widthAt(o.Profile, d); math.Abs(got-want) > 2*cell && !(w.wide != nil &&
				math.Abs(w.wide(max(d-2*cell, 0))-w.wide(min(d+2*cell, w.depth))) > 2*cell) {
				t.Errorf("%s: %.3f wide at %.2f, drawn %.3f", name, got, d, want)
				break
			}
		}
		checkCells(t, name, v, list)
	}
}

func widthAt(p []fettle.Width, depth float64) float64 {
	for i := 1; i < len(p); i++ {
		if depth <= p[i].DepthMM {
			return p[i-1].WidthMM + (depth-p[i-1].DepthMM)/(p[i].DepthMM-p[i-1].DepthMM)*(p[i].WidthMM-p[i-1].WidthMM)
		}
	}
	return p[len(p)-1].WidthMM
}

// checkCells holds what is true of the void: cells of openings are void, and
// every opening with a profile has some.
func checkCells(t failer, name string, v *Void, list []fettle.Opening) {
	t.Helper()
	count := make([]int, len(list))
	for at, o := range v.Opening {
		if o < 0 {
			continue
		}
		count[o]++
		if v.D[at] <= 0 {
			t.Errorf("%s: a cell of %s lies in the material", name, list[o].ID)
			return
		}
	}
	for i, o := range list {
		if len(o.Profile) > 0 && count[i] == 0 {
			t.Errorf("%s: %s has no cells", name, o.ID)
		}
	}
	if len(v.Passage) != v.Len() {
		t.Errorf("%s: no passage", name)
	}
}

// Two pins: the width between them at every distance from the line between
// their axes.
func TestPins(t *testing.T) {
	_, list, _ := find(t, shapes()["pins"].mesh, 0.4)
	o := list[0]
	for _, w := range o.Profile {
		y := o.At[1] + o.Axis[1]*-w.DepthMM
		if want := 6 - 2*math.Sqrt(4-y*y); math.Abs(w.WidthMM-want) > 0.5 {
			t.Errorf("%.3f wide %.2f off the middle, should be %.3f", w.WidthMM, y, want)
		}
	}
	if math.Abs(math.Abs(o.Axis[1])-1) > 0.01 {
		t.Errorf("the way between them is %v", o.Axis)
	}
}

// Parts without an opening: outer faces, however they bulge, inside corners and
// what is too wide for media to lodge.
func TestNothing(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{
		"box":      form.Box(10, 20, 30),
		"ball":     form.Icosphere(10, 3),
		"angle":    form.Plate(pts(0, 0, 30, 0, 30, 4, 4, 4, 4, 30, 0, 30), 20),
		"torus":    form.Torus(20, 5, 80, 40),
		"spool":    form.Revolve(pts(0, 0, 20, 0, 20, 5, 6, 5, 6, 35, 20, 35, 20, 40, 0, 40), 64),
		"far pins": studded(plate, 4, 10, form.Circle(r2.Vec{X: -15}, 4, 48), form.Circle(r2.Vec{X: 15}, 4, 48)),
		"boss":     studded(plate, 4, 10, form.Circle(r2.Vec{}, 8, 48)),
	} {
		if testing.Short() && name != "boss" {
			continue
		}
		_, list, warn := find(t, m, 0.5)
		if len(list) > 0 || len(warn) > 0 {
			t.Errorf("%s: %+v %q", name, list, warn)
		}
	}
}

// A hole in a pocket's floor: each has its own cells and widths.
func TestHoleInPocket(t *testing.T) {
	loop := form.Rectangle(r2.Vec{}, 30, 20, 4, 6)
	m := form.Plate(plate, 8, form.Cut{Sections: []form.Section{
		{Loop: loop, Depth: 0}, {Loop: loop, Depth: 3}, {Loop: form.Circle(r2.Vec{}, 5, 64), Depth: 3}}, Through: true})
	v, list, warn := find(t, m, 0.35)
	if len(list) != 2 || list[0].ID != "hole-1" || list[1].ID != "pocket-1" || len(warn) > 0 {
		t.Fatalf("%+v %q", list, warn)
	}
	for i, want := range []struct{ width, depth, volume float64 }{
		{5, 5, math.Pi * 2.5 * 2.5 * 5}, {20, 3, (30*20 - (4-math.Pi)*16) * 3},
	} {
		for _, w := range list[i].Profile {
			if math.Abs(w.WidthMM-want.width) > 0.5 {
				t.Errorf("%s: %+v", list[i].ID, w)
			}
		}
		cells := 0
		for _, o := range v.Opening {
			if o == int32(i) {
				cells++
			}
		}
		if got := float64(cells) * v.Cell * v.Cell * v.Cell; math.Abs(got-want.volume) > 0.1*want.volume {
			t.Errorf("%s: its cells hold %.1f mm³, drawn %.1f", list[i].ID, got, want.volume)
		}
	}
}

func TestSealed(t *testing.T) {
	m := mesh.Join(form.Box(20, 20, 20), inward(moved(form.Icosphere(4, 3), still(), r3.Vec{X: 10, Y: 10, Z: 10})))
	_, list, warn := find(t, m, 0.6)
	if len(list) > 0 || len(warn) != 1 || !strings.Contains(warn[0], "sealed") {
		t.Errorf("%+v %q", list, warn)
	}
}
