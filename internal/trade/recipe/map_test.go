package recipe

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"

	"pgregory.net/rapid"
)

// bench is a shop with one media of each sort in one vessel, whose numbers make sums
// that can be done by hand: balls of 8 mm that tend to Ra 0.2 µm on mild steel, as fast
// as general ceramic, in a bowl that works as fast as a bowl.
func bench(kind fettle.MediaKind, sizeMM float64, speed float64) *fettle.Shelf {
	s := stock.Shelf()
	exact := func(v float64) fettle.Estimate { return fettle.Exactly(v, "test") }
	s.Media = []fettle.Media{{
		Name: "balls", Kind: kind, Shape: fettle.Sphere, SizeMM: [2]float64{sizeMM, sizeMM}, Worn: 1, BulkKgL: 1.6, OnShelfL: 20,
		LimitRaUM: exact(0.2), TimeFactor: exact(1), CutFactor: exact(1), Dry: kind == fettle.Cob,
	}}
	s.Vessels = []fettle.Vessel{{
		Name: "tub", Kind: fettle.Vibratory, VolumeL: 10, DiameterMM: 320, MaxLoadKg: 40, Speedup: exact(speed), Wet: true, Dry: true, RatePerH: exact(1),
	}}
	return s
}

// tumbled is a recipe with one charge, from Ra 1.2 to 0.4 µm in so many hours.
func tumbled(t testing.TB, shelf *fettle.Shelf, h fettle.Estimate) fettle.Recipe {
	t.Helper()
	mat, err := shelf.Material("mild steel")
	if err != nil {
		t.Fatal(err)
	}
	look, _ := shelf.Look("matte")
	c := fettle.Charge{Media: "balls", Vessel: "tub", Hours: h, Loads: 1, PartsPerLoad: 12}
	return Of(&fettle.Plan{
		Material: mat, Look: look, Survey: cube, Brief: fettle.Brief{Lot: 12},
		Route: fettle.Route{
			{Key: "rub P240", Kind: fettle.StepRub, Zone: "show", RaUM: fettle.Exactly(1.2, "test"), Rub: &fettle.Rub{Grit: "P240"}},
			{Key: "tumble balls in tub", Kind: fettle.StepTumble, Zone: "show", RaUM: fettle.Exactly(0.4, "test"), Charge: &c},
		},
	}, shelf, nil, "test")
}

// steelT is the time constant on mild steel in general ceramic in a bowl, h: the
// starting guess of docs/physics.md, What a charge does. ln 5 of it takes a face from
// 1.2 to 0.4 µm where 0.2 is the limit: R(t) = RL + (R0 − RL)·e^(−t/T), as there.
const steelT = 1.2

func TestAVesselTwiceAsFastHalvesTheHours(t *testing.T) {
	for _, c := range []struct {
		kind fettle.MediaKind
		size float64
		want float64 // of the hours, at twice the speed
	}{
		{fettle.CeramicGeneral, 8, 0.5},                // cutting feels all of it
		{fettle.Porcelain, 4, math.Pow(2, -0.6)},       // burnishing a power of 0.6
		{fettle.Cob, 1.5, math.Pow(2, -0.25)},          // dry polishing 0.25
		{fettle.PlasticGeneral, 12, 1 / float64(1<<1)}, // as ceramic
	} {
		theirs := bench(c.kind, c.size, 1)
		h := steelT * math.Log(5) // 1.931 h
		was := fettle.LogNormal(h, 0.8, fettle.BasisGuess)
		m := mapped(t, tumbled(t, theirs, was), bench(c.kind, c.size, 2), nil)
		s := ofCharge(t, m, "balls")
		if s.Grade != fettle.CloseKin || !m.Ready {
			t.Fatalf("%s: %+v", c.kind, s)
		}
		if math.Abs(s.HoursNow.Value/(h*c.want)-1) > 1e-9 {
			t.Errorf("%s: %g h, want %g", c.kind, s.HoursNow.Value, h*c.want)
		}
		// The processes are as unsure as each other, so the interval scales with it.
		if r := s.HoursNow.LogSD() / was.LogSD(); math.Abs(r-1) > 0.02 {
			t.Errorf("%s: the interval %v is %.3f times that of %v", c.kind, s.HoursNow, r, was)
		}
	}
}

