package closeup

import (
	"testing"

	part "fettle/internal/output/draw"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r3"
)

// Half a plate that is open to media, a quarter that is seldom met and one that is
// not reached: the first is lighter than the second, and the last has stripes.
func TestValuesOnAPart(t *testing.T) {
	m := form.Sheet(-20, -10, 20, 10, 80, 40, func(x, y float64) float64 { return 0 })
	value := make([]float32, len(m.Pos))
	for i, p := range m.Pos {
		switch {
		case p.X > 0:
			value[i] = 1
		case p.Y > 0:
			value[i] = 0.1
		default:
			value[i] = -1
		}
	}
	view := part.FromAbove(r3.Vec{Z: 1})
	o := PartOptions{Size: 400, Views: []string{"from above"}, Caption: "how openly it lies", Low: "seldom", High: "open", Out: "not reached"}
	img, err := OnPart(m, []part.View{view, view}, value, o)
	if err != nil {
		t.Fatal(err)
	}
	if img.Rect.Dx() < 2*400 || img.Rect.Dy() <= 200 {
		t.Errorf("the picture has %v", img.Rect)
	}
	grey := func(x, y int) int {
		c := img.RGBAAt(x, y)
		return (int(c.R)*3 + int(c.G)*6 + int(c.B)) / 10
	}
	// The mean and the spread of a square of 20 pixels.
	look := func(x, y int) (mean, spread int) {
		lo, hi, sum := 255, 0, 0
		for j := y - 10; j < y+10; j++ {
			for i := x - 10; i < x+10; i++ {
				g := grey(i, j)
				lo, hi, sum = min(lo, g), max(hi, g), sum+g
			}
		}
		return sum / 400, hi - lo
	}
	mid := img.Rect.Dx() / 4
	open, even := look(mid+90, 110)
	seldom, _ := look(mid-90, 60)
	out, stripes := look(mid-90, 160)
	if open < seldom+60 || even > 20 {
		t.Errorf("open %d (spread %d), seldom %d", open, even, seldom)
	}
	if stripes < 60 {
		t.Errorf("what is not reached has a spread of %d about %d: no stripes", stripes, out)
	}
	// The second view stands beside the first and is the same.
	for j := 20; j < 180; j++ {
		if a, b := img.RGBAAt(mid+90, j), img.RGBAAt(mid+90+img.Rect.Dx()/2, j); a != b {
			t.Fatalf("row %d differs between equal views: %v, %v", j, a, b)
		}
	}
	if _, err := OnPart(m, nil, value, o); err == nil {
		t.Error("no view is drawn")
	}
	if _, err := OnPart(m, []part.View{view}, value[1:], o); err == nil {
		t.Error("too few values are drawn")
	}
}
