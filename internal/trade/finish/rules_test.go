package finish

import (
	"encoding/json"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/reach"
	"fettle/internal/trade/stock"
)

// Every alloy and finish of the shelf gives a plan in which the rules of the
// trade hold and every prediction is in order and says its basis.
func TestEveryAlloyAndFinish(t *testing.T) {
	shelf := stock.Shelf()
	classes := map[fettle.HardnessClass]bool{}
	for _, m := range shelf.Materials {
		// One of each class, which is what the laws know; under -short, where the race
		// detector is ten times slower, one.
		if classes[m.Class] || testing.Short() && len(classes) > 0 {
			continue
		}
		classes[m.Class] = true
		for _, l := range shelf.Looks {
			pl, err := oneWay(Input{Survey: plate(), Shelf: shelf, Brief: fettle.Brief{Material: m.Name, Finish: l.Name, Lot: 12}})
			if err != nil {
				t.Fatal(err)
			}
			where := m.Name + ", " + l.Name
			checkEstimates(t, where, reflect.ValueOf(*pl))
			checkRules(t, where, pl, shelf)
			if _, err := json.Marshal(pl); err != nil {
				t.Errorf("%s: %v", where, err)
			}
		}
	}
}

// checkRules holds a route to what the trade would say of it.
func checkRules(t *testing.T, where string, pl *fettle.Plan, shelf *fettle.Shelf) {
	t.Helper()
	grain, limit := math.Inf(1), math.Inf(1)
	burr, smoothed, polished := true, false, false
	for i, s := range pl.Route {
		switch s.Kind {
		case fettle.StepRub:
			for _, g := range shelf.Grits {
				if g.Name == s.Rub.Grit {
					if g.GrainUM >= grain {
						t.Errorf("%s: step %d goes back to coarser %s", where, i+1, g.Name)
					}
					grain = g.GrainUM
				}
			}
			if smoothed {
				t.Errorf("%s: step %d sands after media that smooth", where, i+1)
			}
			if burr || polished {
				t.Errorf("%s: step %d sands over a burr or a polish", where, i+1)
			}
		case fettle.StepDeburr:
			burr = false
		case fettle.StepBuff:
			m, err := shelf.Mop(s.Buff.Mop)
			if err != nil {
				t.Fatal(err)
			}
			// The search sees the median of 40 worlds, which scatters by a tenth where Ra is
			// known to a factor of two (0.52·1.25/√40 in the logarithm).
			if before := pl.Route[i-1].RaUM.Value; burr || before > 1.2*m.StartRaUM {
				t.Errorf("%s: step %d polishes over a burr or over Ra %.2f", where, i+1, before)
			}
			polished = true
		case fettle.StepTumble:
			for _, j := range s.Charge.Jams {
				if j.Chance.P >= reach.RealJam {
					t.Errorf("%s: %s is chosen although it jams in %s (%.2f)", where, s.Charge.Media, j.Opening, j.Chance.P)
				}
			}
			m, err := shelf.MediaNamed(s.Charge.Media)
			if err != nil {
				t.Fatal(err)
			}
			if smoothed && m.LimitRaUM.Value >= limit {
				t.Errorf("%s: %s follows media that are as fine", where, m.Name)
			}
			limit, smoothed = m.LimitRaUM.Value, smoothed || !(burr && len(pl.Route) > i+2 && pl.Route[i+2].Kind == fettle.StepRub)
			burr = false
			if polished {
				t.Errorf("%s: step %d tumbles a polish", where, i+1)
			}
			if i+1 >= len(pl.Route) || pl.Route[i+1].Kind != fettle.StepWash {
				t.Errorf("%s: charge %d is not washed and dried afterwards", where, i+1)
			}
			if h := s.Charge; len(h.HoursTo) == 0 || len(h.LooksH) == 0 || h.Loads*h.PartsPerLoad < pl.Brief.Lot {
				t.Errorf("%s: the charge says too little: %+v", where, h)
			}
			if s.Charge.CriticalRPM > 0 && s.Charge.RPM > 0.31*s.Charge.CriticalRPM {
				t.Errorf("%s: a cosmetic part turns at %.0f of critical %.0f rpm", where, s.Charge.RPM, s.Charge.CriticalRPM)
			}
		}
		if s.Caution == "" && s.Kind != fettle.StepInspect {
			t.Errorf("%s: no caution beside step %d, %s", where, i+1, s.Name)
		}
		if s.Name == "" || s.Do == "" || len(s.Why) == 0 {
			t.Errorf("%s: step %d says too little: %+v", where, i+1, s)
		}
	}
	if burr {
		t.Errorf("%s: burrs stay", where)
	}
	// Medians do not add up, but nearly.
	var removed float64
	for _, s := range pl.Route {
		removed += s.RemovedUM.Value
	}
	if got := pl.AllowanceUM["show"].Value; math.Abs(got-removed) > 0.3*got {
		t.Errorf("%s: %.3f µm are left on, the steps take %.3f", where, got, removed)
	}
}

