package step

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"fettle/internal/format/brep"
	"fettle/internal/format/intake"
	"fettle/internal/format/step/steptest"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
)

func read(t *testing.T, data []byte) *intake.Part {
	t.Helper()
	p, err := Read(t.Context(), data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// volume of a body, closed or not.
func volume(p *intake.Part, b intake.Body) float64 {
	return mesh.Measure(&mesh.Mesh{Pos: p.Mesh.Pos, Tri: p.Mesh.Tri[b.From:b.To]}, nil).Volume
}

// A box of 10 × 20 × 30 in every unit is the same box, told in its own unit.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		file steptest.File
		per  float64
		unit string
	}{{steptest.File{}, 1, "mm"}, {steptest.File{Inch: true}, 25.4, "inch"}, {steptest.File{Metre: true}, 1000, "m"}} {
		f := c.file
		f.Part("box", f.Box("", [3]float64{}, [3]float64{10 / c.per, 20 / c.per, 30 / c.per}))
		p := read(t, f.Bytes())
		if p.UnitName != c.unit || p.UnitMM != c.per || !p.InMM {
			t.Errorf("unit %q of %g mm, want %q of %g", p.UnitName, p.UnitMM, c.unit, c.per)
		}
		s := p.Mesh.Box().Size()
		if math.Abs(s.X-10) > 1e-9 || math.Abs(s.Y-20) > 1e-9 || math.Abs(s.Z-30) > 1e-9 {
			t.Errorf("%s: %v", c.unit, s)
		}
		if len(p.Bodies) != 1 || !p.Bodies[0].Solid || math.Abs(volume(p, p.Bodies[0])-6000) > 1e-6 {
			t.Errorf("%s: bodies %+v", c.unit, p.Bodies)
		}
		if len(p.Mesh.Pos) != 8 || len(p.Mesh.Tri) != 12 || len(p.Mesh.Face) != 12 {
			t.Errorf("%s: %d vertices, %d triangles", c.unit, len(p.Mesh.Pos), len(p.Mesh.Tri))
		}
	}
}

// A lid and two feet, the feet one part placed twice: bodies stand where the
// assembly has them, with their names and the assembly's.
func TestAssembly(t *testing.T) {
	var f steptest.File
	lid := f.Part("lid", f.Box("", [3]float64{0, 0, 5}, [3]float64{40, 30, 8}))
	foot := f.Part("foot", f.Box("", [3]float64{}, [3]float64{5, 5, 5}))
	box := f.Product("box", "SHAPE_REPRESENTATION")
	f.Place(box, lid, [3]float64{})
	f.Place(box, foot, [3]float64{0, 0, 0})
	f.Place(box, foot, [3]float64{35, 25, 0})
	p := read(t, f.Bytes())
	var got []intake.Body
	for _, b := range p.Bodies {
		b.From, b.To = 0, b.To-b.From
		got = append(got, b)
	}
	want := []intake.Body{
		{Name: "lid", In: []string{"box"}, To: 12, Solid: true},
		{Name: "foot", In: []string{"box"}, To: 12, Solid: true},
		{Name: "foot", In: []string{"box"}, To: 12, Solid: true},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	last := mesh.Mesh{Pos: p.Mesh.Pos, Tri: p.Mesh.Tri[24:36]}
	if b := last.Box(); b.Min.X != 35 || b.Max.Y != 30 || b.Min.Z != 0 {
		t.Errorf("the second foot stands at %v", b)
	}
	if faces := map[int32]bool{}; true {
		for _, id := range p.Mesh.Face {
			faces[id] = true
		}
		if len(faces) != 18 {
			t.Errorf("%d faces, want 18", len(faces))
		}
	}
}

// Colours come back as the file has them, on bodies and on faces.
func TestColours(t *testing.T) {
	var f steptest.File
	solid := f.Box("", [3]float64{}, [3]float64{10, 10, 10})
	f.Part("box", solid)
	f.Present(f.Colour(solid, [3]float64{0.8, 0.5, 0.2}))
	p := read(t, f.Bytes())
	want := intake.Colour{204, 128, 51}
	if c := p.Bodies[0].Colour; c == nil || *c != want || c.String() != "#cc8033" {
		t.Errorf("colour %v, want %v", c, want)
	}
}

// Open surfaces beside a solid are listed and not measured; alone they are
// taken, and it is said.
func TestOpenSurfaces(t *testing.T) {
	sheet := func(f *steptest.File) int {
		return f.Add("SHELL_BASED_SURFACE_MODEL('',(#%d))", f.Shell([3]float64{50, 0, 0}, [3]float64{60, 10, 10}, 1))
	}
	var f steptest.File
	f.Part("box", f.Box("", [3]float64{}, [3]float64{10, 10, 10}))
	f.Product("sheet", "MANIFOLD_SURFACE_SHAPE_REPRESENTATION", sheet(&f))
	p := read(t, f.Bytes())
	if len(p.Bodies) != 1 || p.Mesh.Box().Max.X != 10 || len(p.Aside) != 1 || !strings.Contains(p.Aside[0], "open surface") {
		t.Errorf("bodies %+v, beside %q", p.Bodies, p.Aside)
	}
	var g steptest.File
	g.Product("sheet", "MANIFOLD_SURFACE_SHAPE_REPRESENTATION", sheet(&g))
	p = read(t, g.Bytes())
	if len(p.Bodies) != 1 || p.Bodies[0].Solid || len(p.Notes) != 1 || !strings.Contains(p.Notes[0], "only open surfaces") {
		t.Errorf("bodies %+v, notes %q", p.Bodies, p.Notes)
	}
}

func TestRefuses(t *testing.T) {
	var wire, empty, lost steptest.File
	line := wire.Add("POLYLINE('',(#%d,#%d))", wire.Point([3]float64{}), wire.Point([3]float64{1, 0, 0}))
	wire.Product("wire", "GEOMETRICALLY_BOUNDED_WIREFRAME_SHAPE_REPRESENTATION", wire.Add("GEOMETRIC_CURVE_SET('',(#%d))", line))
	empty.Product("nothing", "SHAPE_REPRESENTATION")
	lost.Part("box", lost.Box("", [3]float64{}, [3]float64{1, 1, 1}))
	whole := lost.Bytes()
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"wire":   {wire.Bytes(), "there is no solid in it, only 1 wireframe; export the part as a solid body"},
		"empty":  {empty.Bytes(), "no"},
		"cut":    {whole[:len(whole)/2], "the file ends"},
		"other":  {[]byte("dear sir"), "STEP"},
		"nulled": {[]byte(strings.Replace(string(whole), "#", "\x00", 3)), "STEP"},
	} {
		p, err := Read(t.Context(), c.data, Options{})
		var f *intake.Fault
		if !errors.As(err, &f) || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: read %v, err %v; want a fault with %q", name, p, err, c.want)
		}
	}
}

