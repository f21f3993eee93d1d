package proof

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// Whatever a program does, the proof is one document with findings in order and
// nothing in it that is no number.
func TestAnyProgram(t *testing.T) {
	part := platePart(t, 8, 5, 4)
	shelf := stock.Shelf()
	mat, err := shelf.Material("6061")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("%\nO1\n")
		place := rapid.Float64Range(-9, 9)
		for range rapid.IntRange(1, 30).Draw(t, "blocks") {
			x, y, z := place.Draw(t, "x"), place.Draw(t, "y"), place.Draw(t, "z")
			switch rapid.IntRange(0, 12).Draw(t, "word") {
			case 0:
				fmt.Fprintf(&b, "G0 X%.3f Y%.3f\n", x, y)
			case 1:
				fmt.Fprintf(&b, "G0 Z%.3f\n", z)
			case 2, 3, 4:
				fmt.Fprintf(&b, "G1 X%.3f Y%.3f Z%.3f F500\n", x, y, z)
			case 5:
				fmt.Fprintf(&b, "G%d X%.3f Y%.3f R%.3f\n", rapid.IntRange(2, 3).Draw(t, "arc"), x, y, z)
			case 6:
				fmt.Fprintf(&b, "%s G2 X%.3f Z%.3f I%.3f K%.3f\n", rapid.SampledFrom([]string{"G17", "G18", "G19"}).Draw(t, "plane"), x, z, y, x)
			case 7:
				fmt.Fprintf(&b, "T%d M6 G43 H%d\n", rapid.IntRange(0, 3).Draw(t, "tool"), rapid.IntRange(0, 3).Draw(t, "h"))
			case 8:
				fmt.Fprintf(&b, "G5%d\n", rapid.IntRange(3, 5).Draw(t, "offset"))
			case 9:
				fmt.Fprintf(&b, "S%d M%d\n", rapid.IntRange(0, 20000).Draw(t, "speed"), rapid.IntRange(3, 5).Draw(t, "m"))
			case 10:
				fmt.Fprintf(&b, "G%d\n", rapid.SampledFrom([]int{20, 21, 90, 91, 28, 94, 95}).Draw(t, "g"))
			case 11:
				fmt.Fprintf(&b, "G81 X%.3f Y%.3f Z%.3f R2. F100\nG80\n", x, y, z)
			case 12:
				b.WriteString("G4 P100\n")
			}
		}
		p, err := nc.Read([]byte(b.String() + "M30\n"))
		if err != nil {
			return // no program: the reader's own tests look at that
		}
		s := shopSetup()
		s.Tools["T2"] = fettle.SetupTool{Cutter: "flat:4", Flutes: 3, HolderMM: 20, StickOut: 12}
		s.Tools["T3"] = fettle.SetupTool{Cutter: "bull:6:1"}
		s.Jaws = &fettle.SetupJaws{Name: "soft-100", OpeningMM: 5, TopMM: -1}
		s.Stock.SawCutMM = rapid.Float64Range(0, 2).Draw(t, "saw")
		safe := 5.0
		s.SafeZ = &safe
		in := Input{Program: p, Setup: s, Shelf: shelf, Mill: shelf.Machines[0], Material: &mat, CellMM: 0.25}
		if rapid.Bool().Draw(t, "part") {
			in.Part = part
		} else {
			in.Setup.Stock = nil
		}
		proof, _, err := Of(t.Context(), in)
		if err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		if _, err := json.Marshal(proof); err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		rank := map[fettle.Severity]int{fettle.Wrong: 0, fettle.Check: 1, fettle.Note: 2}
		for i, f := range proof.Findings {
			if f.Says == "" || f.Kind == "" || strings.Contains(f.Says, "%!") || strings.Contains(f.Says, "NaN") {
				t.Fatalf("finding %+v in\n%s", f, b.String())
			}
			if i > 0 && rank[f.Severity] < rank[proof.Findings[i-1].Severity] {
				t.Fatalf("findings out of order: %+v", proof.Findings)
			}
		}
		if proof.TimeS < 0 || proof.TimeS > 1e7 {
			t.Fatalf("time %g s in\n%s", proof.TimeS, b.String())
		}
	})
}