// checkEstimates walks a value and checks every estimate in it.
func checkEstimates(t *testing.T, where string, v reflect.Value) {
	t.Helper()
	if e, ok := v.Interface().(fettle.Estimate); ok {
		if !e.Valid() {
			t.Errorf("%s: estimate out of order or without basis: %+v", where, e)
		}
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				checkEstimates(t, where+"."+v.Type().Field(i).Name, v.Field(i))
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			checkEstimates(t, where, v.Index(i))
		}
	case reflect.Map:
		for _, k := range v.MapKeys() {
			checkEstimates(t, where+"."+k.String(), v.MapIndex(k))
		}
	case reflect.Pointer:
		if _, bar := v.Interface().(*fettle.StockSize); !v.IsNil() && !bar { // a bar's prices are left out
			checkEstimates(t, where, v.Elem())
		}
	}
}

// A roughness on the drawing wins over the finish, and is aimed at from below.
func TestDrawingWins(t *testing.T) {
	shelf := stock.Shelf()
	look, err := shelf.Look("matte")
	if err != nil {
		t.Fatal(err)
	}
	free := needOf(look, fettle.Brief{})
	tight := needOf(look, fettle.Brief{RaMaxUM: 0.5})
	if tight.HighUM != 0.5 || tight.AimUM > 0.35+1e-12 || tight.Source != "the drawing" || free.HighUM <= 0.5 {
		t.Errorf("Ra 0.5 on the drawing: %+v against %+v", tight, free)
	}
	if loose := needOf(look, fettle.Brief{RaMaxUM: 10}); loose != free {
		t.Errorf("a limit wider than the finish changed it: %+v", loose)
	}
	if rz := needOf(look, fettle.Brief{RzMaxUM: 3}); rz.HighUM != 0.5 {
		t.Errorf("Rz 3 µm is held as Ra %.2f, want 0.5 (ratio 6, common practice)", rz.HighUM)
	}
}

// What cannot be met is not promised, and what is missing is said: without mops the
// finest that is left tends to 0.08 µm on brass.
func TestMirrorIsOutOfReachWithoutMops(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	shelf := stock.Shelf()
	shelf.Mops = nil
	pl, err := oneWay(Input{Survey: plate(), Shelf: shelf, Trade: stock.Shelf(), Brief: fettle.Brief{Material: "naval brass", Finish: "mirror", Lot: 12}})
	if err != nil {
		t.Fatal(err)
	}
	if pl.Meets {
		t.Fatalf("a mirror of Ra %v is promised from a shelf whose finest media tend to 0.06 µm", pl.Route[len(pl.Route)-1].RaUM)
	}
	if !strings.HasPrefix(pl.Verdict, "no: ") || !strings.Contains(pl.Verdict, "oose cotton mop") || len(pl.Missing) < 2 {
		t.Errorf("the verdict does not say what is missing: %s", pl.Verdict)
	}
	// The best there is comes as near as the shelf allows.
	if ra := pl.Route[len(pl.Route)-1].RaUM.Value; ra > 0.25 {
		t.Errorf("the nearest to a mirror is Ra %.2f µm", ra)
	}
}