// The law itself, by hand. 1.931 h is what one process takes from 1.2 to 0.4 µm; another
// limit changes the way: T·ln((1.2 − 0.3)/(0.4 − 0.3)) = T·ln 9.
func TestHoursByHand(t *testing.T) {
	p := tumble.ProcessOf(bench(fettle.CeramicGeneral, 8, 1).Media[0], bench(fettle.CeramicGeneral, 8, 1).Vessels[0], fettle.Material{Class: fettle.ClassMildSteel})
	with := func(rl float64) tumble.Process {
		q := p
		q.LimitRaUM = fettle.LogNormal(rl, 0.35, "test")
		return q
	}
	for _, c := range []struct {
		rl, start, target, want, ends float64
	}{
		{0.2, 1.2, 0.4, steelT * math.Log(5), 0.4},
		{0.3, 1.2, 0.4, steelT * math.Log(9), 0.4},
		{0.2, 1.2, 0.1, steelT * math.Log(1/0.016), 0.216}, // no nearer than 8 % to the limit
		{0.2, 0.4, 0.39, steelT * 0.35, 0.39},              // until it lies evenly
		{0.2, 0.4, 0.5, steelT * 0.35, 0.4},                // it is there
		{0.5, 0.1, 0.4, 0.1 * steelT * math.Log(4), 0.4},   // roughening: 0.1 T (docs/physics.md)
		{0.2, 0, 0.4, steelT, 0.4},                         // no start is known
	} {
		got, ends := lawHours(with(c.rl), c.start, c.target)
		if math.Abs(got.Value/c.want-1) > 1e-9 || math.Abs(ends-c.ends) > 1e-9 {
			t.Errorf("from %g to %g with limit %g: %g h to %g, want %g to %g", c.start, c.target, c.rl, got.Value, ends, c.want, c.ends)
		}
	}
	// Their share of an interval goes and ours comes: 0.5² − 0.3² + 0.4² = 0.32.
	e := func(v, sd float64) fettle.Estimate { return fettle.LogNormal(v, sd, "x") }
	got := hoursHere(e(10, 0.5), e(4, 0.3), e(2, 0.4))
	if math.Abs(got.Value-5) > 1e-12 || math.Abs(got.LogSD()-math.Sqrt(0.32)) > 1e-9 {
		t.Error(got, got.LogSD())
	}
}

