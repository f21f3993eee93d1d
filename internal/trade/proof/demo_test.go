package proof

import (
	"math"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/shape/relief"
)

// A ball led over the demo's plate by its own skin, written as a program, read
// back and proved: nothing is wrong, nothing is gouged beyond the tolerance of
// the chords, and the cusps are those of the stepover.
func TestDemoPlate(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	plate := demo.Escutcheon(demo.Coarse)
	part := partOf(t, plate.Mesh)
	const tol, step = 0.002, 0.5
	s := fettle.Setup{
		Offset: "G54", Zero: [3]float64{0, 0, 7},
		Stock: &fettle.SetupStock{Over: &[6]float64{1, 1, 1, 1, 0, 0.4}},
		Tools: map[string]fettle.SetupTool{"T1": {Cutter: "ball-6"}},
	}
	skin, err := relief.NewSkin(t.Context(), part.Mesh, frameOf(s), relief.Ball(3), -25, -38, 25, 38)
	if err != nil {
		t.Fatal(err)
	}
	moves, err := relief.Lay(t.Context(), skin, relief.Passes{Step: step, Crossed: true, Tolerance: tol}, -21.5, -34.5, 21.5, 34.5)
	if err != nil {
		t.Fatal(err)
	}
	p := begin().head("G21")
	var at [3]float64
	for i, m := range moves {
		if i == 0 || m.From != at { // lift between passes: a straight link would cut the rim
			p.line("G0 Z20.\nX%.4f Y%.4f\nZ%.4f", m.From[0], m.From[1], math.Max(m.From[2]+1, 2))
			p.line("G1 Z%.4f F1000", m.From[2])
		}
		p.line("X%.4f Y%.4f Z%.4f", m.To[0], m.To[1], m.To[2])
		at = m.To
	}
	got, _ := prove(t, p.end(), part, s, 0.05)
	noWrong(t, got)
	if *got.GougeMM > tol+0.0005 {
		t.Errorf("gouge %g mm with chords of %g", *got.GougeMM, tol)
	}
	if *got.Untouched > 0.001 {
		t.Errorf("untouched %g", *got.Untouched)
	}
	// On the dome, whose slope is small: s²/8R = 10.4 µm.
	if c := got.CuspUM; c == nil || c.P50 < 9 || c.P50 > 14 {
		t.Errorf("cusps %+v", c)
	}
	if got.Lay != "crossed" {
		t.Errorf("lay %q", got.Lay)
	}
	t.Logf("%d moves, %.1f min, cusps %+v, left %g (95 %%: %g), gouge %g\n%s", got.MotionBlocks, got.TimeS/60, *got.CuspUM, *got.LeftMM, *got.LeftP95MM, *got.GougeMM, told(got))
}
