package work

import (
	"bytes"
	"context"
	"errors"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/output/solid"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/stock"
)

// benchOf is a bench for the demo's plate with a plan of one pass.
func benchOf(t *testing.T) *PassBench {
	t.Helper()
	path := filepath.Join(t.TempDir(), "plate.3mf")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := solid.Write3MF(f, demo.PartsAt(demo.Coarse)[0].Mesh, "plate"); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	model, opt := PassModel(Model{File: path}, fettle.Brief{Up: [3]float64{0, 0, 1}})
	part, err := LoadPart(t.Context(), model, opt, nil)
	if err != nil {
		t.Fatal(err)
	}
	shelf := stock.Shelf()
	plan := &fettle.Plan{Zones: part.Survey.Zones, Mill: shelf.Machines[0]}
	if plan.Material, err = shelf.Material("naval brass"); err != nil {
		t.Fatal(err)
	}
	if plan.Curves, err = cusp.Curves(t.Context(), plan.Zones[:1], shelf.Cutters, plan.Material, plan.Mill, cusp.Options{ToleranceUM: 2}); err != nil {
		t.Fatal(err)
	}
	plan.Route = []fettle.Step{{Kind: fettle.StepSurface, Zone: plan.Zones[0].ID, Pass: &fettle.Pass{Cutter: "ball-12", StepoverMM: 0.315, CuspUM: 2.4, ToleranceUM: 2}}}
	return NewPassBench(plan, shelf, func(context.Context) (*Part, error) { return part, nil })
}

// deviation is the standard deviation of a picture's tones.
func deviation(t *testing.T, data []byte) float64 {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	b, n, sum, sq := img.Bounds(), 0.0, 0.0, 0.0
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			r, g, bl, _ := img.At(x, y).RGBA()
			v := float64(r+g+bl) / 3 / 65535
			n, sum, sq = n+1, sum+v, sq+v*v
		}
	}
	return math.Sqrt(sq/n - sum/n*sum/n)
}

// What is tried follows s²/8·(1/r + 1/ρ), the textbook formula for cusps: half the
// stepover leaves a quarter of the height, by geometry and as simulated tooth by tooth,
// and at one exposure the finer pass looks the smoother.
func TestTriedPasses(t *testing.T) {
	b := benchOf(t)
	zone := b.plan.Zones[0].ID
	wide, fine := TryPass{zone, "ball-12", 0.4, false}, TryPass{zone, "ball-12", 0.2, false}
	type got struct {
		TriedPass
		sketch, lit float64
	}
	try := func(a TryPass) (g got) {
		t.Helper()
		sketch, err := b.Sketch(t.Context(), a)
		if err != nil {
			t.Fatal(err)
		}
		again, err := b.Sketch(t.Context(), a)
		if err != nil || !bytes.Equal(sketch, again) {
			t.Fatalf("the same pass is drawn in two ways: %v", err)
		}
		tried, picture, err := b.Simulate(t.Context(), a)
		if err != nil {
			t.Fatal(err)
		}
		if tried.Pass.Simulated == nil {
			t.Fatalf("%+v was not simulated: %s", a, tried.Says)
		}
		return got{tried, deviation(t, sketch), deviation(t, picture)}
	}
	w, f := try(wide), try(fine)
	if r := w.Pass.CuspUM / f.Pass.CuspUM; math.Abs(r-4) > 0.05 {
		t.Errorf("cusps by geometry %.3g and %.3g µm: %.3f times, want 4", w.Pass.CuspUM, f.Pass.CuspUM, r)
	}
	if r := w.Pass.Simulated.CuspUM / f.Pass.Simulated.CuspUM; math.Abs(r-4) > 0.8 {
		t.Errorf("cusps as simulated %.3g and %.3g µm: %.2f times, want about 4", w.Pass.Simulated.CuspUM, f.Pass.Simulated.CuspUM, r)
	}
	if r := w.Pass.Simulated.CuspUM / w.Pass.CuspUM; r < 0.6 || r > 1.2 { // geometry holds at the worst 5 % of the face
		t.Errorf("simulated %.3g µm where geometry says %.3g", w.Pass.Simulated.CuspUM, w.Pass.CuspUM)
	}
	if !(f.sketch < w.sketch) || !(f.lit < w.lit) {
		t.Errorf("tones spread by %.3f (drawn) and %.3f (simulated) of the finer pass, %.3f and %.3f of the wider", f.sketch, f.lit, w.sketch, w.lit)
	}
	crossed, err := b.ByGeometry(TryPass{zone, "ball-12", 0.4, true})
	if err != nil || !crossed.Pass.Crossed || math.Abs(crossed.Minutes/w.Minutes-2) > 1e-9 {
		t.Errorf("crossed takes %.4g min, one way %.4g: want twice; %v", crossed.Minutes, w.Minutes, err)
	}
}

// What cannot be tried is refused with a sentence, and who stops asking is let go.
func TestTriedPassesRefused(t *testing.T) {
	b := benchOf(t)
	zone := b.plan.Zones[0].ID
	for says, c := range map[string]struct {
		try  TryPass
		code fettle.Code
	}{
		"no zone":        {TryPass{"roof", "ball-12", 0.3, false}, fettle.NotFound},
		"no curve":       {TryPass{zone, "ball-99", 0.3, false}, fettle.NotFound},
		"leaves stairs":  {TryPass{zone, "flat-6", 0.3, false}, fettle.Invalid},
		"do not overlap": {TryPass{zone, "ball-2", 30, false}, fettle.Invalid},
	} {
		_, _, err := b.Simulate(t.Context(), c.try)
		if fettle.CodeOf(err) != c.code {
			t.Errorf("%s: %v, want %s", says, err, c.code)
		}
		if says != "do not overlap" && !strings.Contains(err.Error(), says) {
			t.Errorf("%v does not say %q", err, says)
		}
	}
	gone, stop := context.WithCancel(t.Context())
	stop()
	if _, _, err := b.Simulate(gone, TryPass{zone, "ball-12", 0.3, false}); !errors.Is(err, context.Canceled) {
		t.Errorf("who stopped asking got %v", err)
	}
}