// Kin of the media: the nearest size of the same kind, and what it changes. Balls twice
// as large tend to 2^0.3 of the limit and take off 2^0.5 of the removal (docs/physics.md,
// What a charge does).
func TestKinOfMedia(t *testing.T) {
	theirs := bench(fettle.CeramicGeneral, 8, 1)
	r := tumbled(t, theirs, hours(2))
	ours := bench(fettle.CeramicGeneral, 16, 1)
	far, fine, dry := ours.Media[0], ours.Media[0], ours.Media[0]
	far.Name, far.SizeMM = "far", [2]float64{24, 24}
	fine.Name, fine.Kind, fine.SizeMM = "fine", fettle.CeramicFine, [2]float64{8, 8}
	dry.Name, dry.Dry, dry.SizeMM = "dry", true, [2]float64{8, 8}
	ours.Media = append([]fettle.Media{far, fine, dry}, ours.Media...)
	s := ofCharge(t, mapped(t, r, ours, nil), "balls")
	if s.Now != "tumble balls in tub" || s.Uses[0].Grade != fettle.CloseKin || s.Uses[1].Grade != fettle.SameThing {
		t.Fatalf("%+v", s)
	}
	for _, want := range []string{"limit Ra 0.25 µm in place of 0.20 µm", "1.41 times the removal", "1.00 times the time constant", "2 times as thick"} {
		if !strings.Contains(s.Uses[0].Says, want) {
			t.Errorf("%q is not in %q", want, s.Uses[0].Says)
		}
	}
	// From 1.2 to 0.4 towards 0.2·2^0.3.
	rl := 0.2 * math.Pow(2, 0.3)
	if want := 2 * math.Log((1.2-rl)/(0.4-rl)) / math.Log(5); math.Abs(s.HoursNow.Value/want-1) > 1e-9 {
		t.Errorf("%g h, want %g", s.HoursNow.Value, want)
	}
	// Of another kind but for the same work, last of all.
	ours.Media = []fettle.Media{dry, fine}
	if s := ofCharge(t, mapped(t, r, ours, nil), "balls"); s.Now != "tumble fine in tub" || s.Grade != fettle.CloseKin {
		t.Errorf("%+v", s)
	}
	ours.Media = []fettle.Media{dry}
	m := mapped(t, r, ours, nil)
	if s := ofCharge(t, m, "balls"); s.Now != "" || s.Grade != fettle.NoMatch || m.Ready || len(m.Missing) != 1 || !strings.Contains(m.Missing[0], "balls (ceramic general, sphere of 8.00 × 8.00 mm)") {
		t.Errorf("%+v %v", s, m.Missing)
	}
	// What tends to a rougher face than the finish allows is no stand.
	ours = bench(fettle.CeramicGeneral, 8, 2)
	ours.Media[0].LimitRaUM = fettle.Exactly(1.3, "test")
	if m := mapped(t, r, ours, nil); m.Ready || !strings.Contains(m.Missing[0], "rougher than the 1.2 µm that matte allows") {
		t.Error(m.Missing)
	}
}

// What a donor's log says of media and metal goes along to another vessel; what it says
// of the vessel does not. The sums are those of the room learn: 0.6 of the logarithm.
func TestTheDonorsLogGoesAlong(t *testing.T) {
	theirs := bench(fettle.CeramicGeneral, 8, 1)
	r := tumbled(t, theirs, hours(1))
	half := fettle.LogNormal(steelT/2, 0.05, "shop log (n = 20)")
	r.Steps[1].Learned = []fettle.Parameter{{Name: learn.NameTime, Unit: "h", Value: half, Prior: fettle.LogNormal(steelT, 0.7, "guess"), N: 20}}
	ours := bench(fettle.CeramicGeneral, 8, 2)
	ours.Vessels[0].VolumeL = 15 // of another make
	s := ofCharge(t, mapped(t, r, ours, nil), "balls")
	// Here T = 1.2/2 · 0.5^0.6 at a guess, there 0.6: 0.66 of the hours. That T was learned
	// without removal pulls a little.
	if want := math.Pow(0.5, 0.6) / 2 * 2; math.Abs(s.HoursNow.Value/want-1) > 0.12 {
		t.Errorf("%g h, want about %g", s.HoursNow.Value, want)
	}
	if !strings.Contains(s.HoursNow.Basis, "another shop's log") {
		t.Error(s.HoursNow.Basis)
	}
	// Of the same make, only faster, all of it goes along.
	if same := ofCharge(t, mapped(t, r, bench(fettle.CeramicGeneral, 8, 2), nil), "balls"); math.Abs(same.HoursNow.Value/0.5-1) > 1e-9 {
		t.Errorf("%g h, want 0.5", same.HoursNow.Value)
	}
	if plain := ofCharge(t, mapped(t, tumbled(t, theirs, hours(1)), ours, nil), "balls"); plain.HoursNow.Value >= s.HoursNow.Value {
		t.Error("a donor that is quicker than guessed in part by its vessel leaves more hours here than the speeds alone")
	}
}

