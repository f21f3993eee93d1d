package bench

import (
	"bytes"
	"fmt"
	"math"
	"runtime"
	"testing"
	"time"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/proof"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// domeGrain is the size of the triangles on top of the plate, mm.
const domeGrain = 0.25

// domePlate is a plate under the face, read and surveyed as a model file's would
// be. Its triangles are small enough to stand off the sphere by less than the
// cusps that are looked at.
func domePlate(b *testing.B) *proof.Part {
	b.Helper()
	const thick = 15.0
	var f form.Builder
	loop := form.Subdivide(form.Rectangle(r2.Vec{}, wide, high, 0, 1), domeGrain)
	low, rim := f.Ring(loop, -thick), f.RingOn(loop, domeTop)
	f.Wall(low, rim)
	f.Region(form.Down, low)
	f.Lifted(form.Up, domeGrain, domeTop, rim)
	m, _ := mesh.Clean(f.Mesh(), mesh.Options{})
	s, d, err := survey.Of(b.Context(), m, mesh.NewTopology(m), survey.Options{Up: r3.Vec{Z: 1}})
	if err != nil {
		b.Fatal(err)
	}
	return &proof.Part{Mesh: m, Survey: &s, Detail: d}
}

// domeProgram leads a ball over the face and a little beyond, to and fro: its
// centre runs on a sphere that is larger by its radius. It gives the text and
// the number of its feed blocks.
func domeProgram(ball, step, grain float64) (text []byte, blocks int) {
	const over = 0.6
	tip := func(x, y float64) float64 {
		r := rho + ball
		return math.Sqrt(r*r-x*x-y*y) - r
	}
	var w bytes.Buffer
	fmt.Fprint(&w, "%\nO1002 (FACE)\nG21 G17 G40 G49 G80 G90\nT1 M6\nG54\nS9000 M3\nG0 X0 Y0\nG43 H1 Z20.\n")
	a, c := wide/2+over, high/2+over
	passes, points := int(math.Round(2*c/step))+1, int(math.Ceil(2*a/grain))
	for k := range passes {
		for i := range points + 1 {
			x, y := -a+2*a*float64(i)/float64(points), -c+step*float64(k)
			if k%2 == 1 {
				x = -x
			}
			z := tip(x, y)
			if k == 0 && i == 0 {
				fmt.Fprintf(&w, "G0 X%.4f Y%.4f\nG0 Z%.4f\nG1 Z%.4f F300\nF1200\n", x, y, z+10, z)
			}
			fmt.Fprintf(&w, "X%.4f Y%.4f Z%.4f\n", x, y, z)
			blocks++
		}
	}
	fmt.Fprint(&w, "G0 Z20.\nM5\nM30\n%\n")
	return w.Bytes(), blocks
}

// BenchmarkProofMillion reads a surfacing program of a million short blocks and
// proves it on the part that it is for, a face of 60 × 40 mm, at cells of 10 µm.
// The cusps that it finds are held against the closed form for a convex face.
func BenchmarkProofMillion(b *testing.B) {
	const radius, step, grain = 3.0, 0.15, 0.016
	part := domePlate(b)
	text, blocks := domeProgram(radius, step, grain)
	shelf := stock.Shelf()
	mat, err := shelf.Material("naval brass")
	if err != nil {
		b.Fatal(err)
	}
	setup := fettle.Setup{
		Offset: "G54",
		Stock:  &fettle.SetupStock{Over: &[6]float64{0.3, 0.3, 0.3, 0.3, 0, 0.3}},
		Tools:  map[string]fettle.SetupTool{"T1": {Cutter: "ball:6", Flutes: 2, StickOut: 20}},
	}
	want, err := cusp.HeightOn(cusp.Convex, radius, rho, step*rho/(rho+radius))
	if err != nil {
		b.Fatal(err)
	}
	read, prove, readPeak, peak := math.Inf(1), math.Inf(1), 0.0, 0.0
	var p fettle.Proof
	for b.Loop() {
		b.StopTimer()
		forgetPeak(b)
		b.StartTimer()
		start := time.Now()
		prog, err := nc.Read(text)
		if err != nil {
			b.Fatal(err)
		}
		read, readPeak = min(read, time.Since(start).Seconds()), max(readPeak, peakMB())
		start = time.Now()
		var detail *proof.Detail
		p, detail, err = proof.Of(b.Context(), proof.Input{
			Program: prog, Part: part, Setup: setup, Shelf: shelf, Mill: shelf.Machines[0], Material: &mat, CellMM: fine,
		})
		if err != nil {
			b.Fatal(err)
		}
		prove, peak = min(prove, time.Since(start).Seconds()), max(peak, peakMB())
		if detail.Swept == nil || detail.Swept.Cells() < 20_000_000 {
			b.Fatalf("no surface of the whole face: %+v", p.Findings)
		}
	}
	if p.MotionBlocks < blocks {
		b.Errorf("%d blocks of %d are followed", p.MotionBlocks, blocks)
	}
	if !p.Agrees() {
		b.Errorf("a good program is called wrong: %+v", p.Findings)
	}
	// The text rounds heights to 0.1 µm, the face slopes by up to a fifth at its
	// rim, which spreads the passes by 2 %, and each triangle lies under the sphere
	// by what its circle of half its diagonal makes: all of that is added to cusps
	// of a micrometre.
	const rounding, spread, sag = 0.05, 0.02, 1000 * domeGrain * domeGrain / 2 / (2 * rho)
	if p.CuspUM == nil || !(p.CuspUM.P50 > 1000*want-rounding) || p.CuspUM.P50 > 1000*want*(1+spread)+rounding+sag {
		b.Errorf("cusps of %+v µm, by the closed form %g", p.CuspUM, 1000*want)
	}
	if p.Untouched == nil || *p.Untouched > 0 || p.GougeMM == nil || *p.GougeMM > 0.001 {
		b.Errorf("untouched %v, gouge %v", p.Untouched, p.GougeMM)
	}
	b.Logf("%d blocks, %.0f MB of text, %d triangles on %d cores: read %.3f s (peak so far %.0f MB), proof %.3f s, peak %.0f MB",
		blocks, float64(len(text))/(1<<20), len(part.Mesh.Tri), runtime.GOMAXPROCS(0), read, readPeak, prove, peak)
	b.ReportMetric(read, "s/read")
	b.ReportMetric(prove, "s/proof")
	b.ReportMetric(float64(blocks), "blocks")
	b.ReportMetric(peak, "MB")
}
