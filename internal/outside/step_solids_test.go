//go:build outside

package outside

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fettle/internal/format/intake"
	"fettle/internal/format/step"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/spatial/r3"
)

// exactly is volume and area by formula, body by body.
type exactly struct {
	volume, area float64
	loose        float64 // relative, of what the kernel integrates; 0: 1e-9
}

// formulas are those of the solids in testdata/solids.tcl that have one. They are
// textbook ones (I. N. Bronshtein, K. A. Semendyayev, "Handbook of mathematics",
// stereometry), written from memory; where another is used it says so.
func formulas() map[string][]exactly {
	const pi = math.Pi
	sq := func(x float64) float64 { return x * x }
	// A round hole of radius r through a plate of thickness h: what it takes from
	// the volume, and adds to the area.
	frustum := func(r, s, h float64) (v, side float64) {
		return pi * h / 3 * (r*r + r*s + s*s), pi * (r + s) * math.Hypot(s-r, h)
	}
	f := map[string][]exactly{
		"block": {{12000, 3560, 0}},
		"peg":   {{pi * sq(3.175) * 20, 2 * pi * 3.175 * (3.175 + 20), 0}},
		"ball":  {{4. / 3 * pi * 3.375, 4 * pi * 2.25, 0}},
		"ring":  {{2 * sq(pi) * 2 * 0.36, 4 * sq(pi) * 2 * 0.6, 0}}, // Pappus and Guldin
		"tray":  {{50*30*12 - 46*26*10, 2*(50*30+50*12+30*12) + 2*(46+26)*10, 0}},
		"hollow": {{
			27000 - 4./3*pi*3.375, 5400 + 4*pi*2.25, 0}},
		"chamfered": {{
			6000 - 2*sq(1.5)*10,
			2*(600-2*sq(1.5)) + 10*(2*(27+17)+4*1.5*math.Sqrt2), 0}},
	}
	v, side := frustum(4, 1.5, 7.5)
	f["taper"] = []exactly{{v, side + pi*16 + pi*2.25, 0}}

	// The plate: bore, countersunk hole, counterbored hole, slot.
	v, side = frustum(2.25, 4.5, 2.25)
	slot := 72 + 9*pi
	f["plate"] = []exactly{{
		19200 - 16*pi*6 - sq(2.25)*pi*3.75 - v - sq(2.75)*pi*3 - 25*pi*3 - slot*6,
		2*3200 + 2*120*6 -
			2*16*pi + 8*pi*6 +
			-sq(2.25)*pi - sq(4.5)*pi + 4.5*pi*3.75 + side +
			-sq(2.75)*pi - 25*pi + 5.5*pi*3 + 10*pi*3 + (25-sq(2.75))*pi +
			-2*slot + (24+6*pi)*6, 0}}
	r := f["plate"][0]
	r.loose = 1e-7
	f["rational"] = []exactly{r}

	// The plate of awkward numbers. A cylinder cut by two parallel planes that its
	// axis meets at an angle has the same volume and side as one cut across, of
	// the length along the axis.
	const h = 4.7625
	v, side = frustum(1.65, 3.5, 1.85)
	long := h / math.Cos(pi/6)
	f["odd"] = []exactly{{
		63.5*31.75*h - sq(3.175)*pi*h - sq(1.65)*pi*(h-1.85) - v - sq(2.38125)*pi*long,
		2*(63.5*31.75+63.5*h+31.75*h) -
			2*sq(3.175)*pi + 2*3.175*pi*h +
			-sq(1.65)*pi - sq(3.5)*pi + 3.3*pi*(h-1.85) + side +
			-2*sq(2.38125)*pi/math.Cos(pi/6) + 2*2.38125*pi*long, 0}}

	// Rounded by a ball (J. Steiner's formula of parallel bodies).
	const p, q, s, R = 25., 15., 5., 2.5
	f["filleted"] = []exactly{{
		p*q*s + 2*(p*q+q*s+p*s)*R + pi*(p+q+s)*R*R + 4./3*pi*R*R*R,
		2*(p*q+q*s+p*s) + 2*pi*(p+q+s)*R + 4*pi*R*R, 0}}

	// What two cylinders of radius r have in common is 16/3 r³/sin θ (Archimedes);
	// it lies about a sphere of radius r, so that its area is 3/r of that.
	common := 16. / 3 * 125 / math.Sin(pi/3)
	f["cross"] = []exactly{{
		2*pi*25*40 - common, 2*(2*pi*5*(5+40)) - 3./5*common, 1e-8}}

	f["oval"] = []exactly{{pi * 12 * 7 * 9,
		2*pi*12*7 + 9*4*12*mathext.CompleteE(1-sq(7./12)), 0}}
	f["dish"] = []exactly{{pi * 9 * 1.8 / 2,
		pi*9 + pi*3/(6*sq(1.8))*(math.Pow(9+4*sq(1.8), 1.5)-27), 0}}

	// The knob and the handle from their curves: spun, and swept along (Pappus).
	knob := bezier{{X: 0}, {X: 4}, {X: 7, Z: 3}, {X: 1, Z: 4.5}, {X: 2, Z: 8}, {X: 6, Z: 10}, {Z: 10}}
	f["knob"] = []exactly{{
		knob.sum(func(at, along r3.Vec) float64 { return pi * at.X * at.X * along.Z }),
		knob.sum(func(at, along r3.Vec) float64 { return 2 * pi * at.X * r3.Norm(along) }), 1e-7}}
	length := bezier{{}, {Z: 12}, {X: 10, Y: 5, Z: 5}, {X: 15, Z: 15}}.sum(func(_, along r3.Vec) float64 { return r3.Norm(along) })
	f["handle"] = []exactly{{pi * length, 2*pi*length + 2*pi, 1e-4}} // the sweep itself is approximate
	f["pillow"] = []exactly{{60 * 30 * (12.4 + 17.3 + 18.3 + 12.4) / 16, 0, 0}}

	f["several"] = []exactly{f["block"][0],
		{pi * (36 - 16) * 9, 2*pi*(36-16) + 2*pi*(6+4)*9, 0},
		{240, 2 * (80 + 60 + 12), 0}}
	angle := exactly{96*12 - 4*pi*3, 70*12 + 2*96 - 2*4*pi + 4*pi*3, 0}
	f["placed"] = []exactly{angle, angle, angle}
	for _, u := range []string{"MM", "CM", "M", "INCH", "FT"} {
		f["cube-"+u] = []exactly{{25.4 * 25.4 * 25.4, 6 * 25.4 * 25.4, 0}}
	}
	return f
}

