package proof

import (
	"bytes"
	"encoding/json"
	"math"
	"runtime"
	"strconv"
	"testing"

	"fettle"
	"fettle/internal/shape/texture"
	"fettle/internal/trade/cusp"
)

// Crossed passes over a dome: the right program, with no finding against it.
// The crests keep the full height of one set (closed form on a convex surface).
func TestDomeWithCrossedPasses(t *testing.T) {
	const step = 0.3
	text := begin().head("G21").zigzag(domeWide+1.2, domeHigh+1.2, step, 0.1, false, domeTip).
		zigzag(domeWide+1.2, domeHigh+1.2, step, 0.1, true, domeTip).end()
	p, d := prove(t, text, domePart(t), shopSetup(), 0.01)
	noWrong(t, p)
	// Distance on the dome between contacts whose balls are step apart in plan, at
	// the slope of the middle of the dome.
	want, err := cusp.HeightOn(cusp.Convex, ballRadius, domeRadius, step*domeRadius/(domeRadius+ballRadius))
	if err != nil {
		t.Fatal(err)
	}
	if p.CuspUM == nil {
		t.Fatal("no cusps measured")
	}
	near(t, "cusp p50", p.CuspUM.P50, want*1000, 0.02*want*1000)
	if p.Lay != "crossed" || p.Offset != "G54" || len(p.Regions) != 1 || len(p.Regions[0].Passes) != 2 {
		t.Errorf("lay %q, offset %q, %d regions %+v", p.Lay, p.Offset, len(p.Regions), p.Regions)
	}
	for _, s := range p.Regions[0].Passes {
		near(t, "spacing", s.SpacingMM.P50, step, 0.01*step)
	}
	if *p.GougeMM > 0.001 || *p.Untouched > 0 {
		t.Errorf("gouge %g mm, untouched %g", *p.GougeMM, *p.Untouched)
	}
	near(t, "left", *p.LeftP95MM, p.CuspUM.P95/1000, 0.0015)
	if p.FirstCut == nil || p.FirstCut.Tool != 1 || p.FirstCut.DepthMM < 0.3 {
		t.Errorf("first cut %+v", p.FirstCut)
	}
	// The same from the map itself, by the room for textures.
	vals, err := texture.Heights(t.Context(), d.Above)
	if err != nil {
		t.Fatal(err)
	}
	sq, _ := vals.Get("Sq")
	near(t, "Sq", *p.SqUM, sq.Value, 1e-3*sq.Value)
	sa, _ := vals.Get("Sa")
	near(t, "Sa", *p.SaUM, sa.Value, 1e-3*sa.Value)
}

// One way on a level face: cusp and Sq by the closed forms for circular cusps,
// within 1 %.
func TestLevelFaceAsTheClosedForms(t *testing.T) {
	for _, c := range []struct{ diameter, step, high, cell float64 }{{6, 0.3, 4.8, 0.01}, {10, 0.25, 5, 0.01}, {3, 0.2, 4.8, 0.005}} {
		s := shopSetup()
		s.Tools["T1"] = fettle.SetupTool{Cutter: "ball:" + num(c.diameter), Flutes: 2}
		level := func(x, y float64) float64 { return 0 }
		text := begin().head("G21").zigzag(10, 6, c.step, 10, false, level).end()
		p, _ := prove(t, text, platePart(t, 8, c.high, 4), s, c.cell) // whole cusps
		noWrong(t, p)
		h, err := cusp.Height(c.diameter/2, c.step)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "cusp p50", p.CuspUM.P50, 1000*h, 0.01*1000*h)
		near(t, "cusp p95", p.CuspUM.P95, 1000*h, 0.01*1000*h)
		near(t, "Sq", *p.SqUM, 1000*h*cusp.ParabolaRq, 0.01*1000*h*cusp.ParabolaRq)
		near(t, "Sa", *p.SaUM, 1000*h*cusp.ParabolaRa, 0.01*1000*h*cusp.ParabolaRa)
		if p.Lay != "one way" || p.LayDeg == nil {
			t.Fatalf("lay %q %v", p.Lay, p.LayDeg)
		}
		near(t, "lay", *p.LayDeg, 0, 0.01)
		near(t, "cusp of the passes", p.Regions[0].Passes[0].CuspUM, 1000*h, 1e-3*1000*h)
	}
}

func num(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// A slot cut 0.15 mm below the face is a gouge of that depth, with its line.
func TestGouge(t *testing.T) {
	level := func(x, y float64) float64 { return 0 }
	text := begin().head("G21").zigzag(10, 6, 0.3, 10, false, level).
		line("G0 X-2. Y0.5\nG0 Z1.\nG1 Z-0.15 F200\nG1 X2. F800").end()
	p, _ := prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.02)
	mustFind(t, p, fettle.Wrong, "gouge", -1, "0.150 mm below the part")
	near(t, "gouge", *p.GougeMM, 0.15, 0.0005)
	if first := lineOf(t, text, "G1 Z-0.15"); p.GougeLine != first && p.GougeLine != first+1 {
		t.Errorf("gouge on line %d, want %d or the next", p.GougeLine, first)
	}
}

