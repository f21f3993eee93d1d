package envelope

import (
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/tumble"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// plate is 118 × 42 × 7 mm, drawn at 45° in its plane: the box about its drawing is
// (118 + 42)/√2 on two sides.
func plate() *fettle.Survey {
	askew := (118 + 42) / math.Sqrt2
	return &fettle.Survey{
		File: "plate.step", Closed: true, VolumeMM3: 30000,
		SizeMM: [3]float64{askew, 7, askew}, PrincipalMM: [3]float64{118, 42, 7},
		Openings: []fettle.Opening{
			{ID: "hole-1", Kind: fettle.Hole, Through: true, WidthMM: 4.2},
			{ID: "hole-2", Kind: fettle.Hole, Through: true, WidthMM: 0.8},
			{ID: "hole-3", Kind: fettle.Hole, WidthMM: 0.5},
			{ID: "slot-1", Kind: fettle.Slot, Through: true, WidthMM: 0.9},
			{ID: "gap-1", Kind: fettle.Gap, Through: true, WidthMM: 0.3},
		},
	}
}

func brass() fettle.Brief { return fettle.Brief{Material: "naval brass", Finish: "satin", Lot: 12} }

func judged(t *testing.T, env fettle.Envelope, s *fettle.Survey, b fettle.Brief) fettle.Fit {
	t.Helper()
	fit, err := Judge(env, s, b, stock.Shelf())
	if err != nil {
		t.Fatal(err)
	}
	return fit
}

func TestEveryLimitIsSaidWithBothNumbers(t *testing.T) {
	env := fettle.Envelope{
		MaxMM: [3]float64{100, 40, 20}, MaxKg: 0.2, Materials: []string{"304", "6061"}, Finishes: []string{"matte", "bright"},
		MinLot: 20, MaxLot: 200, HolesUnderMM: 1,
	}
	got := judged(t, env, plate(), brass())
	want := fettle.Fit{Open: []fettle.Refusal{}, Because: []fettle.Refusal{
		{Limit: "max_mm", Says: "118 mm long, turned to its principal axes; the shop takes up to 100 mm"},
		{Limit: "max_mm", Says: "42 mm wide, turned to its principal axes; the shop takes up to 40 mm"},
		// 30 cm³ of 8.41 g/cm³, the density of C46400 in the Copper Development
		// Association's table, from memory.
		{Limit: "max_kg", Says: "0.252 kg of naval brass; the shop takes up to 0.2 kg"},
		{Limit: "materials", Says: "of naval brass; the shop works 304 and 6061"},
		{Limit: "finishes", Says: "finished satin; the shop finishes matte or bright"},
		{Limit: "min_lot", Says: "a lot of 12; the shop takes lots from 20"},
		{Limit: "holes_under_mm", Says: "hole-2 0.8 mm wide and slot-1 0.9 mm wide; the shop works through holes and slots from 1 mm"},
	}}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if fit := judged(t, fettle.Envelope{}, plate(), brass()); !fit.Ours || len(fit.Because)+len(fit.Open) != 0 {
		t.Errorf("an empty envelope takes everything, but: %v", fit)
	}
}

// A cube's principal axes are no axes at all, and a box along a diagonal is √3 longer.
func TestTheBetterBoxCounts(t *testing.T) {
	s := &fettle.Survey{SizeMM: [3]float64{50, 50, 50}, PrincipalMM: [3]float64{50 * math.Sqrt(3), 70, 70}, VolumeMM3: 125000}
	if fit := judged(t, fettle.Envelope{MaxMM: [3]float64{50, 50, 50}}, s, brass()); !fit.Ours {
		t.Error(fit.Because)
	}
	fit := judged(t, fettle.Envelope{MaxMM: [3]float64{49.9999, 49.9999, 49.9999}}, s, brass())
	if len(fit.Because) != 3 || fit.Because[0].Says != "50 mm long, as it is drawn; the shop takes up to 49.9999 mm" {
		t.Error(fit.Because)
	}
	// As thick as it is wide, and one limit only.
	if fit := judged(t, fettle.Envelope{MaxMM: [3]float64{0, 0, 40}}, s, brass()); len(fit.Because) != 1 || !strings.Contains(fit.Because[0].Says, "thick") {
		t.Error(fit.Because)
	}
	if fit := judged(t, fettle.Envelope{MinMM: 90}, s, brass()); len(fit.Because) != 1 || fit.Because[0].Limit != "min_mm" {
		t.Error(fit.Because)
	}
	if _, err := Judge(fettle.Envelope{}, &fettle.Survey{File: "x.stl"}, brass(), stock.Shelf()); fettle.CodeOf(err) != fettle.BadFile {
		t.Error(err)
	}
}

func TestEdgeValues(t *testing.T) {
	s := plate()
	s.VolumeMM3 = 1e6 / 8.41 * 0.2 // 0.2 kg
	at := fettle.Envelope{MaxMM: [3]float64{118, 42, 7}, MinMM: 118, MaxKg: 0.2000001, MinLot: 12, MaxLot: 12, HolesUnderMM: 0.8}
	if fit := judged(t, at, s, brass()); !fit.Ours {
		t.Errorf("a part on its limits is the shop's, but: %v", fit.Because)
	}
	s.PrincipalMM[0] = math.Nextafter(118, 200)
	fit := judged(t, at, s, brass())
	if len(fit.Because) != 1 || fit.Because[0].Says == "118 mm long, turned to its principal axes; the shop takes up to 118 mm" {
		t.Error(fit.Because)
	}
}

func TestNamesByAliasAndFold(t *testing.T) {
	for _, n := range []string{"Naval-Brass", "naval brass", "C46400"} {
		for _, m := range []string{"naval brass", "c46400"} {
			b := brass()
			b.Material = m
			if fit := judged(t, fettle.Envelope{Materials: []string{"304", n}, Finishes: []string{"Satin"}}, plate(), b); !fit.Ours {
				t.Errorf("%s for %s: %v", m, n, fit.Because)
			}
		}
	}
	b := brass()
	b.Finish = "stonewashed" // the title of stonewash
	if fit := judged(t, fettle.Envelope{Finishes: []string{"stone wash"}}, plate(), b); !fit.Ours {
		t.Error(fit.Because)
	}
	b = fettle.Brief{} // nothing is asked yet
	if fit := judged(t, fettle.Envelope{Materials: []string{"304"}, Finishes: []string{"satin"}, MinLot: 5, MaxKg: 0.001}, plate(), b); !fit.Ours || len(fit.Open) != 0 {
		t.Error(fit)
	}
}

// Without a volume the block that the part is cut from decides, or nothing does.
func TestMassWithoutVolume(t *testing.T) {
	s := plate()
	s.VolumeMM3 = 0
	block := 118 * 42 * 7 * 8.41e-6 // 0.2918 kg
	if fit := judged(t, fettle.Envelope{MaxKg: block * 1.001}, s, brass()); !fit.Ours || len(fit.Open) != 0 {
		t.Error(fit)
	}
	fit := judged(t, fettle.Envelope{MaxKg: block * 0.999}, s, brass())
	if !fit.Ours || len(fit.Open) != 1 || fit.Open[0].Limit != "max_kg" {
		t.Error(fit)
	}
	b := brass()
	b.Material = "unobtainium"
	if fit := judged(t, fettle.Envelope{MaxKg: 1}, plate(), b); !fit.Ours || len(fit.Open) != 1 {
		t.Error(fit)
	}
}

func TestValidate(t *testing.T) {
	for _, c := range []struct {
		env  fettle.Envelope
		says string
	}{
		{fettle.Envelope{MaxMM: [3]float64{50, 60, 0}}, "longest side first"},
		{fettle.Envelope{MaxMM: [3]float64{50, 0, 60}}, "longest side first"},
		{fettle.Envelope{MaxMM: [3]float64{math.NaN()}}, "max_mm"},
		{fettle.Envelope{MaxKg: -1}, "max_kg"},
		{fettle.Envelope{MinMM: math.Inf(1)}, "min_mm"},
		{fettle.Envelope{MinMM: 60, MaxMM: [3]float64{50}}, "which none is"},
		{fettle.Envelope{MinLot: 6, MaxLot: 5}, "which none is"},
		{fettle.Envelope{MinLot: -6}, "min_lot"},
		{fettle.Envelope{HolesUnderMM: -0.1}, "holes_under_mm"},
		{fettle.Envelope{Materials: []string{"304", " "}}, "empty name"},
		{fettle.Envelope{Finishes: []string{"stonewash", "Stone Wash"}}, "twice"},
	} {
		err := Validate(c.env)
		if fettle.CodeOf(err) != fettle.Invalid || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v", c.env, err)
		}
		if _, err := Judge(c.env, plate(), brass(), stock.Shelf()); fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("judged all the same: %v", err)
		}
	}
	if err := Validate(fettle.Envelope{MaxMM: [3]float64{0, 50, 50}, MinLot: 5}); err != nil {
		t.Error(err)
	}
}

