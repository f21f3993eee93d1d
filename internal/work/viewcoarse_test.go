package work

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"

	"fettle"
	"fettle/internal/output/buffer"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
)

// A view is made coarser with all that stands in it. The truth is the sphere itself: 4/3 π r³, and
// a bend of 1/r both ways at each of its corners.
func TestCoarseView(t *testing.T) {
	const radius = 12.0
	m := form.Sphere(radius, 64, 96)
	if len(m.Tri) < 8000 {
		t.Fatalf("the sphere has %d triangles, too few to try this on", len(m.Tri))
	}
	side := make([]int32, len(m.Tri))
	for i := range side {
		a, b, c := m.Corners(i)
		if a.Z+b.Z+c.Z < 0 {
			side[i] = 1
		}
	}
	bend := make([]float32, 2*len(m.Pos))
	for i := range bend {
		bend[i] = 1 / radius
	}
	height := make([]float32, len(m.Pos))
	for i, p := range m.Pos {
		height[i] = float32(p.Z)
	}
	var view bytes.Buffer
	arrays := append(meshArrays(m), buffer.Array{Name: "zone", Width: 1, I: side}, buffer.Array{Name: "bend", Width: 2, F: bend}, buffer.Array{Name: "height", Width: 1, F: height})
	if err := buffer.Write(&view, ViewAbout{File: "ball.stl", Up: [3]float64{0, 0, 1}, Zones: []string{"upper", "lower"}}, arrays...); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := CoarseView(t.Context(), view.Bytes(), 3000, &out, nil); err != nil {
		t.Fatal(err)
	}
	about, got, err := buffer.Read(out.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	var says struct {
		ViewAbout
		From  int     `json:"simplified_from"`
		Error float64 `json:"error_mm"`
	}
	if err := json.Unmarshal(about, &says); err != nil {
		t.Fatal(err)
	}
	if says.File != "ball.stl" || len(says.Zones) != 2 || says.From != len(m.Tri) {
		t.Errorf("it is about %s", about)
	}
	few, at := meshOf(got)
	if few == nil || len(few.Tri) > 3000 || len(few.Tri) < 2500 {
		t.Fatalf("%d arrays, mesh %v", len(got), few != nil)
	}
	measured := mesh.Measure(few, nil)
	if want := 4.0 / 3 * math.Pi * radius * radius * radius; !measured.Closed || math.Abs(measured.Volume/want-1) > 0.01 {
		t.Errorf("volume %.1f, truth %.1f", measured.Volume, want)
	}
	if says.Error <= 0 || says.Error > 0.2 {
		t.Errorf("it is said to be %.4f mm off", says.Error)
	}
	for i, a := range got {
		switch a.Name {
		case "zone":
			for f, z := range a.I {
				p, q, r := few.Corners(f)
				if top := max(p.Z, q.Z, r.Z); z == 1 && top > 1e-4 {
					t.Fatalf("a triangle of the lower half reaches up to %g", top)
				}
			}
		case "height":
			for v, h := range a.F {
				if math.Abs(float64(h)-few.Pos[v].Z) > 1e-5 {
					t.Fatalf("a corner at %v has the height %g", few.Pos[v], h)
				}
			}
		case "bend":
			if len(a.F) != 2*len(few.Pos) || at[i] != ofCorners {
				t.Errorf("%d bends for %d corners", len(a.F)/2, len(few.Pos))
			}
		}
	}

	var same bytes.Buffer
	if err := CoarseView(t.Context(), view.Bytes(), len(m.Tri), &same, nil); err != nil || !bytes.Equal(same.Bytes(), view.Bytes()) {
		t.Errorf("a view that is small enough was changed: %v", err)
	}
	for _, bad := range []string{"", "FETTLE1\n", "solid ball\nendsolid"} {
		if err := CoarseView(t.Context(), []byte(bad), 3000, &out, nil); fettle.CodeOf(err) != fettle.BadFile {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
