package proof

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/cusp"
)

func level(x, y float64) float64 { return 0 }

// levelProgram is a good program for an 8 × 5 mm plate.
func levelProgram() *program {
	return begin().head("G21").zigzag(10, 6, 0.3, 10, false, level)
}

func TestWrongOffset(t *testing.T) {
	p := begin()
	p.offset = "G55"
	text := p.head("G21").zigzag(10, 6, 0.3, 10, false, level).end()
	got, _ := prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "offset", lineOf(t, text, "G0 X0 Y0"), "works in G55", "has the part in G54")
	if got.Offset != "G55" || len(got.Offsets) != 1 || got.CuspUM == nil {
		t.Errorf("offset %q of %v, cusps %v: the rest should be proved as if it were right", got.Offset, got.Offsets, got.CuspUM)
	}
	// A program in both: G54 is proved, G55 told.
	text = levelProgram().line("G55\nG0 X0 Y0\nG1 Z1. F200\nG1 X3.").end()
	got, _ = prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "offset", lineOf(t, text, "G55")+1, "works in G55")
	if got.Offset != "G54" || len(got.Offsets) != 2 {
		t.Errorf("offset %q of %v", got.Offset, got.Offsets)
	}
	// Extended offsets are the same however they are spaced.
	s := shopSetup()
	s.Offset = "g54.1p3"
	p = begin()
	p.offset = "G54.1 P3"
	got, _ = prove(t, p.head("G21").zigzag(10, 6, 0.3, 10, false, level).end(), platePart(t, 8, 5, 4), s, 0.05)
	noWrong(t, got)
}

// Numbers in inches under G21, and in millimetres under G20.
func TestUnitsMixedUp(t *testing.T) {
	part := platePart(t, 60, 40, 8)
	asInches := strings.NewReplacer("Z20.", "Z0.8", "F1200", "F47.", "F300", "F12.")
	inches := asInches.Replace(begin().head("G21").zigzag(62/25.4, 42/25.4, 0.3/25.4, 62/25.4, false, level).end())
	got, _ := prove(t, inches, part, shopSetup(), 0.1)
	mustFind(t, got, fettle.Wrong, "units", -1, "these numbers look like inches", "25.4")
	if got.CuspUM != nil {
		t.Error("a surface is shown that cannot be believed")
	}
	mm := begin().head("G20").zigzag(62, 42, 0.3, 62, false, level).end()
	got, _ = prove(t, mm, part, shopSetup(), 0.1)
	mustFind(t, got, fettle.Wrong, "units", -1, "these numbers look like millimetres")
	mustFind(t, got, fettle.Wrong, "travel", -1)
	// The same in good inches is not blamed.
	good := begin().head("G20").zigzag(62/25.4, 42/25.4, 1/25.4, 62/25.4, false, level).end()
	got, _ = prove(t, asInches.Replace(good), part, shopSetup(), 0.1)
	noWrong(t, got)
	// A small pocket in the middle, at a mill's feeds, is not called wrong.
	got, _ = prove(t, begin().head("G21").zigzag(2.4, 1.6, 0.3, 2.4, false, level).end(), part, shopSetup(), 0.1)
	noWrong(t, got)
	mustFind(t, got, fettle.Check, "units", 0, "may be inches")
	got, _ = prove(t, asInches.Replace(good), part, shopSetup(), 0.1)
	if got.Units != "inch" {
		t.Errorf("units %q", got.Units)
	}
	near(t, "feed box", got.FeedBox.X[1], 31, 1e-3)
	// Without a part the stock serves.
	s := shopSetup()
	s.Stock = &fettle.SetupStock{Lo: &[3]float64{-31, -21, -8}, Hi: &[3]float64{31, 21, 0.3}}
	got, _ = prove(t, inches, nil, s, 0)
	mustFind(t, got, fettle.Wrong, "units", -1, "these numbers look like inches")
}

