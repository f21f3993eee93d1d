package draw

import (
	"math"
	"testing"

	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

var lays = []Lay{LayNone, LayParallel, LaySquare, LayCrossed, LayMulti, LayCircular, LayRadial, LayParticulate}

// emOf is the em whose capitals are h mm high.
func emOf(h float64) float64 { return h / capital }

// The table of proportions for the graphical symbols, in mm: height of lettering,
// weight of lines, short leg, long leg at the least (ISO 1302:2002 annex A, which
// ISO 21920-1 took over; from memory). The table's steps are rounded.
func TestSymbolProportions(t *testing.T) {
	for _, row := range [][4]float64{{2.5, 0.25, 3.5, 7.5}, {3.5, 0.35, 5, 10.5}, {5, 0.5, 7, 15}, {7, 0.7, 10, 21}, {10, 1, 14, 30}} {
		d := Symbol{Removal: MustRemove, First: "Ra 0.8"}.Draw(emOf(row[0]), nil)
		legs := d.Lines[0]
		near(t, "weight", legs.Weight, row[1], 1e-9)
		near(t, "short leg", -legs.Pts[0].Y, row[2], 0.21)
		near(t, "long leg", -legs.Pts[2].Y, row[3], 1e-9)
		for _, p := range []Pt{legs.Pts[0], legs.Pts[2]} {
			near(t, "angle of a leg to the surface", math.Atan2(-p.Y, math.Abs(p.X))*180/math.Pi, 60, 1e-9)
		}
		if legs.Pts[1] != (Pt{}) {
			t.Errorf("the tip stands at %v", legs.Pts[1])
		}
		// The bar over the value is level and longer than the value.
		near(t, "bar", legs.Pts[3].Y, legs.Pts[2].Y, 1e-12)
		if x := d.Texts[0].Frame(nil); x.X1 > legs.Pts[3].X || x.X0 < legs.Pts[2].X || x.Y0 < legs.Pts[3].Y {
			t.Errorf("the value %v is not under its bar %v", x, legs.Pts)
		}
	}
}

// What closes the short leg: a bar at its height from leg to leg, or a circle that
// touches both legs and that height.
func TestSymbolRemoval(t *testing.T) {
	h := 3.5
	up := symbolShort * h
	bare := Symbol{}.Draw(emOf(h), nil)
	if len(bare.Lines) != 1 || len(bare.Lines[0].Pts) != 3 || len(bare.Texts) != 0 {
		t.Errorf("the bare symbol has more than two legs: %+v", bare)
	}
	bar := Symbol{Removal: MustRemove}.Draw(emOf(h), nil).Lines[1]
	for i, p := range bar.Pts {
		near(t, "bar's height", -p.Y, up, 1e-9)
		near(t, "bar's end on its leg", math.Abs(p.X), up/math.Sqrt(3), 1e-9)
		if (i == 0) != (p.X < 0) {
			t.Error("the bar does not go from leg to leg")
		}
	}
	ring := Symbol{Removal: MayNotTouch}.Draw(emOf(h), nil).Lines[1]
	lo, hi, leg := math.Inf(1), 0.0, math.Inf(1)
	for _, p := range ring.Pts {
		lo, hi = min(lo, -p.Y), max(hi, -p.Y)
		// Distance from the right leg's line, which runs at 60° through the tip.
		leg = min(leg, math.Abs(math.Sin(math.Pi/3)*p.X+math.Cos(math.Pi/3)*p.Y))
	}
	near(t, "top of the circle", hi, up, 0.02)
	near(t, "circle's distance from the leg", leg, 0, 0.02)
	near(t, "circle's diameter", hi-lo, 2*up/3, 0.04)
	around := Symbol{AllAround: true}.Draw(emOf(h), nil)
	corner := around.Lines[0].Pts[2]
	for _, p := range around.Lines[1].Pts {
		near(t, "circle about the corner", math.Hypot(p.X-corner.X, p.Y-corner.Y), symbolRound*h, 1e-9)
	}
}

// Whatever stands at a symbol, its lines of text, its lay and its legs do not
// run into one another, the lay stands to the right of the tip and under the
// requirements, and Height tells how high it is.
func TestSymbolKeepsApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Symbol{
			Removal: rapid.SampledFrom([]Removal{AnyProcess, MustRemove, MayNotTouch}).Draw(t, "removal"),
			First:   rapid.SampledFrom([]string{"", "Ra 0.8", "U Rz 12.5 µm", "Ra 3.15 µin with a long word"}).Draw(t, "first"),
			Second:  rapid.SampledFrom([]string{"", "L Ra 0.2", "Rz 6.3 µm"}).Draw(t, "second"),
			Lay:     rapid.SampledFrom(lays).Draw(t, "lay"), AllAround: rapid.Bool().Draw(t, "all around"),
		}
		size := rapid.Float64Range(2, 12).Draw(t, "size")
		h := capital * size
		d := s.Draw(size, nil)
		apart(t, d)
		f, _ := d.Bounds(nil)
		near(t, "height", -f.Y0, s.Height(size), 0.03)
		g, ok := s.Lay.glyph(h).Bounds(nil)
		if ok != (s.Lay != LayNone) {
			t.Fatalf("lay %q is drawn: %v", s.Lay, ok)
		}
		if !ok {
			return
		}
		g = Frame{g.X0 + 1.12*h, g.Y0 - 0.1*h, g.X1 + 1.12*h, g.Y1 - 0.1*h}
		found := false
		for _, l := range d.Lines {
			found = found || len(l.Pts) > 1 && l.Pts[0].X >= g.X0-1e-9 && l.Pts[0].X <= g.X1+1e-9 && l.Pts[0].Y >= g.Y0-1e-9
		}
		if !found || g.W() > 1.15*h || g.H() > 1.15*h || g.Y1 > 0.05*h {
			t.Errorf("lay %q of %v does not stand beside the tip", s.Lay, g)
		}
		for _, x := range d.Texts {
			if x.Frame(nil).Overlaps(g) {
				t.Errorf("the lay runs into %q", x.S)
			}
		}
		// The long leg at the height of the sign's top, with half its weight.
		if leg := -g.Y0/math.Tan(math.Pi/3) + symbolLine*h; g.X0 < leg {
			t.Errorf("the lay begins at %.2f, the leg is at %.2f", g.X0, leg)
		}
	})
}

