package draw

import (
	"math"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
)

// escutcheon is a domed plate of 42 × 68 × 7 mm with a keyhole, two countersunk
// screw holes and a pocket in the back.
func escutcheon(t testing.TB) *mesh.Mesh {
	t.Helper()
	var b form.Builder
	const edge, rise = 4.0, 3.0
	dome := func(x, y float64) float64 {
		return edge + rise*math.Sqrt(max(0, 1-0.4*(x*x/(21*21)+y*y/(34*34))))
	}
	outline := form.Rectangle(r2.Vec{}, 42, 68, 6, 12)
	low, rim := b.Ring(outline, 0), b.RingOn(outline, dome)
	b.Wall(low, rim)
	var above, below []form.Ring
	key := form.Keyhole(r2.Vec{Y: 3}, 9, 4, 15, 40)
	top, bottom := b.RingOn(key, dome), b.Ring(key, 2)
	b.Wall(top, bottom)
	above = append(above, top)
	pocket := form.Rectangle(r2.Vec{Y: -1}, 22, 30, 3, 8)
	pIn, pOut := b.Ring(pocket, 2), b.Ring(pocket, 0)
	b.Wall(pIn, pOut)
	b.Region(form.Down, pIn, bottom)
	below = append(below, pOut)
	for _, y := range []float64{26, -26} {
		mouth := form.Circle(r2.Vec{Y: y}, 8.4, 48)
		hole := form.Circle(r2.Vec{Y: y}, 4.2, 48)
		m, h, e := b.RingOn(mouth, dome), b.Ring(hole, 3), b.Ring(hole, 0)
		b.Wall(m, h)
		b.Wall(h, e)
		above, below = append(above, m), append(below, e)
	}
	b.Lifted(form.Up, 1, dome, rim, above...)
	b.Region(form.Down, low, below...)
	m := b.Mesh()
	if !mesh.NewTopology(m).Closed() {
		t.Fatal("the sample plate is not closed")
	}
	return m
}
