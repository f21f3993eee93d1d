package plug

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Beside a wall the rim is made smaller, and where even that is too much it is
// said. The wall is drawn: a plate with a step, as a wide shallow cut whose edge
// stands off the hole's by the gap.
func TestBesideWall(t *testing.T) {
	for _, c := range []struct {
		gap, rim float64
		says     string
	}{{5, 1.5, ""}, {1.3, 1.2, ""}, {0.9, 0.8, "rim is only"}, {0.2, 0.5, "Trim the head"}} {
		hole := form.Circle(r2.Vec{}, 7, 96)
		// The step's floor lies 4 mm down, its edge at x = 3.5 + gap.
		floor := form.Rectangle(r2.Vec{X: 3.5 + c.gap - 12}, 24, 40, 0, 0)
		m := plate(form.Cut{Sections: []form.Section{
			{Loop: floor}, {Loop: floor, Depth: 4}, {Loop: hole, Depth: 4}, {Loop: hole, Depth: 11}}})
		in := surveyed(m)
		for _, o := range in.Survey.Openings {
			if o.Kind == fettle.Hole {
				in.Opening = o.ID
			}
		}
		if in.Opening == "" {
			t.Fatalf("no hole in %v", in.Survey.Openings)
		}
		in.Soft = softFor("flex-95a")
		made, err := Make(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		if head := headWide(made.Doc); math.Abs(head-7-2*c.rim) > 0.01 {
			t.Errorf("%g mm off a wall the head is %.2f mm wide, want %.2f", c.gap, head, 7+2*c.rim)
		}
		all := strings.Join(made.Doc.Warnings, " ")
		if c.says == "" && strings.Contains(all, "rim") || !strings.Contains(all, c.says) {
			t.Errorf("%g mm off a wall: %q", c.gap, all)
		}
	}
}

func headWide(doc fettle.PlugFit) float64 {
	wide := 0.0
	for _, s := range doc.Steps {
		if s.Name == "head" {
			wide = max(wide, s.WideMM[1])
		}
	}
	return wide
}

// A slot that runs out at the side holds no plug.
func TestOpenSlot(t *testing.T) {
	outline := []r2.Vec{{X: -30, Y: -20}, {X: 30, Y: -20}, {X: 30, Y: -3}, {X: 5, Y: -3}, {X: 5, Y: 3}, {X: 30, Y: 3}, {X: 30, Y: 20}, {X: -30, Y: 20}}
	in := surveyed(form.Plate(outline, 10))
	if len(in.Survey.Openings) == 0 {
		t.Fatal("no slot")
	}
	in.Opening, in.Soft = in.Survey.Openings[0].ID, softFor("flex-95a")
	_, err := Make(context.Background(), in)
	if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), "open at its sides") {
		t.Errorf("%v", err)
	}
}

// A mesh that is rough, as from a scanner, by a few hundredths makes nearly the
// same plug: what is measured is off by no more than the roughness.
func TestRough(t *testing.T) {
	const rough = 0.01
	m := form.PlateSpaced(form.Rectangle(r2.Vec{}, 60, 50, 4, 8), 12, 2, form.Through(form.Circle(r2.Vec{}, 8, 48)))
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range m.Pos {
		m.Pos[i] = r3.Add(m.Pos[i], r3.Vec{X: rough * (2*rng.Float64() - 1), Y: rough * (2*rng.Float64() - 1), Z: rough * (2*rng.Float64() - 1)})
	}
	in := surveyed(m)
	if len(in.Survey.Openings) == 0 {
		t.Fatal("the survey finds no opening in the rough mesh")
	}
	made := makeFirst(t, in, softFor("silicone-50a"))
	if w := made.Doc.Steps[len(made.Doc.Steps)-1].WideMM; w[0] > 8 {
		t.Errorf("the tip is %v mm wide", w)
	}
	for _, s := range made.Doc.Steps {
		if s.Name == "shank" {
			if math.Abs(s.WideMM[0]-8.6) > 2*math.Sqrt2*rough+0.01 {
				t.Errorf("the shank begins %.3f mm wide, want 8.6", s.WideMM[0])
			}
			break
		}
	}
}

// Sections of solids whose sections are known.
func TestSection(t *testing.T) {
	f := frame{x: r3.Vec{X: 1}, y: r3.Vec{Y: 1}, z: r3.Vec{Z: 1}}
	cases := []struct {
		name string
		cut  form.Cut
		at   float64
		wide float64 // diameter there: of a 90° cone, less by twice the depth
	}{
		{"cone of a countersink", form.Countersunk(r2.Vec{}, 4, 10, 90, 64), 10.5, 7},
		{"just over a floor", form.Blind(form.Circle(r2.Vec{}, 6, 64), 5), 7 + 1e-9, 6},
		{"in a floor, which counts as below it", form.Blind(form.Circle(r2.Vec{}, 6, 64), 5), 7, 0},
	}
	for _, c := range cases {
		m := plate(c.cut)
		high := make([]float64, len(m.Pos))
		for i, p := range m.Pos {
			_, high[i] = f.in(p)
		}
		outer, inner := 0.0, 0.0
		for _, l := range f.section(m, high, c.at) {
			if a := form.Area(l); a > 0 {
				outer += a
			} else {
				inner -= a
			}
		}
		plain := form.Area(form.Rectangle(r2.Vec{}, 80, 60, 4, 8))
		if math.Abs(outer-plain) > 1e-9*plain {
			t.Errorf("%s: outline %g, want %g", c.name, outer, plain)
		}
		if hole := polygon64(c.wide); math.Abs(inner-hole) > 1e-9*(1+hole) {
			t.Errorf("%s: hole %g, want %g", c.name, inner, hole)
		}
	}
}

// polygon64 is the area of a regular polygon in a circle.
func polygon64(d float64) float64 { return 64.0 / 8 * d * d * math.Sin(2*math.Pi/64) }