// A path 0.2 mm above the part leaves that, and is not a gouge.
func TestStockLeft(t *testing.T) {
	level := func(x, y float64) float64 { return 0.2 }
	text := begin().head("G21").zigzag(10, 6, 0.3, 10, false, level).end()
	p, _ := prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.02)
	noWrong(t, p)
	mustFind(t, p, fettle.Check, "left", 0, "is left on the show zone")
	h, _ := cusp.Height(3, 0.3)
	near(t, "left", *p.LeftMM, 0.2+h, 0.0005)
	// Half of the face not cut at all.
	text = begin().head("G21").zigzag(10, 6, 0.3, 10, false, func(x, y float64) float64 { return math.Max(0, y*100) }).end()
	p, _ = prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.05)
	mustFind(t, p, fettle.Check, "left", 0, "is not cut by this program")
}

// The model lies on its side, turned and moved; the map is the same.
func TestFrame(t *testing.T) {
	level := func(x, y float64) float64 { return 0 }
	text := begin().head("G21").zigzag(10, 6, 0.3, 10, false, level).end()
	want, _ := prove(t, text, platePart(t, 8, 5, 4), shopSetup(), 0.02)
	// Up is the model's X: the program's X lies along the model's Y, Y along Z.
	part := platePart(t, 8, 5, 4)
	for i, v := range part.Mesh.Pos {
		part.Mesh.Pos[i].X, part.Mesh.Pos[i].Y, part.Mesh.Pos[i].Z = v.Z+7, v.X+1, v.Y-2
	}
	moved := partOf(t, part.Mesh)
	moved.Survey.Zones[0].Class = fettle.Show
	s := shopSetup()
	s.Up, s.Zero = [3]float64{2, 0, 0}, [3]float64{7, 1, -2}
	for i := range moved.Survey.Zones { // judged from the spindle, whatever the survey took for up
		moved.Survey.Zones[i].Class = fettle.Show
	}
	got, _ := prove(t, text, moved, s, 0.02)
	near(t, "cusp", got.CuspUM.P50, want.CuspUM.P50, 1e-3)
	near(t, "zone", got.ZoneMM2, want.ZoneMM2, 1e-6)
	// A quarter turn: the part's long side lies along the program's Y.
	s = shopSetup()
	s.TurnDeg = 90
	text = begin().head("G21").zigzag(6, 10, 0.3, 10, false, level).end()
	got, _ = prove(t, text, platePart(t, 8, 5, 4), s, 0.02)
	noWrong(t, got)
	near(t, "untouched", *got.Untouched, 0, 0)
	near(t, "zone", got.ZoneMM2, want.ZoneMM2, 1e-6)
}

// Two tools share a face, and the second is set 12 µm too long: the step
// between them is a finding, and none is without it.
func TestWitnessLine(t *testing.T) {
	s := shopSetup()
	s.Tools["T2"] = fettle.SetupTool{Cutter: "ball:6", Flutes: 2}
	for _, deep := range []float64{0, 0.012} {
		p := begin().head("G21")
		half := func(from, to, z float64) {
			p.line("G0 X%.4f Y-3.\nG0 Z%.5f\nG1 Z%.5f F300", from, z+1, z)
			for y, k := -3.0, 0; y <= 3.01; y, k = y+0.3, k+1 {
				p.line("G1 Y%.4f F1200\nX%.4f", y, [2]float64{to, from}[k%2])
			}
			p.line("G0 Z20.")
		}
		half(-6, 0, 0)
		p.line("T2 M6\nS9000 M3\nG0 X6. Y-3.\nG43 H2 Z20.")
		half(6, 0, -deep)
		got, _ := prove(t, p.end(), platePart(t, 8, 4.8, 4), s, 0.02)
		noWrong(t, got)
		if deep == 0 {
			for _, f := range got.Findings {
				if f.Kind == "witness" {
					t.Errorf("a step where there is none: %s", f.Says)
				}
			}
			continue
		}
		mustFind(t, got, fettle.Check, "witness", -1, "a step of 0.012 mm")
		near(t, "gouge", *got.GougeMM, deep, 3e-4)
	}
}

// The proof is the same for any number of cores.
func TestSameOnAnyCores(t *testing.T) {
	text := begin().head("G21").zigzag(domeWide+1.2, domeHigh+1.2, 0.4, 0.2, false, domeTip).end()
	part := domePart(t)
	var first []byte
	for _, n := range []int{1, 2, 3} {
		was := runtime.GOMAXPROCS(n)
		p, _ := prove(t, text, part, shopSetup(), 0.03)
		runtime.GOMAXPROCS(was)
		got, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = got
		}
		if !bytes.Equal(first, got) {
			t.Errorf("on %d cores:\n%s\nwant\n%s", n, got, first)
		}
	}
}
