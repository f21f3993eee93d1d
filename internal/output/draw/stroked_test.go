package draw

import (
	"bytes"
	"image"
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r3"
)

func shaded(t *testing.T, img *image.RGBA, err error) *image.RGBA {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// changed are the pixels in which two pictures differ, and their box.
func changed(a, b *image.RGBA) (n int, box image.Rectangle) {
	for j := range a.Rect.Dy() {
		for i := range a.Rect.Dx() {
			if a.RGBAAt(i, j) != b.RGBAAt(i, j) {
				n++
				box = box.Union(image.Rect(i, j, i+1, j+1))
			}
		}
	}
	return n, box
}

// On a box seen from above a stroke over its top is drawn at its place, in scale,
// dark with pale borders; one under its foot is not drawn.
func TestStrokeOnABox(t *testing.T) {
	m, v := form.Box(40, 20, 10), FromAbove(r3.Vec{Z: 1})
	plain, err := Shade(m, v, 240)
	plain = shaded(t, plain, err)
	box := m.Box()
	mid := r3.Scale(0.5, r3.Add(box.Min, box.Max))
	at := func(x, y, z float64) r3.Vec { return r3.Vec{X: mid.X + x, Y: mid.Y + y, Z: z} }
	over, err := Stroked(m, v, 240, []r3.Vec{at(-12, 0, box.Max.Z), at(12, 0, box.Max.Z)}, nil)
	over = shaded(t, over, err)
	_, where := changed(plain, over)
	perMM := 228. / 40 // the picture's margin is a fortieth of its size
	if w := float64(where.Dx()) / perMM; math.Abs(w-24) > 1.2 {
		t.Errorf("a stroke of 24 mm is drawn %.2f mm long", w)
	}
	if c := where.Min.Add(where.Max).Div(2); math.Abs(float64(c.X-plain.Rect.Dx()/2)) > 2 || math.Abs(float64(c.Y-plain.Rect.Dy()/2)) > 2 {
		t.Errorf("its middle is drawn at %v of %v", c, plain.Rect.Max)
	}
	c := over.RGBAAt(plain.Rect.Dx()/2, plain.Rect.Dy()/2)
	if c.R > 60 || c.B > 120 {
		t.Errorf("the stroke is %v, not dark", c)
	}
	under, err := Stroked(m, v, 240, []r3.Vec{at(-12, 0, box.Min.Z), at(12, 0, box.Min.Z)}, []r3.Vec{at(-5, -5, box.Min.Z), at(5, -5, box.Min.Z), at(0, 5, box.Min.Z)})
	if n, _ := changed(plain, shaded(t, under, err)); n != 0 {
		t.Errorf("a stroke under the foot changes %d pixels", n)
	}
	if testing.Short() {
		return
	}
	// The outline is closed: its last side is drawn too.
	ring, err := Stroked(m, v, 240, nil, []r3.Vec{at(-6, -6, box.Max.Z), at(6, -6, box.Max.Z), at(6, 6, box.Max.Z), at(-6, 6, box.Max.Z)})
	ring = shaded(t, ring, err)
	x := plain.Rect.Dx()/2 - int(6*perMM)
	if a, b := plain.RGBAAt(x, plain.Rect.Dy()/2), ring.RGBAAt(x, plain.Rect.Dy()/2); a == b {
		t.Error("the outline's last side is missing")
	}
	again, err := Stroked(m, v, 240, []r3.Vec{at(-12, 0, box.Max.Z), at(12, 0, box.Max.Z)}, nil)
	if !bytes.Equal(over.Pix, shaded(t, again, err).Pix) {
		t.Error("made twice, the pictures differ")
	}
}

// Round a rod, only the half on this side of it is drawn.
func TestStrokeGoesRoundBehind(t *testing.T) {
	m := form.Cylinder(20, 30, 96)
	v := View{Right: r3.Vec{X: 1}, Up: r3.Vec{Z: 1}, Toward: r3.Vec{Y: -1}}
	var near, far []r3.Vec
	box := m.Box()
	z := (box.Min.Z + box.Max.Z) / 2
	for i := range 61 {
		s, c := math.Sincos(math.Pi * (0.1 + 0.8*float64(i)/60))
		near = append(near, r3.Vec{X: 10 * c, Y: -10 * s, Z: z})
		far = append(far, r3.Vec{X: 10 * c, Y: 10 * s, Z: z})
	}
	plain, err := Shade(m, v, 160)
	plain = shaded(t, plain, err)
	front, err := Stroked(m, v, 160, near, nil)
	if n, _ := changed(plain, shaded(t, front, err)); n < 250 {
		t.Errorf("the near side of the rod changes only %d pixels", n)
	}
	back, err := Stroked(m, v, 160, far, nil)
	if n, _ := changed(plain, shaded(t, back, err)); n > 60 {
		t.Errorf("the far side of the rod changes %d pixels", n)
	}
	if _, err := Stroked(m, v, 160, []r3.Vec{{X: math.NaN()}, {}}, nil); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a point that is none is drawn: %v", err)
	}
}
