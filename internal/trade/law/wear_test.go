package law

import (
	"math"
	"testing"

	"fettle"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/mark"
	"fettle/internal/trade/rub"
	"fettle/internal/trade/tumble"

	"pgregory.net/rapid"
)

// level is the height to which parabolic cusps of height 1 come down when a mean of x
// comes off their peaks: (1 − u) − ⅔(1 − u^{3/2}) = x, by bisection.
func level(x float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		u := (lo + hi) / 2
		if (1-u)-(1-math.Pow(u, 1.5))*2/3 > x {
			lo = u
		} else {
			hi = u
		}
	}
	return hi
}

// passed is a mark as x µm off by a stiff block leave it: none where it is gone.
func passed(s *Surface, x, contactMM float64) *Mark {
	// A time constant this short leaves all to truncation.
	tool := sure(tumble.Rates{T: 1e-9, RL: 0.2, Ms: 1})
	tool.ContactMM = contactMM
	out := s.Worked(tool, []float64{x})
	if len(out.Marks) == 0 {
		return nil
	}
	return &out.Marks[0]
}

// TestTruncationOfCusps: a mean of a third of their height erases parabolic cusps, and
// part of the way they stand as high as the closed form says.
func TestTruncationOfCusps(t *testing.T) {
	const h, a = 6, 3000.0 // a contact that is long against 0.3 mm
	for _, x := range []float64{0.01, 0.1, 0.5, 1, 1.5, 1.9, 1.99} {
		m := passed(bare(0.2, cusps(h, 0.3)), x, a)
		if m == nil {
			t.Errorf("gone after %v µm", x)
			continue
		}
		u := level(x / h)
		near(t, "left", m.Left[0], u, 3e-4)
		near(t, "slope", m.Slope(0), cuspSlope(h, 0.3)*math.Pow(u, 0.75), 0.02)
		// In two goes as in one.
		two := passed(bare(0.2, *passed(bare(0.2, cusps(h, 0.3)), x/3, a)), x*2/3, a)
		near(t, "in two goes", two.Left[0], m.Left[0], 1e-9)
	}
	if m := passed(bare(0.2, cusps(h, 0.3)), 2.0001, a); m != nil {
		t.Errorf("%v left after a third of the height", m.Left[0])
	}
}

// cuspSlope is the rms slope of z = h(2t/λ)², mrad.
func cuspSlope(um, mm float64) float64 { return 4 * um / (math.Sqrt(3) * mm) }

// TestTruncationOfAMeasuredPattern: a map of a triangle wave. Down to level u a mean of
// (1 − u)²/2 comes off it, half its height in all.
func TestTruncationOfAMeasuredPattern(t *testing.T) {
	const cells, period, h = 1200, 200, 4.0 // µm
	z := make([]float32, cells*3)
	for i := range z {
		at := float64(i%period) / period
		z[i] = float32(h / 1000 * math.Abs(2*at-1))
	}
	c, um, err := mark.Measured(&relief.Map{Grid: relief.Grid{W: cells, H: 3, DX: 0.002, DY: 0.002}, Z: z})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "height", um, h, 0.02*h)
	whole := newMark(Cusps, 0.4, "along", c, []float64{um})
	near(t, "slope", whole.Slope(0), h/0.2, 0.03*h/0.2) // h over half a period
	for _, x := range []float64{0.1, 0.5, 1, 1.5} {
		m := passed(bare(0.2, whole), x, 4000)
		near(t, "left", m.Left[0], 1-math.Sqrt(2*x/h), 0.015)
		near(t, "slope left", m.Slope(0)/whole.Slope(0), math.Sqrt(1-math.Sqrt(2*x/h)), 0.02)
	}
	if m := passed(bare(0.2, whole), 0.51*h, 4000); m != nil {
		t.Errorf("%v left after half the height", m.Left[0])
	}
}

