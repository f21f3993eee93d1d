package texture

import (
	"context"
	"math"
	"strings"
	"testing"

	"fettle/internal/shape/relief"

	"pgregory.net/rapid"
)

// Known texture on known forms: what is left is the texture, and the form is
// told.
func TestLevelForms(t *testing.T) {
	texture := func(x, y float64) float64 { return 0.5 * math.Sin(60*x) * math.Cos(50*y) } // µm
	rad := func(deg float64) (s, c float64) { return math.Sincos(deg * math.Pi / 180) }
	s, c := rad(27)
	for _, k := range []struct {
		name   string
		form   string
		height func(x, y float64) float64 // mm
		check  func(f Fitted) bool
		within float64 // µm
	}{
		{"plane", "plane", func(x, y float64) float64 { return 9 + 0.1*x - 0.02*y },
			func(f Fitted) bool { return near(f.SlopeX, 0.1, 1e-6) && near(f.SlopeY, -0.02, 1e-6) }, 0.02},
		{"crest of a ball", "sphere", func(x, y float64) float64 { return math.Sqrt(400 - (x-1.5)*(x-1.5) - (y-3)*(y-3)) },
			func(f Fitted) bool { return near(f.RadiusMM, 20, 0.002) && near(f.X, 1.5, 1e-3) && near(f.Y, 3, 1e-3) }, 0.02},
		{"hollow of a ball", "sphere", func(x, y float64) float64 { return -math.Sqrt(36 - (x-2)*(x-2) - (y-1)*(y-1)) },
			func(f Fitted) bool { return near(f.RadiusMM, -6, 0.001) && near(f.X, 2, 1e-3) && near(f.Y, 1, 1e-3) }, 0.02},
		{"leaning cylinder", "cylinder", func(x, y float64) float64 {
			const tilt = 0.1
			u, v := c*x+s*y, c*y-s*x-0.4
			return tilt*u + math.Sqrt(1+tilt*tilt)*math.Sqrt(100-v*v)
		}, func(f Fitted) bool { return near(f.RadiusMM, 10, 0.001) && near(f.AxisDeg, 27, 0.01) }, 0.02},
		{"groove along Y", "cylinder", func(x, y float64) float64 { return -math.Sqrt(9 - (x-1.5)*(x-1.5)) },
			func(f Fitted) bool {
				return near(f.RadiusMM, -3, 0.001) && near(f.AxisDeg, 90, 0.01) && near(f.X, 1.5, 1e-3)
			}, 0.02},
		{"saddle", "poly4", func(x, y float64) float64 { return 0.01*x*x*x*y - 0.02*y*y + 0.001*x*x*y*y },
			func(f Fitted) bool { return f.RMSum < 0.3 }, 0.03},
	} {
		for _, holes := range []bool{false, true} {
			m := relief.NewMap(relief.Grid{W: 160, H: 120, DX: 0.02, DY: 0.03, X0: 0.1, Y0: -0.2})
			m.Base = 3
			for i := range m.Z {
				x, y := m.X(i%m.W), m.Y(i/m.W)
				if holes && (math.Hypot(x-1, y-1) < 0.5 || i/m.W == 50) {
					continue
				}
				m.Z[i] = float32(k.height(x, y) + texture(x, y)/1000 - 3)
			}
			form, err := ParseForm(k.form)
			if err != nil {
				t.Fatal(err)
			}
			got, fit, err := Level(t.Context(), m, form)
			if err != nil {
				t.Fatal(err)
			}
			if !k.check(fit) {
				t.Errorf("%s, holes %v: %+v", k.name, holes, fit)
			}
			worst := 0.0
			for i, v := range got.Z {
				if v == v {
					worst = max(worst, math.Abs(1000*float64(v)-texture(m.X(i%m.W), m.Y(i/m.W))))
				} else if m.Z[i] == m.Z[i] {
					t.Fatalf("%s: a height was lost", k.name)
				}
			}
			if !(worst < k.within) {
				t.Errorf("%s, holes %v: up to %.4f µm of the texture went with the form", k.name, holes, worst)
			}
		}
	}
}

func near(got, want, within float64) bool { return math.Abs(got-want) <= within }

func TestLevelProfile(t *testing.T) {
	const dx = 0.001
	texture := func(x float64) float64 { return 0.3 * math.Sin(90*x) }
	for _, k := range []struct {
		form   string
		height func(x float64) float64 // µm
		check  func(f Fitted) bool
	}{
		{"plane", func(x float64) float64 { return 50 + 7*x }, func(f Fitted) bool { return near(f.SlopeX, 0.007, 3e-6) }},
		{"cylinder", func(x float64) float64 { return 1000 * math.Sqrt(64-(x-2.2)*(x-2.2)) }, func(f Fitted) bool { return near(f.RadiusMM, 8, 1e-3) && near(f.X+dx/2, 2.2, 1e-3) }},
		{"sphere", func(x float64) float64 { return -1000 * math.Sqrt(64-(x-1)*(x-1)) }, func(f Fitted) bool { return near(f.RadiusMM, -8, 1e-3) }},
		{"poly3", func(x float64) float64 { return 4*x*x*x - 9*x*x }, func(f Fitted) bool { return true }},
		{"none", func(x float64) float64 { return 0 }, func(f Fitted) bool { return true }},
	} {
		z := line(4000, dx, func(x float64) float64 { return k.height(x) + texture(x) })
		for i := 1000; i < 1100; i++ {
			z[i] = math.NaN()
		}
		form, err := ParseForm(k.form)
		if err != nil {
			t.Fatal(err)
		}
		got, fit, err := LevelProfile(z, dx, form)
		if err != nil {
			t.Fatal(err)
		}
		if !k.check(fit) {
			t.Errorf("%s: %+v", k.form, fit)
		}
		for i, v := range got {
			if want := texture((float64(i) + 0.5) * dx); !math.IsNaN(z[i]) && !near(v, want, 0.02) {
				t.Errorf("%s, point %d: %g is left of %g", k.form, i, v, want)
				break
			}
		}
	}
}