// Chords of a known tolerance on a round path: length and turn as the closed
// form, within 1 %.
func TestFacetsOfAKnownTolerance(t *testing.T) {
	for _, c := range []struct{ rho, tol float64 }{{10, 0.001}, {25, 0.005}, {8, 0.0002}} {
		f, err := cusp.ChordFacet(c.rho, c.tol)
		if err != nil {
			t.Fatal(err)
		}
		p := begin().head("G21").line("G0 X%.5f Y0\nG0 Z1.\nG1 Z-1. F300", c.rho)
		n := int(2 * math.Pi / f.Turn)
		for i := 1; i <= n; i++ {
			sin, cos := math.Sincos(float64(i) * f.Turn)
			p.line("G1 X%.5f Y%.5f F900", c.rho*cos, c.rho*sin)
		}
		got, _ := prove(t, p.end(), nil, fettle.Setup{}, 0)
		noWrong(t, got)
		if got.Facets == nil {
			t.Fatal("no facets found")
		}
		near(t, "length", got.Facets.LengthMM.P50, f.Length, 0.01*f.Length)
		deg := f.Turn * 180 / math.Pi
		near(t, "turn", got.Facets.TurnDeg.P50, deg, 0.01*deg)
		if got.Facets.Chords != n {
			t.Errorf("%d chords, want %d", got.Facets.Chords, n)
		}
		// 1.62° every 0.283 mm is seen on a bright face.
		if !got.Facets.Visible {
			t.Error("the facets count as invisible")
		}
		mustFind(t, got, map[bool]fettle.Severity{true: fettle.Check, false: fettle.Note}[deg > 0.5], "facets", -1, "a bright face shows such facets")
	}
	// A square has corners and no facets.
	got, _ := prove(t, begin().head("G21").line("G0 Z1.\nG1 Z-1. F300\nG1 X5.\nY5.\nX0\nY0\nX5.\nY5.\nX0\nY0\nX5.\nY5.\nX0").end(), nil, fettle.Setup{}, 0)
	if got.Facets != nil {
		t.Errorf("facets on a square: %+v", got.Facets)
	}
}

func TestPlungeIntoStock(t *testing.T) {
	text := begin().head("G21").line("G0 X1. Y1.\nG0 Z-2.").line("G1 X3. F500").end()
	got, _ := prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.05)
	line := lineOf(t, text, "Z-2.")
	mustFind(t, got, fettle.Wrong, "plunge", line, fmt.Sprintf("line %d plunges", line), "at rapid into the stock", "2.30 mm")
	// Sideways into it, from beside the stock.
	text = begin().head("G21").line("G0 X-20. Y0\nG0 Z-1.\nG0 X-3. Y0").line("G1 X3. F500").end()
	got, _ = prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "plunge", lineOf(t, text, "X-3. Y0"))
	// Down beside it, and back along a slot that has been cut: no fault.
	text = begin().head("G21").line("G0 X-20. Y0\nG0 Z-1.\nG1 X20. F500\nG0 X-20.\nG1 X20.\nG0 Z5.").end()
	got, _ = prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.05)
	for _, f := range got.Findings {
		if f.Kind == "plunge" {
			t.Errorf("a slot that is cut already: %s", f.Says)
		}
	}
	// A flat end fed straight down.
	s := shopSetup()
	s.Tools["T1"] = fettle.SetupTool{Cutter: "flat:6", Flutes: 3}
	text = begin().head("G21").line("G0 X1. Y1.\nG0 Z1.\nG1 Z-2. F100").line("G1 X3. F500").end()
	got, _ = prove(t, text, platePart(t, 8, 5, 4), s, 0.05)
	mustFind(t, got, fettle.Check, "straight", lineOf(t, text, "G1 Z-2."), "2.30 mm")
}

// A blank 3 mm longer at its sawn ends: the pass that would only skim the
// ordered blank meets the saw's leftover.
func TestFirstCutOnASawCutBlank(t *testing.T) {
	s := shopSetup()
	s.Tools["T1"] = fettle.SetupTool{Cutter: "flat:10", Flutes: 3, StickOut: 25}
	s.Stock = &fettle.SetupStock{Lo: &[3]float64{-15, -10, -8}, Hi: &[3]float64{15, 10, 0}, SawCutMM: 3, Sawn: []string{"x+"}}
	// Down the side at X 15 + 5 − 0.5: half a millimetre wide on the ordered blank.
	text := begin().head("G21").line("G0 X19.5 Y-20.\nG0 Z-4.\nG1 Y20. F400").end()
	got, _ := prove(t, text, nil, s, 0)
	noWrong(t, got)
	line := lineOf(t, text, "G1 Y20.")
	mustFind(t, got, fettle.Check, "first cut", line, "saw-cut")
	f := got.FirstCut
	if f == nil || f.Tool != 1 || f.Line != line {
		t.Fatalf("first cut %+v", f)
	}
	near(t, "depth", f.DepthMM, 4, 0.01)
	near(t, "width", f.WidthMM, 3.5, 0.15)
	near(t, "width as ordered", f.NominalWidthMM, 0.5, 0.15)
	near(t, "depth as ordered", f.NominalDepthMM, 4, 0.01)
	// Kienzle by hand: 400 mm/min, 9000 rpm, 3 teeth; naval brass from the shelf.
	if f.ForceN == nil || !f.ForceN.Valid() || f.ForceN.Value < 20 || f.ForceN.Value > 500 {
		t.Errorf("force %+v", f.ForceN)
	}
}

