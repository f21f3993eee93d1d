//go:build outside

package outside

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/shape/field"
	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/cavity"
	"fettle/internal/trade/reach"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// opened rolls spheres round a part by mathematical morphology of a fine grid:
// VTK fills the part, SciPy finds where middles of spheres can be, which of those
// hang together with the outside, and how far each point asked about is from
// them. Arguments: the model as OBJ, a text file of points, the cell, radii.
// Prints one list of distances for each radius.
const opened = `
import json
import sys
import numpy as np
import vtk
from scipy.ndimage import distance_transform_edt, label, map_coordinates
from vtk.util.numpy_support import vtk_to_numpy

model, points, cell, radii = sys.argv[1], np.loadtxt(sys.argv[2]), float(sys.argv[3]), [float(a) for a in sys.argv[4:]]
reader = vtk.vtkOBJReader()
reader.SetFileName(model)
reader.Update()
b = np.array(reader.GetOutput().GetBounds()).reshape(3, 2)
margin = 2.2 * max(radii)
origin = b[:, 0] - margin - 0.37 * cell
n = np.ceil((b[:, 1] + margin - origin) / cell).astype(int) + 1
image = vtk.vtkImageData()
image.SetSpacing(cell, cell, cell)
image.SetOrigin(*origin)
image.SetExtent(0, int(n[0]) - 1, 0, int(n[1]) - 1, 0, int(n[2]) - 1)
image.AllocateScalars(vtk.VTK_UNSIGNED_CHAR, 1)
image.GetPointData().GetScalars().Fill(1)
stencil = vtk.vtkPolyDataToImageStencil()
stencil.SetInputData(reader.GetOutput())
stencil.SetOutputOrigin(*origin)
stencil.SetOutputSpacing(cell, cell, cell)
stencil.SetOutputWholeExtent(image.GetExtent())
fill = vtk.vtkImageStencil()
fill.SetInputData(image)
fill.SetStencilConnection(stencil.GetOutputPort())
fill.SetBackgroundValue(0)
fill.Update()
solid = vtk_to_numpy(fill.GetOutput().GetPointData().GetScalars()).reshape(n[::-1]) > 0
room = distance_transform_edt(~solid) * cell - cell / 2
at = ((points - origin) / cell)[:, ::-1].T
for r in radii:
    parts, _ = label(room >= r - cell / 2, structure=np.ones((3, 3, 3)))
    far = distance_transform_edt(parts != parts[0, 0, 0]) * cell
    print(json.dumps([round(float(x), 4) for x in map_coordinates(far, at, order=1)]))
`

// Where spheres reach on plates with random cuts, beside SciPy's morphology.
func TestReachLikeMorphology(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 5))
	dir := t.TempDir()
	const cell = 0.12
	radii := []float64{0.8, 1.3, 2}
	for i := range 5 {
		m := cutPlate(rng)
		ctx := context.Background()
		s, d, err := survey.Of(ctx, m, mesh.NewTopology(m), survey.Options{Up: r3.Vec{Z: 1}})
		if err != nil {
			t.Fatal(err)
		}
		f, err := field.Distance(ctx, d.Tree, field.GridFor(m.Box(), 0.4, 2))
		if err != nil {
			t.Fatal(err)
		}
		way, err := field.Passage(ctx, f)
		if err != nil {
			t.Fatal(err)
		}
		in := reach.Input{Mesh: m, Survey: s, Detail: d, Void: &cavity.Void{Field: f, Passage: way}}
		for _, r := range radii {
			in.Media = append(in.Media, fettle.Media{Shape: fettle.Sphere, SizeMM: [2]float64{2 * r, 2 * r}, Worn: 1})
		}
		res, err := reach.Of(ctx, in)
		if err != nil {
			t.Fatal(err)
		}
		model, points := filepath.Join(dir, fmt.Sprintf("%d.obj", i)), filepath.Join(dir, fmt.Sprintf("%d.txt", i))
		var text strings.Builder
		for _, p := range m.Pos {
			fmt.Fprintln(&text, "v", p.X, p.Y, p.Z)
		}
		for _, v := range m.Tri {
			fmt.Fprintln(&text, "f", v[0]+1, v[1]+1, v[2]+1)
		}
		writeText(t, model, text.String())
		text.Reset()
		for k := range res.Skin.Tri {
			a, b, c := res.Skin.Corners(k)
			p := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
			fmt.Fprintln(&text, p.X, p.Y, p.Z)
		}
		writeText(t, points, text.String())
		args := []string{"-c", opened, model, points, fmt.Sprint(cell)}
		for _, r := range radii {
			args = append(args, fmt.Sprint(r))
		}
		dec := json.NewDecoder(strings.NewReader(string(run(t, "python3-vtk9 python3-scipy", python, args...))))
		for k, r := range radii {
			var far []float64
			if err := dec.Decode(&far); err != nil {
				t.Fatal(err)
			}
			compareReach(t, i, in, res, r, cell, far, res.Media[k].ReachedShare)
		}
	}
}