func TestFormsThatCannotBe(t *testing.T) {
	for _, s := range []string{"", "poly", "poly0", "poly13", "poly2x", "Plane", "poly02"} {
		if f, err := ParseForm(s); err == nil {
			t.Errorf("%q is %+v", s, f)
		}
	}
	flat := made(40, 30, 0.1, 0.1, func(x, y float64) float64 { return 0 })
	if _, _, err := Level(t.Context(), flat, Form{Shape: Sphere}); err == nil {
		t.Error("a radius was told from a flat")
	}
	if _, _, err := Level(t.Context(), relief.NewMap(flat.Grid), Form{Shape: Plane}); err == nil {
		t.Error("a form was told from nothing")
	}
	// A single row says nothing about the other direction: that stays.
	row := made(40, 1, 0.1, 0.1, func(x, y float64) float64 { return 5 * x })
	got, fit, err := Level(t.Context(), row, Form{Shape: Plane})
	if err != nil || !near(fit.SlopeX, 0.005, 1e-8) || fit.SlopeY != 0 || fit.RMSum > 1e-3 {
		t.Errorf("%+v %v %v", fit, got, err)
	}
}

// What may not matter: a plane under the texture, the scale of heights, which
// way the map is held.
func TestInvariance(t *testing.T) {
	names := []string{"Sa", "Sq", "Sz", "Sp", "Sv", "Sk", "Spk", "Svk"}
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(60, 80).Draw(t, "w"), rapid.IntRange(60, 80).Draw(t, "h")
		deg := rapid.Float64Range(0, 180).Draw(t, "lay")
		wave := rapid.Float64Range(0.05, 0.1).Draw(t, "wave")
		off, p, q := rapid.Float64Range(-5, 5).Draw(t, "off"), rapid.Float64Range(-0.1, 0.1).Draw(t, "p"), rapid.Float64Range(-0.1, 0.1).Draw(t, "q")
		scale := rapid.Float64Range(0.1, 10).Draw(t, "scale")
		s, c := math.Sincos(deg * math.Pi / 180)
		// Crests sharper than valleys: of a symmetrical wave whose period is a whole
		// number of points, two stretches of the curve can be equally flat, and the
		// last digit of a height decides which of them is the core.
		height := func(x, y float64) float64 {
			u := math.Sin(2 * math.Pi * (c*y - s*x) / wave)
			return 5*u + 2.5*u*u + 0.5*math.Sin(371*x+203*y*y)
		}
		take := func(m *relief.Map, measure func(context.Context, *relief.Map) (Parameters, error)) Parameters {
			flat, _, err := Level(context.Background(), m, Form{Shape: Plane})
			if err != nil {
				t.Fatal(err)
			}
			p, err := measure(context.Background(), flat)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		get := func(p Parameters, name string) float64 {
			v, ok := p.Get(name)
			if !ok {
				t.Fatalf("no %s", name)
			}
			return v.Value
		}
		const d = 0.01
		plain := take(made(w, h, d, d, height), Areal)
		tilted := take(made(w, h, d, d, func(x, y float64) float64 { return height(x, y) + 1000*(off+p*x+q*y) }), Heights)
		scaled := take(made(w, h, d, d, func(x, y float64) float64 { return scale * height(x, y) }), Heights)
		turned := take(made(h, w, d, d, func(x, y float64) float64 { return height(y, x) }), Areal)
		for _, n := range names {
			v := get(plain, n)
			// Which 40 % are flattest can turn on the last digit of a height.
			slack := 0.002 * v
			if strings.HasSuffix(n, "k") {
				slack = 0.1 * get(plain, "Sk")
			}
			if g := get(tilted, n); math.Abs(g-v) > slack+0.02 {
				t.Errorf("%s is %g, and %g with a plane under it", n, v, g)
			}
			if g := get(scaled, n); math.Abs(g-scale*v) > scale*(slack+0.002) {
				t.Errorf("%s is %g, and %g at %g times the height", n, v, g, scale)
			}
			if g := get(turned, n); math.Abs(g-v) > slack+0.001 {
				t.Errorf("%s is %g, and %g held the other way", n, v, g)
			}
		}
		for _, n := range []string{"Sal", "Str"} {
			if v, g := get(plain, n), get(turned, n); math.Abs(g-v) > 0.02*v {
				t.Errorf("%s is %g, and %g held the other way", n, v, g)
			}
		}
		std := get(plain, "Std")
		if math.Abs(math.Remainder(std-deg, 180)) > 3 {
			t.Errorf("lay of %g° is given as %g°", deg, std)
		}
		if g := get(turned, "Std"); math.Abs(math.Remainder(g-(90-std), 180)) > 0.5 {
			t.Errorf("lay is %g°, and %g° mirrored", std, g)
		}
	})
}