func TestToolsAndSpindle(t *testing.T) {
	part := platePart(t, 8, 5, 4)
	// T2 where the set-up knows T1.
	p := begin()
	p.tool, p.length = 2, 2
	text := p.head("G21").zigzag(10, 6, 0.3, 10, false, level).end()
	got, _ := prove(t, text, part, shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "tool", -1, "T2", "not in the set-up")
	mustFind(t, got, fettle.Note, "tool", 0, "T1 of the set-up (ball:6) is not used")
	// The length of another tool.
	p = begin()
	p.length = 3
	got, _ = prove(t, p.head("G21").zigzag(10, 6, 0.3, 10, false, level).end(), part, shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "length", -1, "H3")
	s := shopSetup()
	s.Tools["T1"] = fettle.SetupTool{Cutter: "ball:6", Flutes: 2, H: 3}
	got, _ = prove(t, p.end(), part, s, 0.05)
	noWrong(t, got)
	// The spindle stands still.
	text = strings.Replace(levelProgram().end(), "S9000 M3", "S9000", 1)
	got, _ = prove(t, text, part, shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "spindle", -1, "the spindle stands still")
	// Too fast for the mill, and no feed.
	got, _ = prove(t, strings.Replace(levelProgram().end(), "S9000", "S18000", 1), part, shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "spindle", -1, "18000 rpm", "10000 at most")
	text = begin().head("G21").line("G0 X-6. Y0\nG0 Z-0.1\nG1 X6.").end()
	got, _ = prove(t, text, part, shopSetup(), 0.05)
	mustFind(t, got, fettle.Wrong, "feed", lineOf(t, text, "G1 X6."), "before any feed is given")
	// Not what the set-up expects.
	s.Tools["T1"] = fettle.SetupTool{Cutter: "ball:6", Flutes: 2, RPM: 7000, Feed: 800}
	got, _ = prove(t, levelProgram().end(), part, s, 0.05)
	mustFind(t, got, fettle.Check, "spindle", -1, "expects 7000")
	mustFind(t, got, fettle.Check, "feed", -1, "expects 800")
	// A tool by its shelf name, and one that is not there.
	s.Tools["T1"] = fettle.SetupTool{Cutter: "ball-6"}
	got, _ = prove(t, levelProgram().end(), part, s, 0.05)
	noWrong(t, got)
	if got.Tools[0].Cutter != "ball-6" || got.Tools[0].Share < 0.99 {
		t.Errorf("tool %+v", got.Tools[0])
	}
}

func TestJawHit(t *testing.T) {
	part := platePart(t, 8, 5, 4)
	s := shopSetup()
	s.Jaws = &fettle.SetupJaws{Name: "soft-100", Axis: "y", OpeningMM: 5, TopMM: -2}
	got, _ := prove(t, levelProgram().end(), part, s, 0.05)
	noWrong(t, got) // the ball stays above them
	// A profile at depth 3 round the plate goes into the jaws.
	text := levelProgram().line("G0 X-20. Y-6.\nG0 Z-3.\nG1 X20. F600").end()
	got, _ = prove(t, text, part, s, 0.05)
	mustFind(t, got, fettle.Wrong, "jaws", lineOf(t, text, "G0 Z-3."), "soft-100", "1.00 mm")
	// Closing along X, those are clear of a pass along Y's side.
	s.Jaws = &fettle.SetupJaws{Axis: "x", OpeningMM: 60, TopMM: -2, WidthMM: 20, HeightMM: 30, ThickMM: 15}
	got, _ = prove(t, text, part, s, 0.05)
	for _, f := range got.Findings {
		if f.Kind == "jaws" {
			t.Errorf("jaws far off: %s", f.Says)
		}
	}
	// The holder, 20 mm up, over a block that stands high.
	s = shopSetup()
	s.Tools["T1"] = fettle.SetupTool{Cutter: "ball:6", Flutes: 2, StickOut: 20, HolderMM: 40}
	s.Blocks = []fettle.SetupBlock{{Name: "clamp", Lo: [3]float64{-30, 15, -10}, Hi: [3]float64{30, 25, 21}}}
	got, _ = prove(t, levelProgram().end(), part, s, 0.05)
	mustFind(t, got, fettle.Wrong, "holder", -1, "clamp")
}