// Limits end a reading with a sentence, and the kernel goes on reading others.
func TestLimits(t *testing.T) {
	var f steptest.File
	f.Part("box", f.Box("", [3]float64{}, [3]float64{10, 10, 10}))
	data := f.Bytes()
	var fault *intake.Fault

	small := brep.New(brep.Options{Bytes: 1 << 20})
	defer small.Close(context.Background())
	large := []byte(strings.Replace(string(data), "HEADER;", "HEADER;/*"+strings.Repeat("x", 60<<20)+"*/", 1))
	if _, err := Read(t.Context(), large, Options{Kernel: small}); !errors.As(err, &fault) || !strings.Contains(err.Error(), "more than 32 MB of memory") {
		t.Errorf("with little memory: %v", err)
	}
	short := brep.New(brep.Options{Time: time.Microsecond})
	defer short.Close(context.Background())
	if _, err := Read(t.Context(), data, Options{Kernel: short}); !errors.As(err, &fault) || !strings.Contains(err.Error(), "longer than 1µs") {
		t.Errorf("within 1 µs: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Read(ctx, data, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	missing := brep.New(brep.Options{File: "none.wasm"})
	if _, err := Read(t.Context(), data, Options{Kernel: missing}); !errors.As(err, &fault) || !strings.Contains(err.Error(), "--brep-kernel") {
		t.Errorf("without a kernel: %v", err)
	}
	read(t, data)
}

// A file that names no unit of length is taken in millimetres, and does not
// claim that it said so.
func TestNoUnit(t *testing.T) {
	var f steptest.File
	f.Part("box", f.Box("", [3]float64{}, [3]float64{10, 20, 30}))
	text := strings.Replace(string(f.Bytes()), "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))", "(NAMED_UNIT(*)SI_UNIT($,.SECOND.)TIME_UNIT())", 1)
	p := read(t, []byte(text))
	if p.UnitName != "" || p.UnitMM != 1 || !p.InMM || math.Abs(p.Mesh.Box().Size().Z-30) > 1e-9 {
		t.Errorf("unit %q of %g, box %v", p.UnitName, p.UnitMM, p.Mesh.Box())
	}
}

// A product of one body gives it its name; several keep their own.
func TestNames(t *testing.T) {
	corner := func(x float64) ([3]float64, [3]float64) { return [3]float64{x, 0, 0}, [3]float64{x + 1, 1, 1} }
	for _, c := range []struct {
		bodies, want []string
	}{
		{[]string{"Body7"}, []string{"hinge"}},
		{[]string{"leaf", "pin"}, []string{"leaf", "pin"}},
		{[]string{"", "NONE"}, []string{"hinge", "hinge"}},
	} {
		var f steptest.File
		var solids []int
		for i, name := range c.bodies {
			lo, hi := corner(float64(2 * i))
			solids = append(solids, f.Box(name, lo, hi))
		}
		f.Part("hinge", solids...)
		if p := read(t, f.Bytes()); !cmp.Equal(p.Names, c.want) {
			t.Errorf("%q came out as %q, want %q", c.bodies, p.Names, c.want)
		}
	}
}

// A file with some of its shape in another one is read, and says what is left
// out; a file with no colours hands none on.
func TestElsewhere(t *testing.T) {
	var f steptest.File
	f.Part("box", f.Box("", [3]float64{}, [3]float64{10, 20, 30}))
	doc := f.Add("DOCUMENT_FILE('lid.stp','','',#%d,'',$)", f.Add("DOCUMENT_TYPE('geometry')"))
	lid := f.Add("PRODUCT_DEFINITION('','',#%d,$)", f.Add("PRODUCT_DEFINITION_FORMATION('','',#%d)", f.Add("PRODUCT('lid','','',())")))
	f.Add("APPLIED_DOCUMENT_REFERENCE(#%d,'',(#%d))", doc, lid)
	p := read(t, f.Bytes())
	if len(p.Bodies) != 1 || len(p.Notes) != 1 || !strings.Contains(p.Notes[0], "other files and was left out: lid.stp") {
		t.Errorf("bodies %+v, notes %q", p.Bodies, p.Notes)
	}
	if p.FaceColours != nil {
		t.Errorf("colours %v", p.FaceColours)
	}
}
