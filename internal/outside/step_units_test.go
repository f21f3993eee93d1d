//go:build outside

package outside

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/format/step"
)

// One cube in five units by a native build of the kernel, one in three by others,
// and one whose unit is changed in the text: all as large as the file says, and
// the unit named.
func TestUnits(t *testing.T) {
	t.Parallel()
	type file struct {
		from     string
		old, new string // put in place of each other in the text
		unit     string
		mm       float64
		side     float64 // in mm
	}
	const si = "SI_UNIT(.MILLI.,.METRE.)"
	files := []file{
		{from: drawnFile(t, "cube-MM"), unit: "mm", mm: 1, side: 25.4},
		{from: drawnFile(t, "cube-CM"), unit: "cm", mm: 10, side: 25.4},
		{from: drawnFile(t, "cube-M"), unit: "m", mm: 1000, side: 25.4},
		{from: drawnFile(t, "cube-INCH"), unit: "inch", mm: 25.4, side: 25.4},
		{from: drawnFile(t, "cube-FT"), unit: "ft", mm: 304.8, side: 25.4},
		{from: models("cube-units/cube-mm.step")[0], unit: "mm", mm: 1, side: 1000},
		{from: models("cube-units/cube-m.step")[0], unit: "m", mm: 1000, side: 1000},
		{from: models("cube-units/cube-in.step")[0], unit: "inch", mm: 25.4, side: 1000},
		{from: drawnFile(t, "cube-MM"), old: si, new: "SI_UNIT($,.METRE.)", unit: "m", mm: 1000, side: 25400},
		{from: drawnFile(t, "cube-MM"), old: si, new: "SI_UNIT(.CENTI.,.METRE.)", unit: "cm", mm: 10, side: 254},
		{from: drawnFile(t, "cube-MM"), old: si, new: "SI_UNIT(.MICRO.,.METRE.)", unit: "micron", mm: 1e-3, side: 0.0254},
		// A unit by what the file says that it is, whatever its name.
		{from: drawnFile(t, "cube-INCH"), old: "MEASURE_WITH_UNIT(25.4,", new: "MEASURE_WITH_UNIT(22.5,", mm: 22.5, side: 22.5},
	}
	for _, f := range files {
		name := filepath.Base(f.from) + " " + f.new
		data, err := os.ReadFile(f.from)
		if err != nil {
			t.Fatal(err)
		}
		text := string(data)
		if f.old != "" {
			if text = strings.ReplaceAll(text, f.old, f.new); text == string(data) {
				t.Errorf("%s: nothing to change in the text", name)
			}
		}
		part, err := step.Read(context.Background(), []byte(text), step.Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		box := part.Mesh.Box().Size()
		for _, side := range []float64{box.X, box.Y, box.Z} {
			if math.Abs(side-f.side) > 1e-7*f.side {
				t.Errorf("%s: a side of %.10g mm, want %g", name, side, f.side)
			}
		}
		if math.Abs(part.UnitMM-f.mm) > 1e-9*f.mm || f.unit != "" && part.UnitName != f.unit {
			t.Errorf("%s: the unit is %q of %g mm, want %q of %g", name, part.UnitName, part.UnitMM, f.unit, f.mm)
		}
		t.Logf("%-32s %s of %g mm, side %.9g mm", name, part.UnitName, part.UnitMM, box.X)
	}
}
