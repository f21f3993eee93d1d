package plug

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

func softFor(name string) fettle.Soft {
	s, err := stock.Shelf().Soft(name)
	if err != nil {
		panic(err)
	}
	return s
}

// surveyed is a part ready for plugs.
func surveyed(m *mesh.Mesh) Input {
	s, d, err := survey.Of(context.Background(), m, mesh.NewTopology(m), survey.Options{})
	if err != nil {
		panic(err)
	}
	s.File = "part.stl"
	return Input{Mesh: m, Survey: s, Detail: d}
}

// plate is one with a cut in its middle, 12 mm thick.
func plate(cuts ...form.Cut) *mesh.Mesh {
	return form.Plate(form.Rectangle(r2.Vec{}, 80, 60, 4, 8), 12, cuts...)
}

const sides = 96

// forms are openings of each form, by name, with the id that the survey gives and
// the narrowest width from the drawing.
func forms() map[string]struct {
	cut  form.Cut
	form string
	wide float64
	thru bool
} {
	type f = struct {
		cut  form.Cut
		form string
		wide float64
		thru bool
	}
	return map[string]f{
		"through hole":      {form.Through(form.Circle(r2.Vec{}, 6, sides)), "round", 6, true},
		"blind hole":        {form.Blind(form.Circle(r2.Vec{X: 3, Y: 2}, 5, sides), 9), "round", 5, false},
		"drilled hole":      {form.Drilled(r2.Vec{}, 4.2, 8, 118, sides), "round", 4.2, false},
		"countersunk":       {form.Countersunk(r2.Vec{}, 4.5, 9.4, 90, sides), "round", 4.5, true},
		"counterbored":      {form.Counterbored(r2.Vec{}, 5.5, 10, 5.4, sides), "round", 5.5, true},
		"slot":              {form.Through(form.Obround(r2.Vec{X: 1}, 20, 5, 33, sides/2)), "slot", 5, true},
		"blind slot":        {form.Blind(form.Obround(r2.Vec{X: 1}, 14, 4, -70, sides/2), 6), "slot", 4, false},
		"sharp-ended slot":  {form.Through(form.Rectangle(r2.Vec{Y: 2}, 5, 18, 0, 0)), "rounded rectangle", 5, true},
		"keyhole":           {form.Through(form.Keyhole(r2.Vec{Y: 3}, 10, 4, 15, sides)), "keyhole", 4, true},
		"rectangular well":  {form.Blind(form.Rectangle(r2.Vec{}, 16, 9, 2, 12), 7), "rounded rectangle", 9, false},
		"small square well": {form.Blind(form.Rectangle(r2.Vec{}, 6, 6, 1, 12), 8), "rounded rectangle", 6, false},
	}
}

func makeFirst(t *testing.T, in Input, soft fettle.Soft) Made {
	t.Helper()
	if len(in.Survey.Openings) == 0 {
		t.Fatal("the survey found no opening")
	}
	in.Opening, in.Soft = in.Survey.Openings[0].ID, soft
	made, err := Make(context.Background(), in)
	if err != nil {
		t.Fatalf("%s: %v", in.Opening, err)
	}
	return made
}