// A smaller ball at the same stepover, by docs/physics.md, What a cutter leaves: for
// small stepovers h goes with 1/R and, at one cusp, minutes with 1/√R.
func TestAnotherBall(t *testing.T) {
	shelf := stock.Shelf()
	r := Of(made(t, shelf, hours(8), hours(12)), shelf, nil, "x")
	shelf.Cutters = slices.DeleteFunc(shelf.Cutters, func(c fettle.Cutter) bool { return c.Shape == fettle.Ball && c.DiameterMM != 4 && c.DiameterMM != 1 })
	m := mapped(t, r, shelf, nil)
	s := m.Steps[0]
	if s.Now != "pass ball-4" || s.Grade != fettle.CloseKin || m.Wishes[0].Step != "pass ball-4" {
		t.Fatalf("%+v", s)
	}
	says := strings.Join(s.Says, " ")
	// h = R − √(R² − s²/4) at s = 0.4 mm: 5.003 µm under R = 4 mm and 10.025 µm under 2 mm; s' = 2√(2Rh − h²) with R = 2 mm is 0.2829 mm.
	for _, want := range []string{"same stepover of 0.400 mm its cusps are 2.00 times as high, 10 µm in place of 5.0 µm", "take 0.283 mm, which is 1.41 times the minutes"} {
		if !strings.Contains(says, want) {
			t.Errorf("%q is not in %q", want, says)
		}
	}
	// Of the plain faces' pass nothing is wished, for the planner chooses it.
	if slices.ContainsFunc(m.Wishes, func(w fettle.StepWish) bool { return w.Step == "pass flat-6" }) {
		t.Error(m.Wishes)
	}
	shelf.Cutters = slices.DeleteFunc(shelf.Cutters, func(c fettle.Cutter) bool { return c.Shape == fettle.Ball && c.DiameterMM == 4 })
	if m := mapped(t, r, shelf, nil); m.Steps[0].Grade != fettle.NoMatch || m.Ready {
		t.Errorf("%+v", m.Steps[0])
	}
}

// Papers of two scales are matched by their grain alone, all of a ladder in one scale.
func TestPapers(t *testing.T) {
	shelf := stock.Shelf()
	r := Of(made(t, shelf, hours(8), hours(12)), shelf, nil, "x")
	at := func(m fettle.Mapping) (out []string) {
		for _, s := range m.Steps {
			if strings.HasPrefix(s.Was, "rub") {
				out = append(out, s.Now)
			}
		}
		return out
	}
	paper := func(name string, scale fettle.GritScale, number int, grain float64) fettle.Grit {
		e := fettle.Exactly(grain/100, "test")
		return fettle.Grit{Name: name, Scale: scale, Number: number, GrainUM: grain, RaUM: e, RzUM: e, PriceSheet: e}
	}
	// P240 has a mean grain of 58.5 µm and P400 of 35 µm (ISO 6344); CAMI 320 of 36 µm
	// (ANSI B74.18, from memory). The same number on the other scale is no match.
	shelf.Grits = []fettle.Grit{
		paper("C240", fettle.ScaleCAMI, 240, 53.5), paper("C400", fettle.ScaleCAMI, 400, 23.6), paper("C320", fettle.ScaleCAMI, 320, 36), paper("P400", fettle.ScaleP, 400, 35),
	}
	m := mapped(t, r, shelf, nil)
	if got := at(m); !slices.Equal(got, []string{"rub C240", "rub C320"}) {
		t.Error(got)
	}
	if says := m.Steps[4].Uses[0].Says; !strings.Contains(says, "36 µm beside") || !strings.Contains(says, "scales CAMI and P are not to be compared") {
		t.Error(says)
	}
	// Within a scale a number is the thing itself, under any name; else the nearest.
	shelf.Grits = []fettle.Grit{paper("red 240", fettle.ScaleP, 240, 58.5), paper("P320", fettle.ScaleP, 320, 46.2), paper("P500", fettle.ScaleP, 500, 30.2)}
	m = mapped(t, r, shelf, nil)
	if got := at(m); !slices.Equal(got, []string{"rub red 240", "rub P500"}) || m.Steps[3].Grade != fettle.SameThing || m.Steps[4].Grade != fettle.CloseKin {
		t.Error(got)
	}
	shelf.Grits = shelf.Grits[1:2]
	m = mapped(t, r, shelf, nil)
	if got := at(m); !slices.Equal(got, []string{"rub P320", "rub P320"}) || !strings.Contains(strings.Join(m.Steps[4].Says, " "), "leave one of the two out") {
		t.Error(got, m.Steps[4].Says)
	}
	n := 0
	for _, w := range m.Wishes {
		if w.Step == "rub P320" {
			n++
		}
	}
	if n != 1 {
		t.Errorf("wished %d times", n)
	}
	shelf.Grits = nil
	if m := mapped(t, r, shelf, nil); m.Ready || m.Steps[3].Grade != fettle.NoMatch {
		t.Error(m.Steps[3])
	}
}