// compareReach holds a sphere's reach against how far each facet is from the
// nearest middle that the sphere can have. A facet that is reached is the radius
// away, to a cell and a half. The other way round a grid sees less: in a corner, or
// below a rim that the sphere rests on, a facet x away from being reached is farther
// from the middle by x²/2r only. So it may take bands of √(2 r cell) beside sharp
// edges for reached that are not, and nothing else; half of that is what random
// plates show at most.
func compareReach(t *testing.T, part int, in reach.Input, res *reach.Result, r, cell float64, far []float64, share float64) {
	t.Helper()
	wrong, more, area := 0.0, 0.0, 0.0
	worst := ""
	for f, reach := range res.Radius() {
		_, a := res.Skin.Normal(f)
		area += a
		if float64(reach) < r && far[f] <= r+cell {
			more += a
		}
		if float64(reach) >= r+2*cell && far[f] > r+1.5*cell {
			wrong += a
			p, q, s := res.Skin.Corners(f)
			worst = fmt.Sprintf("at %.2f reach %.2f, for SciPy %.2f from the nearest middle", r3.Scale(1.0/3, r3.Add(p, r3.Add(q, s))), reach, far[f])
		}
	}
	edges := in.Survey.SharpEdgeMM
	for _, c := range in.Survey.Corners {
		edges += c.LengthMM
	}
	band := 2 * edges * math.Sqrt(2*r*cell)
	t.Logf("part %d, radius %.1f: %.3f reached; SciPy has %.4f less and %.4f more, bands beside edges %.4f", part, r, share, wrong/area, more/area, band/area)
	if wrong > 1e-3*area || more > band/2 {
		t.Errorf("part %d, radius %.1f: SciPy has %.4f less and %.4f more of the area reached, bands beside edges %.4f: %s", part, r, wrong/area, more/area, band/area, worst)
	}
}

func writeText(t *testing.T, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// cutPlate is a small plate with two cuts of random kind and size.
func cutPlate(rng *rand.Rand) *mesh.Mesh {
	f := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	var cuts []form.Cut
	for i := range 2 {
		c := r2.Vec{X: float64(2*i-1) * 6}
		d, deep := f(2.5, 9), f(1.5, 6)
		switch rng.IntN(6) {
		case 0:
			cuts = append(cuts, form.Through(form.Circle(c, d, 64)))
		case 1:
			cuts = append(cuts, form.Blind(form.Circle(c, d, 64), deep))
		case 2:
			cuts = append(cuts, form.Blind(form.Rectangle(c, 9, d, min(f(0, 1.5), d/3), 8), deep))
		case 3:
			cuts = append(cuts, form.Countersunk(c, d/2, 0.9*d, 90, 64))
		case 4:
			cuts = append(cuts, form.Blind(form.Obround(c, 10, d/2, f(0, 180), 24), deep))
		case 5:
			// A bottle: narrow at the mouth and wide inside.
			cuts = append(cuts, form.Cut{Sections: []form.Section{
				{Loop: form.Circle(c, d/2, 64)}, {Loop: form.Circle(c, d/2, 64), Depth: 2},
				{Loop: form.Circle(c, d, 64), Depth: 3}, {Loop: form.Circle(c, d, 64), Depth: 6},
			}})
		}
	}
	return form.Plate(form.Rectangle(r2.Vec{}, 26, 14, 1, 8), 7.5, cuts...)
}