// fits checks a plug in its opening, by distances to the part's own mesh: only the
// shank goes into the walls, and by no more than the squeeze; the head stays
// outside; nothing touches the ground.
// coarse is what the chords of the part's mesh are off by.
func fits(t *testing.T, name string, in Input, made Made, coarse float64) {
	t.Helper()
	tp := mesh.NewTopology(made.Mesh)
	if !tp.Closed() {
		t.Errorf("%s: not closed", name)
	}
	if x := bvh.Crossings(made.Mesh); len(x) > 0 {
		t.Errorf("%s: %d crossings", name, len(x))
	}
	was := mesh.Measure(made.Mesh, tp)
	if was.Volume <= 0 || was.Bodies != 1 || was.Genus != 0 {
		t.Errorf("%s: volume %g, %d bodies, genus %d", name, was.Volume, was.Bodies, was.Genus)
	}
	if math.Abs(made.Mesh.Box().Min.Z) > 1e-9 {
		t.Errorf("%s: the tip stands at %g", name, made.Mesh.Box().Min.Z)
	}
	p := made.Pose
	if r3.Norm(r3.Sub(r3.Cross(p.X, p.Y), p.Z)) > 1e-9 {
		t.Errorf("%s: the pose is no turn", name)
	}
	tree := in.Detail.Tree
	deep := 0.0
	var o fettle.Opening
	for _, x := range in.Survey.Openings {
		if x.ID == made.Doc.Opening {
			o = x
		}
	}
	// Vertices and middles of facets.
	pts := append([]r3.Vec{}, made.Mesh.Pos...)
	step := 3
	if testing.Short() {
		step = 20
	}
	for i := 0; i < len(made.Mesh.Tri); i += step {
		a, b, c := made.Mesh.Corners(i)
		pts = append(pts, r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))))
	}
	top := was.Box.Size().Z
	body := 0.0 // height of the head's underside in the middle
	for _, s := range made.Doc.Steps {
		if s.Name != "head" && s.Name != "pull tab" {
			body += s.LongMM
		}
	}
	for _, q := range pts {
		at := p.Apply(q)
		tri, near, d2 := tree.Nearest(at)
		if d2 < 1e-20 || !tree.Inside(at) {
			continue
		}
		d := math.Sqrt(d2)
		if q.Z < body-0.3 { // higher up is the mouth's edge
			deep = max(deep, d)
		}
		n, _ := in.Mesh.Normal(tri)
		squeezed := q.Z < body && d <= made.Doc.MouthSqueezeMM/2+0.004+coarse // beside the mouth's edge
		if c := r3.Dot(n, p.Z); math.Abs(c) > 0.9 && d > 0.01+coarse && !squeezed {
			t.Errorf("%s: %.3f mm into a level face at %.2f of %.2f mm, near %v", name, d, q.Z, top, near)
			return
		}
		if q.Z > body+0.5 && d > 5e-3+coarse {
			t.Errorf("%s: the head goes %.3f mm into the part", name, d)
			return
		}
	}
	grip := made.Doc.MouthSqueezeMM / 2
	if deep > grip+0.004+coarse {
		t.Errorf("%s: %.3f mm into the walls, the squeeze is %.3f mm a side", name, deep, grip)
	}
	if deep < 0.5*grip {
		t.Errorf("%s: only %.3f mm into the walls, the squeeze is %.3f mm a side", name, deep, grip)
	}
	if !o.Through {
		// The ground is met by rays down from the tip; there may be a hole in it.
		free := math.Inf(1)
		for _, q := range made.Mesh.Pos {
			if q.Z > 1e-9 {
				continue
			}
			if _, at, _, _, ok := tree.Ray(p.Apply(q), r3.Scale(-1, p.Z), 0, math.Inf(1)); ok {
				free = min(free, at)
			}
		}
		if free < 0.45 || free > 1.2 {
			t.Errorf("%s: %.2f mm are free under the tip", name, free)
		}
	}
}

// Every form makes a plug that closes and fits, as the drawing has it.
func TestForms(t *testing.T) {
	for name, f := range forms() {
		if testing.Short() && strings.Contains(name, "well") {
			continue
		}
		for _, soft := range []string{"flex-95a", "silicone-50a"} {
			s := softFor(soft)
			in := surveyed(plate(f.cut))
			made := makeFirst(t, in, s)
			doc := made.Doc
			if doc.Form != f.form || doc.Through != f.thru || !doc.Closed {
				t.Errorf("%s: %s, through %v", name, doc.Form, doc.Through)
			}
			fits(t, name+" "+soft, in, made, 0)
			// At the head, or below the collar, wider by the material's squeeze.
			for _, step := range doc.Steps {
				if step.Name != "shank" {
					continue
				}
				want := f.wide + min(s.Squeeze.Value*f.wide, 2*gripMost)
				if math.Abs(step.WideMM[0]-want) > 1e-3 {
					t.Errorf("%s: the shank begins %.4f mm wide, want %.4f", name, step.WideMM[0], want)
				}
				break
			}
			if collar := strings.HasPrefix(name, "counter"); collar != hasStep(doc, "collar") {
				t.Errorf("%s: collar %v", name, !collar)
			}
			// Rim, tab.
			var head, tab, waist float64
			for _, step := range doc.Steps {
				switch step.Name {
				case "head":
					head = max(head, step.WideMM[1])
				case "pull tab":
					tab += step.LongMM
					waist = step.WideMM[1]
				}
			}
			if tab < 6 || waist < 2.5-1e-9 {
				t.Errorf("%s: a tab %.2f mm high and %.2f mm thick", name, tab, waist)
			}
			if mouth := in.Survey.Openings[0].WidestMM; f.form != "keyhole" && head < mouth+2*1.2-0.01 {
				t.Errorf("%s: a head %.2f mm wide over a mouth of %.2f mm", name, head, mouth)
			}
			if testing.Short() {
				break
			}
		}
	}
}