func TestWhatIsMissingWorstFirst(t *testing.T) {
	shelf := stock.Shelf()
	r := Of(made(t, shelf, hours(8), hours(12)), shelf, nil, "x")
	m := mapped(t, r, &fettle.Shelf{}, nil)
	if m.Ready || len(m.Missing) != 9 || len(m.Wishes) != 1 {
		t.Fatalf("%d missing, wishes %v", len(m.Missing), m.Wishes)
	}
	for i, want := range []string{"tumble plastic", "tumble cob", "buff", "rub P240", "rub P400", "pass ball", "pass flat", "The material 1018", "The finish bright"} {
		if !strings.Contains(m.Missing[i], want) {
			t.Errorf("%d: %q, want one of %q", i, m.Missing[i], want)
		}
	}
	if !strings.Contains(m.Missing[7], "mild steel") || !strings.Contains(m.Missing[7], "class of hardness") {
		t.Error(m.Missing[7])
	}
	// The metal alone missing hinders no step, and its class is the recipe's.
	shelf.Materials = slices.DeleteFunc(shelf.Materials, func(x fettle.Material) bool { return x.Name == "1018" })
	m = mapped(t, r, shelf, nil)
	if !m.Ready || len(m.Missing) != 1 || *m.Steps[5].HoursNow != *m.Steps[5].HoursWas {
		t.Error(m.Missing)
	}
	// By another name it is there.
	shelf = stock.Shelf()
	for i := range shelf.Materials {
		if x := &shelf.Materials[i]; x.Name == "1018" {
			x.Name, x.Aliases = "plate", []string{"Mild Steel"}
		}
	}
	if m := mapped(t, r, shelf, nil); len(m.Missing) != 0 {
		t.Error(m.Missing)
	}
}

func TestLoadsOfTheNewVessel(t *testing.T) {
	r := tumbled(t, bench(fettle.CeramicGeneral, 8, 1), hours(2))
	r.Lot = 240
	small := bench(fettle.CeramicGeneral, 8, 1)
	small.Vessels[0].VolumeL = 3
	m := mapped(t, r, small, nil)
	s := ofCharge(t, m, "balls")
	// 0.85 of 3 l, 6 : 1 by loose volume: 2.55/7 = 0.364 l of parts that are 0.6 of their
	// heap, 8 cm³ each: 27 pieces; 240 make 9 loads (docs/physics.md, What goes in).
	if says := strings.Join(s.Says, " "); !strings.Contains(says, "there are 9 loads of at most 27 here") {
		t.Error(says)
	}
	small.Vessels[0].DiameterMM = 60 // 20 mm is more than a quarter
	if m := mapped(t, r, small, nil); m.Ready || !strings.Contains(m.Missing[0], "cannot turn over freely") {
		t.Error(m.Missing)
	}
	r.Piece = fettle.RecipePiece{}
	if m := mapped(t, r, small, nil); !m.Ready || !strings.Contains(strings.Join(m.Steps[1].Says, " "), "does not tell their size") {
		t.Error(m.Missing, m.Steps[1].Says)
	}
}