func TestZeroElsewhere(t *testing.T) {
	part := platePart(t, 60, 40, 8)
	corner := func(x, y float64) float64 { return 0 }
	text := begin().head("G21").zigzag(62, 42, 1, 62, false, corner).end()
	// The program has its zero in the middle, the set-up at a corner.
	s := shopSetup()
	s.Zero = [3]float64{-30, -20, 0}
	got, _ := prove(t, text, part, s, 0.1)
	mustFind(t, got, fettle.Wrong, "zero", -1, "the zero is not where the program wants it")
	for _, f := range got.Findings {
		if f.Kind == "zero" && !strings.Contains(f.Try, "the middle of the part") {
			t.Errorf("hint %q", f.Try)
		}
	}
	// Z zero at the bottom instead of the top: all air.
	s = shopSetup()
	s.Zero = [3]float64{0, 0, 0}
	s.Stock = &fettle.SetupStock{Lo: &[3]float64{-30, -20, -16}, Hi: &[3]float64{30, 20, -8}}
	got, _ = prove(t, text, nil, s, 0)
	mustFind(t, got, fettle.Wrong, "zero", -1, "it cuts air")
}

func TestTimeByHand(t *testing.T) {
	// 0.4 m/s², 1200 mm/min = 20 mm/s: 100 mm take 5 s and 0.05 s to start and
	// stop; the rapids and the tool change are on their own.
	text := begin().head("G21").line("G0 Z0.\nG1 X100. F1200").end()
	got, _ := prove(t, text, nil, fettle.Setup{}, 0)
	near(t, "cut", got.CutS, cusp.MoveSeconds(100, 1200, 400), 1e-3)
	if got.ToolChangeS != changeS {
		t.Errorf("tool change %g s", got.ToolChangeS)
	}
	// Pieces of a straight line take as long as the line while the control keeps
	// up: 0.1 mm at 20 mm/s are 200 blocks a second of 300.
	p := begin().head("G21").line("G0 Z0.\nG1 F1200")
	for i := 1; i <= 1000; i++ {
		p.line("X%.4f", float64(i)*0.1)
	}
	cutInPieces, _ := prove(t, p.end(), nil, fettle.Setup{}, 0)
	near(t, "in pieces", cutInPieces.CutS, got.CutS, 2e-3)
	// Half as long, they hold it to 15 mm/s.
	p = begin().head("G21").line("G0 Z0.\nG1 F1200")
	for i := 1; i <= 2000; i++ {
		p.line("X%.4f", float64(i)*0.05)
	}
	starved, _ := prove(t, p.end(), nil, fettle.Setup{}, 0)
	near(t, "starved", starved.CutS, cusp.MoveSeconds(100, 900, 400), 2e-3)
	mustFind(t, starved, fettle.Note, "blocks", -1, "300 blocks a second")
	// To and fro stops at each end.
	p = begin().head("G21").line("G0 Z0.\nG1 F1200")
	for i := 1; i <= 10; i++ {
		p.line("X%d", 10*(i%2))
	}
	toAndFro, _ := prove(t, p.end(), nil, fettle.Setup{}, 0)
	near(t, "to and fro", toAndFro.CutS, 10*cusp.MoveSeconds(10, 1200, 400), 2e-3)
	// A dwell counts as it stands.
	dwell, _ := prove(t, begin().head("G21").line("G0 Z0.\nG4 P1500\nG1 X100. F1200").end(), nil, fettle.Setup{}, 0)
	near(t, "dwell", dwell.DwellS, 1.5, 1e-9)
}