func hasStep(doc fettle.PlugFit, name string) bool {
	for _, s := range doc.Steps {
		if s.Name == name {
			return true
		}
	}
	return false
}

// The volume of a round plug is that of its lengths: frusta over regular polygons,
// V = h/3·(A + √(AB) + B), and for the tab the prismatoid h/6·(A + 4M + B)
// (Bronshtein and Semendyayev, Handbook of Mathematics, 3.3).
func TestVolume(t *testing.T) {
	for _, name := range []string{"through hole", "countersunk", "counterbored"} {
		f := forms()[name]
		in := surveyed(plate(f.cut))
		made := makeFirst(t, in, softFor("flex-85a"))
		// The number of sides, from the mesh: its lowest ring.
		n := 0.0
		for _, p := range made.Mesh.Pos {
			if p.Z < 1e-9 {
				n++
			}
		}
		polygon := func(d float64) float64 { return n / 8 * d * d * math.Sin(2*math.Pi/n) }
		want := 0.0
		for _, s := range made.Doc.Steps {
			if s.Name == "pull tab" {
				// Corner radius 0.3 of the thickness, six chords to a quarter.
				rect := func(w, l float64) float64 {
					r := 0.3 * w
					return w*l - 4*r*r + 12*r*r*math.Sin(math.Pi/12)
				}
				a, b := rect(s.WideMM[0], s.AcrossMM[0]), rect(s.WideMM[1], s.AcrossMM[1])
				m := rect((s.WideMM[0]+s.WideMM[1])/2, (s.AcrossMM[0]+s.AcrossMM[1])/2)
				want += s.LongMM / 6 * (a + 4*m + b)
				continue
			}
			a, b := polygon(s.WideMM[0]), polygon(s.WideMM[1])
			want += s.LongMM / 3 * (a + math.Sqrt(a*b) + b)
		}
		if math.Abs(made.Doc.VolumeMM3-want) > 2e-4*want {
			t.Errorf("%s: %.3f mm³, by its lengths %.3f", name, made.Doc.VolumeMM3, want)
		}
	}
}

// However the part lies and whatever the size, a plug fits, and is the same plug.
func TestAnyHole(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	tries := 24
	if testing.Short() {
		tries = 6
	}
	for i := range tries {
		wide, more, deep, deg := between(2.2, 12), between(1, 15), between(4, 10), between(-90, 90)
		var loop []r2.Vec
		switch i % 3 {
		case 0:
			more = 0
			loop = form.Circle(r2.Vec{}, wide, 64)
		case 1:
			loop = form.Obround(r2.Vec{}, wide+more, wide, deg, 32)
		default:
			loop = form.Rectangle(r2.Vec{}, wide+more, wide, 0.2*wide, 8)
		}
		name := fmt.Sprintf("%d: %.2f × %.2f, %.2f deep", i, wide+more, wide, deep)
		cut := form.Through(loop)
		if i%2 == 0 {
			cut = form.Blind(loop, deep)
		}
		m := plate(cut)
		rot := r3.NewRotation(between(0, 6), r3.Vec{X: between(-1, 1), Y: between(-1, 1), Z: 0.3})
		for k, p := range m.Pos {
			m.Pos[k] = r3.Add(rot.Rotate(p), r3.Vec{X: 100, Y: -20, Z: 7})
		}
		in := surveyed(m)
		made := makeFirst(t, in, softFor("flex-85a"))
		fits(t, name, in, made, 0)
		for _, s := range made.Doc.Steps {
			if s.Name == "shank" {
				// Corners of a polygon lie on its circle; away from them it is narrower.
				if want := wide + min(0.05*wide, 2*gripMost); math.Abs(s.WideMM[0]-want) > 0.001 {
					t.Errorf("%s: the shank begins %.4f mm wide, want %.4f", name, s.WideMM[0], want)
				}
				break
			}
		}
	}
}