// In place of a rotary barrel a bowl, though a centrifugal barrel is faster; in place of
// a barrel of one make one of another that is faster, before a bowl.
func TestWhichVesselStands(t *testing.T) {
	shelf := stock.Shelf()
	r := Of(made(t, shelf, hours(8), hours(12)), shelf, nil, "x")
	ours := stock.Shelf()
	ours.Vessels = []fettle.Vessel{shelf.Vessels[3], shelf.Vessels[2]}
	m := mapped(t, r, ours, nil)
	if s := ofCharge(t, m, "plastic"); s.Now != "tumble plastic-fine-cone-10 in bowl" || !strings.Contains(s.Uses[1].Says, "5 times as fast") {
		t.Errorf("%+v", s)
	}
	slow, fast := shelf.Vessels[0], shelf.Vessels[0]
	slow.Name, slow.VolumeL = "slow", 6
	fast.Name, fast.VolumeL, fast.Speedup = "fast", 8, fast.Speedup.Scale(1.5)
	ours.Vessels = append(ours.Vessels, slow, fast)
	s := ofCharge(t, mapped(t, r, ours, nil), "plastic")
	if s.Now != "tumble plastic-fine-cone-10 in fast" || math.Abs(s.HoursNow.Value-8/1.5) > 1e-9 {
		t.Errorf("%+v", s)
	}
}

// A larger speed-up never gives more hours, whatever the start, the target, the media
// and what was learned.
func TestFasterIsNeverLonger(t *testing.T) {
	kinds := []fettle.MediaKind{fettle.CeramicGeneral, fettle.PlasticFine, fettle.Porcelain, fettle.Cob}
	rapid.Check(t, func(rt *rapid.T) {
		kind := rapid.SampledFrom(kinds).Draw(rt, "kind")
		theirs := rapid.Float64Range(0.1, 5).Draw(rt, "theirs")
		r := tumbled(t, bench(kind, 6, theirs), hours(rapid.Float64Range(0.2, 40).Draw(rt, "hours")))
		r.Steps[0].RaUM = fettle.Exactly(rapid.Float64Range(0.05, 3).Draw(rt, "start"), "x")
		r.Steps[1].RaUM = fettle.Exactly(rapid.Float64Range(0.05, 3).Draw(rt, "target"), "x")
		if rapid.Bool().Draw(rt, "learned") {
			r.Steps[1].Learned = []fettle.Parameter{
				{Name: learn.NameTime, Value: fettle.LogNormal(rapid.Float64Range(0.2, 8).Draw(rt, "T"), 0.2, "log"), N: 4},
				{Name: learn.NameLimit, Value: fettle.LogNormal(rapid.Float64Range(0.05, 0.6).Draw(rt, "RL"), 0.2, "log"), N: 4},
			}
		}
		slow := theirs // where all but the speed may be the same
		if rapid.Bool().Draw(rt, "other") {
			slow = rapid.Float64Range(0.1, 5).Draw(rt, "slow")
		}
		fast := slow * rapid.Float64Range(1, 10).Draw(rt, "faster")
		size := rapid.SampledFrom([]float64{3, 6, 12}).Draw(rt, "size")
		litres := rapid.SampledFrom([]float64{10, 14}).Draw(rt, "litres")
		at := func(speed float64) fettle.MappedStep {
			ours := bench(kind, size, speed)
			ours.Vessels[0].VolumeL = litres
			return mapped(t, r, ours, nil).Steps[1]
		}
		a, b := at(slow), at(fast)
		if (a.HoursNow == nil) != (b.HoursNow == nil) {
			rt.Fatalf("%v and %v", a, b)
		}
		if a.HoursNow != nil && b.HoursNow.Value > a.HoursNow.Value*(1+1e-9) {
			rt.Fatalf("%g h at a speed of %g and %g h at %g", a.HoursNow.Value, slow, b.HoursNow.Value, fast)
		}
		for _, s := range []fettle.MappedStep{a, b} {
			if s.HoursNow != nil && (!s.HoursNow.Valid() || !(s.HoursNow.Low > 0)) {
				rt.Fatal(s.HoursNow)
			}
		}
	})
}

