package surface

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"

	"fettle/internal/format/intake"
	"fettle/internal/shape/relief"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// nan stands for a missing height in the tables below.
var nan = math.NaN()

// heights are all heights of a surface in µm, rounded to a picometre.
func heights(s *Surface) []float64 {
	var z []float64
	for j := range s.Map.H {
		for i := range s.Map.W {
			z = append(z, math.Round(s.Map.At(i, j)*1e9)/1e6)
		}
	}
	return z
}

// want compares a surface with its heights in µm.
func want(t *testing.T, s *Surface, err error, w, h int, dx, dy float64, z ...float64) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	m := s.Map
	if m.W != w || m.H != h || math.Abs(m.DX-dx) > 1e-12 || math.Abs(m.DY-dy) > 1e-12 {
		t.Errorf("%d × %d at %g × %g mm, want %d × %d at %g × %g", m.W, m.H, m.DX, m.DY, w, h, dx, dy)
	}
	same := cmp.Comparer(func(a, b float64) bool { return a == b || a != a && b != b || math.Abs(a-b) < 2e-6+6e-8*math.Abs(a) })
	if d := cmp.Diff(z, heights(s), same); d != "" {
		t.Errorf("heights in µm (-want +got):\n%s", d)
	}
}

// zipped packs parts in order.
func zipped(parts ...string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		w, err := z.Create(parts[i])
		if err == nil {
			_, err = w.Write([]byte(parts[i+1]))
		}
		if err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// little packs values, least significant byte first.
func little(values ...any) string {
	var b bytes.Buffer
	for _, v := range values {
		if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
			panic(err)
		}
	}
	return b.String()
}

// sound fails the test unless there is a one-line fault or a surface that can
// be worked with.
func sound(t testing.TB, s *Surface, err error) bool {
	t.Helper()
	if err != nil {
		var fault *intake.Fault
		if !errors.As(err, &fault) || strings.ContainsAny(err.Error(), "\n\r") || len(err.Error()) > 400 {
			t.Fatalf("not a one-line fault: %q", err)
		}
		return false
	}
	m := s.Map
	if m.W < 2 || m.H < 1 || len(m.Z) != m.W*m.H || !spacing(m.DX) || !spacing(m.DY) || s.Format == "" {
		t.Fatalf("%d × %d cells of %g × %g mm with %d heights", m.W, m.H, m.DX, m.DY, len(m.Z))
	}
	if s.Missing() == len(m.Z) {
		t.Fatal("no height at all")
	}
	for _, z := range m.Z {
		if math.IsInf(float64(z), 0) {
			t.Fatal("an infinite height")
		}
	}
	for _, n := range s.Notes {
		if n == "" || strings.ContainsAny(n, "\n\r") {
			t.Fatalf("note %q", n)
		}
	}
	return true
}

// What is written is read again: every format, profiles and maps, holes, any
// base and place.
func TestRoundTrips(t *testing.T) {
	for ext, within := range map[string]float64{".x3p": 1e-7, ".sdf": 1e-7, ".csv": 1e-7, ".txt": 1e-7, ".asc": 1e-7} {
		t.Run(ext, func(t *testing.T) {
			rapid.Check(t, func(r *rapid.T) {
				g := relief.Grid{W: rapid.IntRange(2, 9).Draw(r, "w"), H: rapid.IntRange(1, 5).Draw(r, "h"),
					DX: rapid.SampledFrom([]float64{0.0005, 0.01, 0.25}).Draw(r, "dx"), DY: rapid.SampledFrom([]float64{0.0005, 0.02}).Draw(r, "dy")}
				g.X0, g.Y0 = rapid.SampledFrom([]float64{0, -3.5, 12}).Draw(r, "x0"), rapid.SampledFrom([]float64{0, 7}).Draw(r, "y0")
				if g.H == 1 {
					g.DY = g.DX
				}
				m := relief.NewMap(g)
				m.Base = rapid.SampledFrom([]float64{0, 0.1, -42, 300}).Draw(r, "base")
				for i := range m.Z {
					if i == 0 || rapid.IntRange(0, 4).Draw(r, "there") > 0 {
						m.Z[i] = rapid.Float32Range(-0.5, 0.5).Draw(r, "z")
					}
				}
				var b, again bytes.Buffer
				if err := Write(&b, "map"+ext, m, Info{Comment: "a test"}); err != nil {
					r.Fatal(err)
				}
				if err := Write(&again, "map"+ext, m, Info{Comment: "a test"}); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
					r.Fatal("not the same bytes twice")
				}
				s, err := Read("map"+ext, b.Bytes(), Options{})
				if err != nil {
					r.Fatalf("%v\n%.300s", err, b.String())
				}
				got := s.Map
				if got.W != g.W || got.H != g.H || math.Abs(got.DX-g.DX) > 1e-9*g.DX || math.Abs(got.DY-g.DY) > 1e-9*g.DY {
					r.Fatalf("grid %+v, want %+v", got.Grid, g)
				}
				if ext != ".sdf" && (math.Abs(got.X0-g.X0) > 1e-9 || g.H > 1 && math.Abs(got.Y0-g.Y0) > 1e-9) {
					r.Fatalf("place %g %g, want %g %g", got.X0, got.Y0, g.X0, g.Y0)
				}
				for i := range m.Z {
					a, b := m.At(i%g.W, i/g.W), got.At(i%g.W, i/g.W)
					if (a != a) != (b != b) || math.Abs(a-b) > within {
						r.Fatalf("cell %d: %v, want %v", i, b, a)
					}
				}
				if len(s.Notes) > 0 {
					r.Fatalf("notes %q", s.Notes)
				}
			})
		})
	}
}

func TestNamesThatCannotBeWritten(t *testing.T) {
	for _, name := range []string{"map", "map.stl", "map.x3p.png", ""} {
		if err := Write(&bytes.Buffer{}, name, relief.NewMap(relief.Grid{W: 2, H: 1, DX: 1, DY: 1}), Info{}); err == nil || !strings.Contains(err.Error(), "use .x3p") {
			t.Errorf("%q: %v", name, err)
		}
	}
	if err := Writable(`C:\maps\A.X3P`); err != nil {
		t.Error(err)
	}
}

func TestNotASurface(t *testing.T) {
	for name, data := range map[string]string{
		"empty.x3p": "", "words.txt": "Dear customer,\nthe parts are ready.\n", "picture.png": "\x89PNG\r\n\x1a\n\x00\x00\x00", "other.zip": string(zipped("readme.txt", "hello")),
	} {
		s, err := Read(name, []byte(data), Options{})
		if err == nil {
			t.Errorf("%s was read as %+v", name, s)
		}
		sound(t, s, err)
	}
}
