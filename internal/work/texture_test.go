package work

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle/internal/format/surface"
	"fettle/internal/shape/relief"
)

// write leaves a map as a file and gives its path.
func writeMap(t *testing.T, name string, m *relief.Map) string {
	t.Helper()
	var b bytes.Buffer
	if err := surface.Write(&b, name, m, surface.Info{}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// cusps are those of a 6 mm ball, step mm apart, as arcs (height h = R −
// √(R² − step²/4)), on a slope, with a wave of 3 µm that is 20 mm long.
func cusps(w, h int, dx, step float64) *relief.Map {
	m := relief.NewMap(relief.Grid{W: w, H: h, DX: dx, DY: dx})
	m.Base = 12
	for i := range m.Z {
		x := m.X(i % w)
		u := math.Mod(x, step) - step/2
		m.Z[i] = float32(3 - math.Sqrt(9-u*u) + 0.001*x + 0.003*math.Sin(2*math.Pi*x/20))
	}
	return m
}

// Marks 0.3 mm apart get a cut-off of 0.8 mm, the first of the series that is
// 2.5 spacings or more, and give the closed forms of an arc nearly a parabola:
// h = s²/8R, Ra = 4h/(9√3) = 0.2566 h, Rq = 2h/(3√5) = 0.2981 h.
func TestTextureOfCusps(t *testing.T) {
	h := 0.3 * 0.3 / (8 * 3) * 1000
	for name, m := range map[string]*relief.Map{"profile.x3p": cusps(4001, 1, 0.002, 0.3), "map.sdf": cusps(900, 700, 0.01, 0.3)} {
		tx, _, err := TextureFile(t.Context(), TextureRequest{Path: writeMap(t, name, m)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if tx.CutoffMM == nil || *tx.CutoffMM != 0.8 || tx.PeriodMM == nil || math.Abs(*tx.PeriodMM-0.3) > 0.003 || tx.FilterEnds != "dropped" || !strings.Contains(tx.CutoffFrom, "2.5 spacings") {
			t.Errorf("%s: cut-off %v from %q, marks %v, ends %s", name, tx.CutoffMM, tx.CutoffFrom, tx.PeriodMM, tx.FilterEnds)
		}
		names := [2]string{"Ra", "Rq"}
		if tx.Kind == "map" {
			names = [2]string{"Sa", "Sq"}
		}
		a, _ := tx.Parameters.Get(names[0])
		q, _ := tx.Parameters.Get(names[1])
		// The filter leaves 2^−(0.8/0.3)² = 0.7 % of the fundamental to the waviness.
		if math.Abs(a/h-0.2566) > 0.004 || math.Abs(q/h-0.2981) > 0.004 {
			t.Errorf("%s: %s %.4f h, %s %.4f h, want 0.2566 and 0.2981", name, names[0], a/h, names[1], q/h)
		}
	}
}

// Without regular marks the roughness chooses: ISO 4288 has 0.8 mm for Ra over
// 0.1 to 2 µm and 0.25 mm for 0.02 to 0.1 µm.
func TestCutoffByRoughness(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct{ sigma, cutoff float64 }{{0.5, 0.8}, {0.06, 0.25}} {
		m := relief.NewMap(relief.Grid{W: 6000, H: 1, DX: 0.001, DY: 0.001})
		for i := range m.Z {
			m.Z[i] = float32(rng.NormFloat64() * c.sigma / 1000)
		}
		tx, _, err := TextureFile(t.Context(), TextureRequest{Path: writeMap(t, "noise.csv", m)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if tx.PeriodMM != nil || tx.CutoffMM == nil || *tx.CutoffMM != c.cutoff || tx.Sections != 5 {
			t.Errorf("σ %g µm: marks %v, cut-off %v (%s), %d sections", c.sigma, tx.PeriodMM, tx.CutoffMM, tx.CutoffFrom, tx.Sections)
		}
	}
}

// Marks too wide for the measurement are never filtered away in silence.
func TestCutoffThatDoesNotFit(t *testing.T) {
	path := writeMap(t, "wide.x3p", cusps(1200, 1, 0.01, 2))
	tx, _, err := TextureFile(t.Context(), TextureRequest{Path: path}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if tx.CutoffMM != nil || !strings.Contains(tx.CutoffFrom, "want a cut-off of 8 mm") {
		t.Errorf("cut-off %v: %s", tx.CutoffMM, tx.CutoffFrom)
	}
	tx, _, err = TextureFile(t.Context(), TextureRequest{Path: path, Cutoff: "2.5"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(tx.Notes, " "), "takes part of them away") {
		t.Errorf("notes %q", tx.Notes)
	}
}

// The form asked for is taken off: cusps on a hollow of 25 mm.
func TestTextureOnForm(t *testing.T) {
	m := cusps(700, 500, 0.01, 0.3)
	for i := range m.Z {
		y := m.Y(i/m.W) - m.Y(m.H/2)
		m.Z[i] += float32(25 - math.Sqrt(625-y*y))
	}
	tx, files, err := TextureFile(t.Context(), TextureRequest{Path: writeMap(t, "hollow.x3p", m), Form: "cylinder", Along: "x", Write: filepath.Join(t.TempDir(), "left.x3p")}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if tx.Form.RadiusMM == nil || math.Abs(*tx.Form.RadiusMM+25) > 0.1 {
		t.Errorf("form %+v", tx.Form)
	}
	if sa, _ := tx.Parameters.Get("Sa"); math.Abs(sa-0.2566*3.75) > 0.02 {
		t.Errorf("Sa %g", sa)
	}
	if ra, _ := tx.Profiles[0].Parameters.Get("Ra"); math.Abs(ra-0.2566*3.75) > 0.02 || tx.Profiles[0].Row != 250 {
		t.Errorf("Ra %g of row %d", ra, tx.Profiles[0].Row)
	}
	data, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	if s, err := surface.Read("left.x3p", data, surface.Options{}); err != nil || s.Map.W >= 700 {
		t.Errorf("what is left: %v", err)
	}
}