func TestRecipesFromElsewhereAreChecked(t *testing.T) {
	good := tumbled(t, bench(fettle.CeramicGeneral, 8, 1), hours(2))
	for what, spoil := range map[string]func(r *fettle.Recipe){
		"no material":   func(r *fettle.Recipe) { r.Material.Name = "" },
		"density":       func(r *fettle.Recipe) { r.Material.Density = 0 },
		"no finish":     func(r *fettle.Recipe) { r.Look.Name = "" },
		"band of Ra":    func(r *fettle.Recipe) { r.Look.RaUM = fettle.Estimate{} },
		"no steps":      func(r *fettle.Recipe) { r.Steps = nil },
		"has 201 steps": func(r *fettle.Recipe) { r.Steps = make([]fettle.RecipeStep, 201) },
		"size":          func(r *fettle.Recipe) { r.Piece.SizeMM[1] = math.NaN() },
		"lot":           func(r *fettle.Recipe) { r.Lot = -1 },
		"size_mm":       func(r *fettle.Recipe) { r.Steps[1].Media.SizeMM[0] = 0 },
		"shape":         func(r *fettle.Recipe) { r.Steps[1].Media.Shape = "star" },
		"speedup":       func(r *fettle.Recipe) { r.Steps[1].Vessel.Speedup.Low = -1 },
		"grain_um":      func(r *fettle.Recipe) { r.Steps[0].Grit.GrainUM = math.Inf(1) },
		"hours":         func(r *fettle.Recipe) { r.Steps[1].Charge.Hours.Low = 9 },
		"a number of":   func(r *fettle.Recipe) { r.Steps[1].RaUM.Value = math.NaN() },
		"was learned":   func(r *fettle.Recipe) { r.Steps[1].Learned = []fettle.Parameter{{Name: "time constant"}} },
		"beyond all": func(r *fettle.Recipe) {
			r.Steps[1].Learned = []fettle.Parameter{{Name: "time constant", Value: fettle.Exactly(1e-300, "log")}}
		},
		"the speed-up":  func(r *fettle.Recipe) { r.Steps[1].Vessel.Speedup.High = 1e12 },
		"corner radius": func(r *fettle.Recipe) { r.Steps[0].Cutter = &fettle.Cutter{Name: "c", DiameterMM: 2, CornerMM: 3} },
		"limit_ra_um":   func(r *fettle.Recipe) { r.Steps[0].Mop = &fettle.Mop{Name: "m", ContactMM: 3} },
	} {
		r := tumbled(t, bench(fettle.CeramicGeneral, 8, 1), hours(2))
		spoil(&r)
		_, err := Map(context.Background(), r, stock.Shelf(), nil)
		if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), what) {
			t.Errorf("%s: %v", what, err)
		}
	}
	if _, err := Map(context.Background(), good, stock.Shelf(), nil); err != nil {
		t.Error(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Map(ctx, good, stock.Shelf(), nil); err == nil {
		t.Error("goes on when stopped")
	}
}

// A step that only names its things is matched by name, and its hours are left open.
func TestThingsThatAreOnlyNamed(t *testing.T) {
	shelf := stock.Shelf()
	r := Of(made(t, shelf, hours(8), hours(12)), &fettle.Shelf{}, nil, "x")
	m := mapped(t, r, shelf, nil)
	if !m.Ready {
		t.Error(m.Missing)
	}
	for _, s := range m.Steps {
		if len(s.Uses) > 0 && (s.Grade != fettle.CloseKin || s.Now != s.Was || s.HoursNow != nil) {
			t.Errorf("%+v", s)
		}
	}
}
