package proof

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/stock"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// program is a program being written for a test.
type program struct {
	strings.Builder
	offset string
	tool   int
	length int
}

// begin writes the head that every good program has.
func begin() *program {
	p := &program{offset: "G54", tool: 1, length: 1}
	return p
}

func (p *program) head(unit string) *program {
	fmt.Fprintf(p, "%%\nO1001 (TOP)\n%s G17 G40 G49 G80 G90\nT%d M6\n%s\nS9000 M3\nG0 X0 Y0\nG43 H%d Z20.\n", unit, p.tool, p.offset, p.length)
	return p
}

func (p *program) line(format string, args ...any) *program {
	fmt.Fprintf(p, format+"\n", args...)
	return p
}

// end is the whole text.
func (p *program) end() string {
	return p.String() + "G0 Z20.\nM5\nM30\n%\n"
}

// lineOf is the number of the first line that holds text.
func lineOf(t *testing.T, prog, text string) int {
	t.Helper()
	for i, l := range strings.Split(prog, "\n") {
		if strings.Contains(l, text) {
			return i + 1
		}
	}
	t.Fatalf("the program has no %q", text)
	return 0
}

// zigzag writes passes to and fro over z(x, y), along X or along Y, step apart
// and with points every grain mm.
func (p *program) zigzag(wide, high, step, grain float64, alongY bool, z func(x, y float64) float64) *program {
	a, b := wide, high
	if alongY {
		a, b = high, wide
	}
	passes := int(math.Round(b/step)) + 1
	points := int(math.Ceil(a / grain))
	for k := range passes {
		for i := range points + 1 {
			u, v := -a/2+a*float64(i)/float64(points), -b/2+step*float64(k)
			if k%2 == 1 {
				u = -u
			}
			x, y := u, v
			if alongY {
				x, y = v, u
			}
			h := z(x, y)
			if k == 0 && i == 0 {
				p.line("G0 X%.5f Y%.5f\nG0 Z%.5f\nG1 Z%.5f F300", x, y, h+2, h)
			}
			f := ""
			if k == 0 && i == 0 {
				f = " F1200"
			}
			p.line("G1 X%.5f Y%.5f Z%.5f%s", x, y, h, f)
		}
	}
	return p.line("G0 Z20.")
}

const (
	domeRadius = 40.0
	ballRadius = 3.0
	domeWide   = 12.0
	domeHigh   = 8.0
	domeThick  = 5.0 // of its plate under the top, which is at Z 0
)

// domeTop is the dome's height: a sphere with its top at zero.
func domeTop(x, y float64) float64 {
	return math.Sqrt(domeRadius*domeRadius-x*x-y*y) - domeRadius
}

// domeTip is the height of the ball's tip over the dome: its centre runs on a
// sphere that is larger by its radius.
func domeTip(x, y float64) float64 {
	r := domeRadius + ballRadius
	return math.Sqrt(r*r-x*x-y*y) - r
}

// partOf surveys a mesh as a model file's would be.
func partOf(t testing.TB, m *mesh.Mesh) *Part {
	t.Helper()
	clean, _ := mesh.Clean(m, mesh.Options{})
	s, d, err := survey.Of(context.Background(), clean, mesh.NewTopology(clean), survey.Options{Up: r3.Vec{Z: 1}})
	if err != nil {
		t.Fatal(err)
	}
	return &Part{Mesh: clean, Survey: &s, Detail: d}
}

func domePart(t testing.TB) *Part {
	t.Helper()
	domeOnce.Do(func() { dome = makeDome(t) })
	return dome
}

var (
	domeOnce sync.Once
	dome     *Part
)

func makeDome(t testing.TB) *Part {
	var b form.Builder
	loop := form.Subdivide(form.Rectangle(r2.Vec{}, domeWide, domeHigh, 0, 1), 0.15)
	low, rim := b.Ring(loop, -domeThick), b.RingOn(loop, domeTop)
	b.Wall(low, rim)
	b.Region(form.Down, low)
	b.Lifted(form.Up, 0.15, domeTop, rim)
	return partOf(t, b.Mesh())
}

// platePart is a level plate with its top at Z 0 and its middle at zero.
func platePart(t testing.TB, wide, high, thick float64) *Part {
	m := form.Plate(form.Rectangle(r2.Vec{}, wide, high, 0, 1), thick)
	for i := range m.Pos {
		m.Pos[i].Z -= thick
	}
	return partOf(t, m)
}

// shopSetup is a set-up that a good program agrees with: 0.3 mm of stock over
// the part.
func shopSetup() fettle.Setup {
	return fettle.Setup{
		Offset: "G54",
		Stock:  &fettle.SetupStock{Over: &[6]float64{0.3, 0.3, 0.3, 0.3, 0, 0.3}},
		Tools:  map[string]fettle.SetupTool{"T1": {Cutter: "ball:6", Flutes: 2, StickOut: 20}},
	}
}

// prove reads a program and proves it.
func prove(t testing.TB, text string, part *Part, s fettle.Setup, cellMM float64) (fettle.Proof, *Detail) {
	t.Helper()
	p, err := nc.Read([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	shelf := stock.Shelf()
	mat, err := shelf.Material("naval brass")
	if err != nil {
		t.Fatal(err)
	}
	proof, d, err := Of(t.Context(), Input{Program: p, Part: part, Setup: s, Shelf: shelf, Mill: shelf.Machines[0], Material: &mat, CellMM: cellMM})
	if err != nil {
		t.Fatal(err)
	}
	return proof, d
}

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s = %.6g, want %.6g ± %.2g", what, got, want, tol)
	}
}

// mustFind is the finding of a kind, which must be there with this severity,
// line and words.
func mustFind(t testing.TB, p fettle.Proof, sev fettle.Severity, kind string, line int, words ...string) {
	t.Helper()
	for _, f := range p.Findings {
		if f.Kind != kind || f.Severity != sev || line >= 0 && f.Line != line {
			continue
		}
		for _, w := range words {
			if !strings.Contains(f.Says, w) {
				t.Errorf("%s: %q does not say %q", kind, f.Says, w)
			}
		}
		return
	}
	t.Errorf("no finding %s %q on line %d among:\n%s", sev, kind, line, told(p))
}

// noWrong fails where a good program is called wrong.
func noWrong(t testing.TB, p fettle.Proof) {
	t.Helper()
	if !p.Agrees() {
		t.Errorf("a good program is called wrong:\n%s", told(p))
	}
}

func told(p fettle.Proof) string {
	var b strings.Builder
	for _, f := range p.Findings {
		fmt.Fprintf(&b, "  %s %s line %d: %s [%s]\n", f.Severity, f.Kind, f.Line, f.Says, f.Try)
	}
	return b.String()
}
