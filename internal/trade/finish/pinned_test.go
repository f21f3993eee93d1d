package finish

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
)

// A pass that the brief pins is the route's, and costs what it costs: crossed passes
// are made twice, and the height is that of s²/8·(1/r + 1/ρ), the textbook formula for
// cusps on a bulge.
func TestPassesArePinned(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector")
	}
	shelf := stock.Shelf()
	shelf.Media = nil
	plan := func(steps ...fettle.StepWish) (*fettle.Plan, error) {
		return oneWay(Input{Survey: plate(), Shelf: shelf, Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 12, Steps: steps}})
	}
	const step = 0.29
	way, err := plan(fettle.StepWish{Do: "keep", Step: "pass ball-10", StepoverMM: step})
	if err != nil {
		t.Fatal(err)
	}
	crossed, err := plan(fettle.StepWish{Do: "replace", Step: "pass ball-12", With: "ball-10", StepoverMM: step, Crossed: new(true)})
	if err != nil {
		t.Fatal(err)
	}
	a, b := way.Route[0], crossed.Route[0]
	if a.Pass.Cutter != "ball-10" || a.Pass.StepoverMM != step || a.Pass.Crossed {
		t.Errorf("pinned to ball-10, %g mm, one way; the pass is %+v", step, *a.Pass)
	}
	if b.Pass.Cutter != "ball-10" || b.Pass.StepoverMM != step || !b.Pass.Crossed || b.Marks[0].Lay != "crossed" || !strings.Contains(b.Do, "once more square") {
		t.Errorf("pinned to ball-10, %g mm, crossed; the pass is %+v, its mark lies %q: %s", step, *b.Pass, b.Marks[0].Lay, b.Do)
	}
	if r := b.MinutesAlone.Value / a.MinutesAlone.Value; math.Abs(r-2) > 1e-9 {
		t.Errorf("crossed takes %.3f times as long, want 2", r)
	}
	surface := step / math.Cos(14*math.Pi/180) // the face leans by 14° at 95 %
	if want := surface * surface / 8 * (1/5.0 + 1/120.0) * 1000; math.Abs(a.Pass.CuspUM/want-1) > 0.01 {
		t.Errorf("cusps of %.4g µm, want %.4g", a.Pass.CuspUM, want)
	}
	if !strings.Contains(strings.Join(a.Why, "\n"), "the brief keeps this pass") {
		t.Errorf("the reasons do not say that it was pinned: %q", a.Why)
	}
	only, err := plan(fettle.StepWish{Do: "keep", Step: "ball-8", Crossed: new(true)})
	if err != nil || only.Route[0].Pass.Cutter != "ball-8" || !only.Route[0].Pass.Crossed {
		t.Errorf("ball-8 crossed, at whatever stepover: %v, %v", err, only)
	}
}

// A pass that cannot be is refused with a sentence.
func TestPassesThatCannotBePinned(t *testing.T) {
	for name, c := range map[string]struct {
		wish fettle.StepWish
		code fettle.Code
		says string
	}{
		"below zero":    {fettle.StepWish{Do: "keep", Step: "ball-10", StepoverMM: -0.1}, fettle.Invalid, "above zero"},
		"far too wide":  {fettle.StepWish{Do: "keep", Step: "ball-10", StepoverMM: 5000}, fettle.Invalid, "above zero"},
		"do not meet":   {fettle.StepWish{Do: "keep", Step: "ball-2", StepoverMM: 3}, fettle.Invalid, "cannot be cut"},
		"not a number":  {fettle.StepWish{Do: "keep", Step: "ball-10", StepoverMM: math.NaN()}, fettle.Invalid, "above zero"},
		"no pass":       {fettle.StepWish{Do: "keep", Step: "rub P400", StepoverMM: 0.3}, fettle.Invalid, "no pass of a cutter"},
		"dropped":       {fettle.StepWish{Do: "drop", Step: "pass ball-10", StepoverMM: 0.3}, fettle.Invalid, "keep it"},
		"does not fit":  {fettle.StepWish{Do: "keep", Step: "flat-6", StepoverMM: 0.3}, fettle.No, "leaves stairs"},
		"crossed grits": {fettle.StepWish{Do: "keep", Step: "P400", Crossed: new(true)}, fettle.Invalid, "no pass of a cutter"},
	} {
		_, err := oneWay(Input{Survey: plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 12, Steps: []fettle.StepWish{c.wish}}})
		if fettle.CodeOf(err) != c.code || !strings.Contains(fmt.Sprint(err), c.says) {
			t.Errorf("%s: %v, want %s with %q", name, err, c.code, c.says)
		}
	}
}