// Facts of the trade, common practice without a printed source, against the
// built-in shelf: they lie inside the intervals of the plans.
func TestCommonPractice(t *testing.T) {
	shelf := stock.Shelf()
	shelf.Mops = nil
	shelf.Media = slices.DeleteFunc(shelf.Media, func(m fettle.Media) bool { // the rest would only be searched through
		return !slices.Contains([]string{"cob-2", "plastic-triangle-10", "ceramic-fast-10", "plastic-fine-cone-10"}, m.Name)
	})
	way := func(look string, steps ...fettle.StepWish) *fettle.Plan {
		t.Helper()
		pl, err := oneWay(Input{Survey: plate(), Shelf: shelf, Reach: freely(shelf), Brief: fettle.Brief{Material: "naval brass", Finish: look, Lot: 12, Steps: steps}})
		if err != nil {
			t.Fatal(err)
		}
		return pl
	}
	// An overnight polish in dry cob.
	bright := way("bright", fettle.StepWish{Do: "keep", Step: "cob-2 in dry barrel"})
	if h := bright.Charges[len(bright.Charges)-1].Hours; h.High < 8 || h.Low > 14 {
		t.Errorf("a polish in dry media takes %.1f–%.1f h; overnight is common practice", h.Low, h.High)
	}
	// Light plastic after fine sanding: one to two hours in a rotary barrel.
	stone := way("stonewash", fettle.StepWish{Do: "keep", Step: "P600"}, fettle.StepWish{Do: "keep", Step: "plastic-triangle-10 in wet barrel"})
	if h := stone.Charges[len(stone.Charges)-1].Hours; h.High < 2 || h.Low > 1 {
		t.Errorf("an even stonewash after fine sanding takes %.1f–%.1f h in a rotary barrel; 1 to 2 h is common practice", h.Low, h.High)
	}
}

// A burning metal, a gas-making metal and silica each bring their caution, and
// brass brings neither of the first two.
func TestCautionsFollowTheMetal(t *testing.T) {
	if testing.Short() {
		t.Skip("long under the race detector, which other tests of this room feed")
	}
	has := func(pl *fettle.Plan, id string) bool {
		for _, c := range pl.Cautions {
			if c.ID == id {
				return c.Defer != "" && len(c.Steps) > 0
			}
		}
		return false
	}
	brass, titanium := planFor(t, "naval brass", "stonewash", 6), planFor(t, "Ti-6Al-4V", "stonewash", 6)
	if has(brass, "gas") {
		t.Error("brass is said to make gas")
	}
	if !has(titanium, "metal") || !strings.Contains(titanium.Cautions[0].Says, "burn") || !strings.Contains(titanium.Route[0].Caution, "burn") {
		t.Errorf("titanium dust is not said to burn: %+v", titanium.Cautions[0])
	}
	for _, pl := range []*fettle.Plan{brass, titanium} {
		for _, id := range []string{"spindle", "edges", "barrel", "wet", "effluent"} {
			if !has(pl, id) {
				t.Errorf("%s: no caution %q", pl.Material.Name, id)
			}
		}
	}
}

// More pieces never cost more each, and the same question gets the same answer.
func TestLotsAndRepeats(t *testing.T) {
	last := math.Inf(1)
	lots := []int{1, 3, 12, 100, 1000}
	if testing.Short() {
		lots = []int{1, 12}
	}
	for _, lot := range lots {
		pl, err := oneWay(Input{Survey: plate(), Shelf: stock.Shelf(), Brief: fettle.Brief{Material: "304", Finish: "matte", Lot: lot}})
		if err != nil {
			t.Fatal(err)
		}
		if each := pl.Price.Each.Value.Major(); each > last {
			t.Errorf("a piece costs %.2f in a lot of %d and %.2f in a smaller one", each, lot, last)
		} else {
			last = each
		}
	}
	a, _ := json.Marshal(planFor(t, "304", "matte", 12))
	b, _ := json.Marshal(planAnew(t, "304", "matte", 12))
	if string(a) != string(b) {
		t.Error("the same brief gave two plans")
	}
}

func TestBriefAndShelfMustFit(t *testing.T) {
	shelf := stock.Shelf()
	good := Input{Survey: plate(), Shelf: shelf, Brief: fettle.Brief{Material: "304", Finish: "satin", Lot: 1}}
	for name, c := range map[string]struct {
		spoil func(*Input)
		want  fettle.Code
	}{
		"alloy":    {func(in *Input) { in.Brief.Material = "unobtainium" }, fettle.NotFound},
		"finish":   {func(in *Input) { in.Brief.Finish = "velvet" }, fettle.NotFound},
		"mill":     {func(in *Input) { in.Mill = "the other one" }, fettle.NotFound},
		"zone":     {func(in *Input) { in.Brief.Show = []string{"lid"} }, fettle.Invalid},
		"too big":  {func(in *Input) { in.Survey.SizeMM = [3]float64{4000, 50, 10} }, fettle.No},
		"not shut": {func(in *Input) { in.Survey.Closed = false }, fettle.BadFile},
		"no faces": {func(in *Input) { in.Survey.Zones = nil }, fettle.BadFile},
	} {
		in := good
		c.spoil(&in)
		if _, err := Plan(t.Context(), in); fettle.CodeOf(err) != c.want {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}