// bezier is a Bezier curve by its poles.
type bezier []r3.Vec

// at is the curve and its derivative, by de Casteljau's algorithm.
func (b bezier) at(t float64) (at, along r3.Vec) {
	p := append(bezier(nil), b...)
	for n := len(p) - 1; n > 0; n-- {
		if n == 1 {
			along = r3.Scale(float64(len(b)-1), r3.Sub(p[1], p[0]))
		}
		for i := range n {
			p[i] = r3.Add(r3.Scale(1-t, p[i]), r3.Scale(t, p[i+1]))
		}
	}
	return p[0], along
}

// sum is the integral of f over the curve's parameter.
func (b bezier) sum(f func(at, along r3.Vec) float64) float64 {
	total := 0.
	for i := range 8 { // the integrand is not smooth where a curve starts on an axis
		total += quad.Fixed(func(t float64) float64 { return f(b.at(t)) }, float64(i)/8, float64(i+1)/8, 64, quad.Legendre{}, 0)
	}
	return total
}

// What the kernel integrates is what the formulas say: then it may be taken for
// true where there is none.
func TestReferenceAgainstFormulas(t *testing.T) {
	t.Parallel()
	bodies, files := drawnSolids(t)
	table := formulas()
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".step")
		want, ok := table[name]
		if !ok {
			t.Logf("%-10s no formula", name)
			continue
		}
		if len(want) != len(bodies[f]) {
			t.Errorf("%s: %d bodies, want %d", name, len(bodies[f]), len(want))
			continue
		}
		for i, b := range bodies[f] {
			loose := max(want[i].loose, 1e-9)
			if math.Abs(b.Volume-want[i].volume) > loose*b.Volume {
				t.Errorf("%s: volume %.12g, by formula %.12g", name, b.Volume, want[i].volume)
			}
			if want[i].area > 0 && min(math.Abs(b.Areas[0]-want[i].area), math.Abs(b.Areas[1]-want[i].area)) > max(loose, 1e-5)*want[i].area {
				t.Errorf("%s: areas %.12g, by formula %.12g", name, b.Areas, want[i].area)
			}
		}
		delete(table, name)
	}
	if len(table) > 0 {
		t.Errorf("formulas without a solid: %v", table)
	}
}

// readSTEP reads a file as a part, its facets within tolerance of the surfaces.
// The angle is large, so that it is the tolerance that counts.
func readSTEP(t testing.TB, path string, tolerance float64) *intake.Part {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	part, err := step.Read(context.Background(), data, step.Options{LinearMM: tolerance, AngularRad: 0.5})
	if err != nil {
		t.Errorf("%s: %v", filepath.Base(path), err)
		return nil
	}
	return part
}

// off is how far a body is from the truth.
type off struct{ volume, area, box float64 }