// What is proposed holds, and is what the rooms below say: the built-in shelf's larger mill
// has 500 × 400 × 400 mm, 200 of it for the part; its widest vessel is a barrel or
// bowl in which a longer part would not turn.
func TestDefault(t *testing.T) {
	shelf := stock.Shelf()
	env := Default(shelf)
	if err := Validate(env); err != nil {
		t.Fatal(err)
	}
	turns := func(mm float64) bool {
		for _, v := range shelf.Vessels {
			if !tumble.TooBig([3]float64{mm, 1, 1}, v) {
				return true
			}
		}
		return false
	}
	if !turns(env.MaxMM[0]) || turns(env.MaxMM[0]+1.01) {
		t.Errorf("longest side %g", env.MaxMM[0])
	}
	if len(env.Materials) != len(shelf.Materials) || len(env.Finishes) != len(shelf.Looks) || env.MaxKg != 9 {
		t.Errorf("%+v", env)
	}
	shelf.Vessels = nil
	if d := cmp.Diff([3]float64{500, 400, 200}, Default(shelf).MaxMM); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff(fettle.Envelope{Materials: []string{}, Finishes: []string{}}, Default(&fettle.Shelf{})); d != "" {
		t.Error(d)
	}
}

// Widening any limit never adds a refusal.
func TestWideningNeverRefuses(t *testing.T) {
	names := []string{"naval brass", "304", "6061", "C46400", "grade 5"}
	looks := []string{"satin", "matte", "bright"}
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Float64Range(0.1, 200)
		s := &fettle.Survey{File: "x", VolumeMM3: rapid.SampledFrom([]float64{0, 10, 1e4, 1e6}).Draw(t, "volume")}
		for k := range 3 {
			s.SizeMM[k], s.PrincipalMM[k] = side.Draw(t, "size"), side.Draw(t, "principal")
		}
		for i := range rapid.IntRange(0, 4).Draw(t, "openings") {
			s.Openings = append(s.Openings, fettle.Opening{ID: string(rune('a' + i)), Kind: fettle.Hole, Through: rapid.Bool().Draw(t, "through"), WidthMM: side.Draw(t, "width") / 20})
		}
		b := fettle.Brief{Material: rapid.SampledFrom(names).Draw(t, "material"), Finish: rapid.SampledFrom(looks).Draw(t, "finish"), Lot: rapid.IntRange(1, 50).Draw(t, "lot")}
		var env fettle.Envelope
		if rapid.Bool().Draw(t, "sizes") {
			a := side.Draw(t, "max")
			env.MaxMM = [3]float64{a, a * rapid.Float64Range(0.1, 1).Draw(t, "second"), 0}
			env.MaxMM[2] = env.MaxMM[1] * rapid.Float64Range(0.1, 1).Draw(t, "third")
			env.MinMM = a * rapid.Float64Range(0, 1).Draw(t, "min")
		}
		env.MaxKg = rapid.Float64Range(0, 2).Draw(t, "kg")
		env.MinLot = rapid.IntRange(0, 20).Draw(t, "min lot")
		env.MaxLot = env.MinLot + rapid.IntRange(1, 40).Draw(t, "more")
		env.HolesUnderMM = rapid.Float64Range(0, 6).Draw(t, "holes")
		env.Materials = rapid.SliceOfNDistinct(rapid.SampledFrom(names), 0, 3, fettle.FoldName).Draw(t, "materials")
		env.Finishes = rapid.SliceOfNDistinct(rapid.SampledFrom(looks), 0, 2, fettle.FoldName).Draw(t, "finishes")

		wide := env
		grow := rapid.Float64Range(1, 3).Draw(t, "grow")
		switch rapid.IntRange(0, 9).Draw(t, "which") {
		case 0:
			for k := range wide.MaxMM {
				wide.MaxMM[k] *= grow
			}
		case 1: // no limit at all for one side
			wide.MaxMM[rapid.IntRange(0, 2).Draw(t, "side")] = 0
		case 2:
			wide.MinMM /= grow
		case 3:
			wide.MaxKg *= grow
		case 4:
			wide.MinLot /= 2
		case 5:
			wide.MaxLot += 7
		case 6:
			wide.HolesUnderMM /= grow
		case 7:
			if len(wide.Materials) > 0 {
				wide.Materials = append(append([]string{}, wide.Materials...), "another")
			}
		case 8:
			wide.Materials, wide.Finishes = nil, nil
		case 9:
			wide.MaxKg, wide.MaxLot = 0, 0
		}
		count := func(env fettle.Envelope) map[string]int {
			fit, err := Judge(env, s, b, stock.Shelf())
			if err != nil {
				t.Fatal(err)
			}
			if fit.Ours != (len(fit.Because) == 0) {
				t.Fatalf("%+v", fit)
			}
			n := map[string]int{}
			for _, r := range fit.Because {
				n[r.Limit]++
			}
			return n
		}
		before, after := count(env), count(wide)
		for k, n := range after {
			if n > before[k] {
				t.Fatalf("%s is refused %d times in place of %d by\n%+v\nin place of\n%+v", k, n, before[k], wide, env)
			}
		}
	})
}