// TestLongWavesAreFollowed: of what comes off under a contact of 1.5 mm a wave of 10 mm
// loses 1/(1 + (10/1.5)²) = 0.022 to levelling and keeps the rest, though the face
// has receded by more than its height.
func TestLongWavesAreFollowed(t *testing.T) {
	const share = 1 / (1 + 100/2.25)
	for _, x := range []float64{1, 6, 12} {
		m := passed(bare(0.2, cusps(6, 10)), x, 1.5)
		if m == nil {
			t.Errorf("a long wave is gone after %v µm", x)
			continue
		}
		near(t, "levelled", m.takes[0], share*x/6, 1e-9)
		near(t, "left", m.Left[0], level(share*x/6), 1e-3)
	}
	// Under media at their pace, for one time constant.
	tool := sure(tumble.Rates{T: 2, RL: 0.2, Ms: 2})
	tool.ContactMM = 1.5
	out := bare(0.2, cusps(6, 10)).Worked(tool, []float64{2})
	near(t, "left by media", out.Marks[0].Left[0], math.Exp(-share)*(1-share*4/6), 1e-9)
	if h := bare(0.2, cusps(60, 10)).Hours(tool, Until{Seen: 0.05, MostH: 10}); h[0] != 10 {
		t.Errorf("a wave that stays is gone after %v h", h[0])
	}
	// And a grit on a pad does not set out to erase it.
	deepest, removal := bare(0.2, cusps(6, 20)).Depth(rub.SoftPad)
	near(t, "deepest", deepest[0], 1, 1e-9)
	near(t, "removal", removal[0], 0.5, 1e-9)
}

// TestMediaEraseWithinTheirBounds: never sooner than truncation allows, never later
// than when the face has receded to the bottom of the valleys, in any number of goes.
func TestMediaEraseWithinTheirBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := math.Exp(rapid.Float64Range(-3, 3).Draw(t, "log height"))
		mk := cusps(h, rapid.Float64Range(0.02, 0.5).Draw(t, "wave"))
		if rapid.Bool().Draw(t, "scratches") {
			mk.Curve = mark.Furrows()
		}
		tool := sure(tumble.Rates{
			T: math.Exp(rapid.Float64Range(-4, 4).Draw(t, "log T")), RL: 0.3,
			Ms: math.Exp(rapid.Float64Range(-4, 3).Draw(t, "log Ms")), Mt: rapid.SampledFrom([]float64{0, 1}).Draw(t, "Mt"),
		})
		s := bare(0.5, mk)
		eta := mark.Levelling(mk.WaveMM, tool.ContactMM)
		for range rapid.IntRange(1, 4).Draw(t, "goes") {
			s = s.Worked(tool, []float64{rapid.Float64Range(0, 3*h/tool.rates[0].Ms).Draw(t, "hours")})
			x := s.Removed[0] * eta / h
			if len(s.Marks) == 0 {
				if x < mk.Curve.Mean()*(1-1e-9) {
					t.Fatalf("gone after %v heights", x)
				}
				return
			}
			left := s.Marks[0].Left[0]
			if least := mk.Curve.Left(x).Height; left < least-1e-9 || left > 1 || left > 1-x+1e-9 {
				t.Fatalf("%v left after %v heights; truncation leaves %v", left, x, least)
			}
		}
	})
}