// Every opening of the sample parts makes a plug that fits or says why not.
func TestDemo(t *testing.T) {
	parts, coarse := demo.Parts(), 0.0
	if testing.Short() {
		parts, coarse = demo.PartsAt(demo.Coarse), 2*demo.Coarse.ChordMM
	}
	made, refused := 0, 0
	for _, p := range parts {
		in := surveyed(p.Mesh)
		for _, o := range in.Survey.Openings {
			in.Opening, in.Soft = o.ID, softFor("flex-95a")
			plug, err := Make(context.Background(), in)
			if err != nil {
				refused++
				if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "; ") && !strings.Contains(err.Error(), ": ") {
					t.Errorf("%s %s: %v", p.ID, o.ID, err)
				}
				continue
			}
			made++
			fits(t, p.ID+" "+o.ID, in, plug, coarse)
			if leans := strings.Contains(plug.Doc.Do, "one way round"); leans != (o.Form == "countersunk") && p.ID == "escutcheon" && o.Kind == fettle.Hole {
				t.Errorf("%s %s: %s", p.ID, o.ID, plug.Doc.Do)
			}
			if hasStep(plug.Doc, "collar") != (o.Form == "countersunk") {
				t.Errorf("%s %s: a collar where none belongs, or none where one does", p.ID, o.ID)
			}
		}
	}
	// Of nine openings only the groove round the knob takes none.
	if made != 8 || refused != 1 {
		t.Errorf("%d made, %d refused", made, refused)
	}
}

// What no plug closes is refused in a sentence that says what to do.
func TestRefusals(t *testing.T) {
	in := surveyed(plate(form.Through(form.Circle(r2.Vec{}, 1.5, sides))))
	in.Opening, in.Soft = "hole-1", softFor("flex-95a")
	check := func(name, want string, code fettle.Code) {
		t.Helper()
		_, err := Make(context.Background(), in)
		if fettle.CodeOf(err) != code || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	check("too narrow", "fill it with wax", fettle.Invalid)
	in.Opening = "hole-9"
	check("unknown", "no opening called", fettle.NotFound)
	in.Survey.Openings = append(in.Survey.Openings, fettle.Opening{ID: "gap-1", Kind: fettle.Gap, WidthMM: 4})
	in.Opening = "gap-1"
	check("gap", "no walls", fettle.Invalid)

	// A triangle is none of the forms.
	in = surveyed(plate(form.Through([]r2.Vec{{X: -8, Y: -6}, {X: 8, Y: -6}, {Y: 9}})))
	if len(in.Survey.Openings) > 0 {
		in.Opening, in.Soft = in.Survey.Openings[0].ID, softFor("flex-95a")
		check("triangle", "outline", fettle.Invalid)
	}
	in = surveyed(plate(form.Blind(form.Rectangle(r2.Vec{}, 16, 9, 2, 12), 1.2)))
	if len(in.Survey.Openings) > 0 {
		in.Opening, in.Soft = in.Survey.Openings[0].ID, softFor("flex-95a")
		check("shallow", "grip", fettle.Invalid)
	}
}

func BenchmarkMake(b *testing.B) {
	p := demo.Escutcheon(demo.Fine)
	in := surveyed(p.Mesh)
	in.Opening, in.Soft = "slot-1", softFor("flex-95a")
	for b.Loop() {
		if _, err := Make(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}