// within holds a body against the truth. With facets within δ of the faces:
//
//   - the volumes differ by no more than the layer of thickness δ on the surface,
//     δ·A;
//   - the areas differ by no more than δ times the integral of the curvatures,
//     ∫(|κ₁|+|κ₂|) dA, which the facets give as the sum over their edges of length
//     by angle (J. Steiner), and by δ along the rims of faces, where they are cut
//     off by chords. (Of a cylinder, of chords s with δ = s²/8R, the area falls
//     short by s²/24R² = δ/3R of itself, a third of that bound.)
//   - the box is smaller by δ at most on each side, as the vertices lie on the
//     faces.
func (m measured) within(δ float64, truth exact) (o off, ok bool) {
	o = off{math.Abs(m.Volume - truth.Volume), truth.area(m.Area), 0}
	for c := range 6 {
		o.box = max(o.box, math.Abs(m.Box[c]-truth.Box[c]))
	}
	const floor = 1e-8 // relative; and faces stand off by 1e-7 mm in files
	return o, o.volume <= δ*m.Area+floor*truth.Volume &&
		o.area <= δ*(m.bend+m.rim)+floor*m.Area &&
		o.box <= δ+1e-6 && !m.open
}

// Solids written by a native build of the kernel, at three tolerances: volume,
// area and box are within what the tolerance allows, and get better with it.
func TestSolidsWithinTolerance(t *testing.T) {
	t.Parallel()
	bodies, files := drawnSolids(t)
	table := formulas()
	var worst off
	var spent time.Duration
	compared := 0
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".step")
		if strings.HasPrefix(name, "cube") {
			continue // TestUnits has those
		}
		truth := slices.Clone(bodies[f])
		for i, e := range table[name] {
			if e.loose == 0 {
				truth[i].Volume = e.volume
				if e.area > 0 {
					truth[i].Areas = [2]float64{e.area, e.area}
				}
			}
		}
		if name == "escutcheon" {
			truth[0].Box[5] = swell() // the kernel's box counts what is bored away
		}
		last := make([]off, len(truth))
		triangles := 0
		for n, δ := range []float64{0.05, 0.01, 0.002} {
			if triangles > 2500 {
				t.Logf("%-10s not at %g mm: %d triangles at 0.01", name, δ, triangles)
				break // the kernel takes four times as long for twice as many on one face
			}
			start := time.Now()
			part := readSTEP(t, f, δ)
			spent += time.Since(start)
			if part == nil {
				break
			}
			triangles = len(part.Mesh.Tri)
			if len(part.Bodies) != len(truth) {
				t.Errorf("%s: %d bodies, want %d", name, len(part.Bodies), len(truth))
				break
			}
			for i, b := range part.Bodies {
				m := measure(part, b)
				o, ok := m.within(δ, truth[i])
				if !ok {
					t.Errorf("%s, body %d at %g mm: volume %.9g of %.9g, area %.9g of %.9g, box %v of %v, open %v",
						name, i, δ, m.Volume, truth[i].Volume, m.Area, truth[i].Areas, m.Box, truth[i].Box, m.open)
				}
				share := 1.0 // on small radii it is the angle that counts at 0.05
				if n == 2 {
					share = 0.5
				}
				if n > 0 && o.volume > share*last[i].volume+1e-8*truth[i].Volume {
					t.Errorf("%s, body %d: at %g mm the volume is off by %.3g, at five times that by %.3g", name, i, δ, o.volume, last[i].volume)
				}
				last[i] = o
				worst.most(m, o, δ)
				compared++
			}
		}
	}
	t.Logf("%d bodies in %.1f s; at most %.2f of the bound in volume, %.2f in area, %.2f in box", compared, spent.Seconds(), worst.volume, worst.area, worst.box)
	if compared < 60 {
		t.Errorf("only %d bodies compared", compared)
	}
}

// most keeps the largest shares of the bounds.
func (o *off) most(m measured, of off, δ float64) {
	o.volume = max(o.volume, (of.volume-1e-8*m.Volume)/(δ*m.Area))
	o.area = max(o.area, (of.area-1e-8*m.Area)/(δ*(m.bend+m.rim)))
	o.box = max(o.box, (of.box-1e-6)/δ)
}

// swell is the height of the escutcheon at its highest: at the rim of the bore, as
// its Bezier surface has it, whose poles stand evenly.
func swell() (top float64) {
	poles := [4][4]float64{{3, 3.2, 3.2, 3}, {3.4, 5.5, 5, 3.4}, {3.4, 6, 5.5, 3.4}, {3, 3.2, 3.2, 3}}
	for i := range 20000 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 20000)
		var row bezier
		for j, p := range poles {
			across := bezier{}
			for k, z := range p {
				across = append(across, r3.Vec{X: float64(20 * k), Y: float64(10 * j), Z: z})
			}
			at, _ := across.at((30 + 6.5*cos) / 60)
			row = append(row, at)
		}
		at, _ := row.at((15 + 6.5*sin) / 30)
		top = max(top, at.Z)
	}
	return top
}