// TestWhatAGritErases: on cusps a third of the highest in mean; on the scratches of
// another grit half the depth of their furrows, which is the Rz across the lay.
func TestWhatAGritErases(t *testing.T) {
	w := Sample(48)
	s := milled(w, 12)
	p240, p320 := NewPaper(w, plate, grit(t, "P240"), rub.StiffBlock, rub.Pace()), NewPaper(w, plate, grit(t, "P320"), rub.StiffBlock, rub.Pace())
	first, minutes, take := s.Rubbed(p240, "across")
	deepest, _ := first.Depth(rub.StiffBlock)
	second, _, _ := first.Rubbed(p320, "along")
	for k := range w.N() {
		near(t, "deepest on cusps", take[k], s.Marks[0].Height[k], 1e-9)
		near(t, "mean off cusps", first.Removed[k], s.Marks[0].Height[k]/3, 1e-3)
		near(t, "deepest on scratches", deepest[k], p240.rz[k], 1e-9)
		near(t, "mean off scratches", second.Removed[k]-first.Removed[k], p240.rz[k]/2, 1e-5*p240.rz[k])
		if minutes[k] <= 0 || first.Edge[k] < s.Edge[k] {
			t.Fatalf("%v min, edge %v", minutes[k], first.Edge[k])
		}
	}
	for _, out := range []*Surface{first, second} {
		if len(out.Marks) != 1 || !out.Own || !out.Marks[0].Fine {
			t.Errorf("a grit leaves %d marks", len(out.Marks))
		}
	}
	if &second.Ra[0] != &p320.ra[0] || second.Lay != "along" || first.Lay != "across" {
		t.Error("the texture is not that of the last grit")
	}
	// The minutes are those of the law by hand: its pace and a change of paper on top.
	g := grit(t, "P240")
	pace, change := w.Of("pace of sanding", "×", rub.Pace()), w.Of("change of paper", "min", rub.Change())
	near(t, "minutes", minutes[7], rub.Minutes(plate, g, rub.StiffBlock, take[7], first.Removed[7])*pace[7]+change[7], 1e-9)
	// Facets on the cusps add to what must go.
	both := Cut(w, Pass{Cause: Cusps, WaveMM: 0.3, HeightUM: 12, Curve: mark.Parabola(), FacetMM: 0.6, FacetUM: 3})
	deepest, removal := both.Depth(rub.StiffBlock)
	near(t, "deepest with facets", deepest[3], both.Marks[0].Height[3]+3, 1e-9)
	near(t, "mean with facets", removal[3], both.Marks[0].Height[3]/3+1, 2e-3)
	if out, _, _ := both.Rubbed(p240, "across"); len(out.Marks) != 1 {
		t.Error("facets stand after a grit")
	}
}

// TestRoughnessOfPaperIsTheTables: P240 on austenitic stainless leaves Ra 0.00407·d^1.116
// with d its grain of 60 µm, 0.39 µm (fit to Lexikon der Pharmatechnologie, 2013).
func TestRoughnessOfPaperIsTheTables(t *testing.T) {
	w := Sample(100)
	f := plate
	f.Class = fettle.ClassStainless
	p := NewPaper(w, f, grit(t, "P240"), rub.StiffBlock, rub.Pace())
	near(t, "Ra", w.Median(p.ra), 0.00407*math.Pow(60, 1.116), 0.005)
	near(t, "Rz", w.Median(p.Furrows()), 0.00523*math.Pow(60, 1.335), 0.015)
	out, _, _ := bare(0.2).widened(w).Rubbed(p, "along")
	near(t, "measured, with the furrows counted once", w.Median(out.Ra), out.RaUM("").Value, 1e-12)
}

// widened is a face of one world in many.
func (s *Surface) widened(w *Worlds) *Surface {
	all := func(x float64) []float64 {
		v := make([]float64, w.N())
		for k := range v {
			v[k] = x
		}
		return v
	}
	return &Surface{W: w, Ra: all(s.Ra[0]), WaveMM: s.WaveMM, Lay: s.Lay, Removed: all(0), Edge: all(0), Burr: all(0)}
}

// TestGritsThatTheShopKnows: a log knows the pace of one grit and not of another. Each
// keeps its own, and both are out together.
func TestGritsThatTheShopKnows(t *testing.T) {
	w := Sample(50)
	known := grit(t, "P320")
	known.RaUM = fettle.Guess(0.3, 0.27, 0.33, "shop log (n = 9)")
	pace := fettle.Guess(1.4, 1.2, 1.6, "shop log (n = 9)")
	a, b := NewPaper(w, plate, grit(t, "P240"), rub.StiffBlock, rub.Pace()), NewPaper(w, plate, known, rub.StiffBlock, pace)
	got := w.Sum(b.pace, "test")
	near(t, "pace", got.Value, 1.4, 0.01)
	near(t, "slowest pace", got.High, 1.6, 0.01)
	near(t, "Ra", w.Sum(b.ra, "test").High, 0.33*rub.Depth(plate.Class), 0.005)
	for k := range w.N() {
		if (a.pace[k] > 1) != (b.pace[k] > 1.4) || (a.ra[k] > w.Median(a.ra)) != (b.ra[k] > w.Median(b.ra)) {
			t.Fatal("two grits are not out together")
		}
	}
}