// The sign for a lay along the plane of projection is two level lines, that for one
// square to it a line upright on a level one, and crossed ones lean 45° both ways.
func TestLaySigns(t *testing.T) {
	angles := func(l Lay) []float64 {
		var out []float64
		for _, s := range l.glyph(10).Lines {
			a, b := s.Pts[0], s.Pts[len(s.Pts)-1]
			out = append(out, math.Mod(math.Atan2(a.Y-b.Y, b.X-a.X)*180/math.Pi+360, 180))
		}
		return out
	}
	for l, want := range map[Lay][]float64{LayParallel: {0, 0}, LaySquare: {0, 90}, LayCrossed: {45, 135}} {
		got := angles(l)
		if len(got) != len(want) {
			t.Fatalf("lay %s has %d strokes", l, len(got))
		}
		for i := range got {
			near(t, "stroke of "+string(l), got[i], want[i], 1e-9)
		}
	}
	for _, l := range []Lay{LayMulti, LayCircular, LayRadial, LayParticulate} {
		f, _ := l.glyph(10).Bounds(nil)
		near(t, "height of "+string(l), f.H(), 11, 0.05) // and half a stroke at each end
	}
}

// The symbol of a panel stands on the show face where that is seen edge on: the tip,
// or the arrow of its leader, touches the outline there.
func TestSymbolTouchesTheShowFace(t *testing.T) {
	for name, box := range map[string][3]float64{"wide": {60, 30, 8}, "tall": {30, 60, 8}} {
		m := form.Box(box[0], box[1], box[2])
		s := &Symbol{Removal: MustRemove, First: "U Ra 0.8 µm", Second: "L Ra 0.2 µm", Lay: LayParallel}
		with, err := Panel(PartView{Mesh: m, Symbol: s}, PanelOptions{Width: 180, Height: 118})
		if err != nil {
			t.Fatal(err)
		}
		apart(t, with)
		var text Text
		for _, x := range with.Texts {
			if x.S == s.First {
				text = x
			}
		}
		h := capital * TextSize
		tip := Pt{text.At.X - 0.3*TextSize - (symbolLong+symbolNext)*h/math.Sqrt(3), text.At.Y - 1.35*h + (symbolLong+symbolNext)*h}
		if name == "tall" { // on a leader
			tip = Pt{math.Inf(1), 0}
			for _, f := range with.Fills {
				if p := f.Pts[0]; len(f.Pts) == 3 && p.X < tip.X && p.X > text.At.X-20 && p.X < text.At.X+8 && p.Y < text.At.Y+40 && f.Pts[1].X < p.X && f.Pts[1].X > p.X-3 {
					tip = p
				}
			}
		}
		away := math.Inf(1)
		for _, l := range with.Lines {
			if l.Weight < WeightOutline-1e-9 {
				continue
			}
			for i := range l.Pts {
				if i > 0 || l.Closed {
					away = min(away, fromSegment(tip, l.Pts[(i+len(l.Pts)-1)%len(l.Pts)], l.Pts[i]))
				}
			}
		}
		if away > 0.15 {
			t.Errorf("%s: the symbol's end %v is %.2f mm from the part's outline", name, tip, away)
		}
	}
}

// A ball's outline as seen from the side is a circle: it is met where the circle is.
func TestRim(t *testing.T) {
	f := flatten(form.Sphere(10, 96, 192), FromAbove(r3.Vec{}).FromRight())
	for _, c := range []float64{-7, 0, 4.2} {
		want := -math.Sqrt(100 - c*c)
		for _, level := range []bool{true, false} {
			got, ok := f.rim(level, c)
			if !ok {
				t.Fatal("the ball is missed")
			}
			near(t, "outline of a ball", got, want, 0.05)
		}
	}
	if _, ok := f.rim(true, 11); ok {
		t.Error("a line beside the ball meets it")
	}
}
