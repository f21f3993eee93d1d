package patch

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// bare is a mesh as one free-form face, so that nothing is known but facets.
func bare(m *mesh.Mesh) *Patches {
	p := &Patches{Mesh: m, Topology: mesh.NewTopology(m), Face: make([]int32, len(m.Tri)), Faces: []Face{{}}}
	p.measure()
	return p
}

// torusBend is the curvature of a torus round Z at a point of it (do Carmo,
// Differential Geometry of Curves and Surfaces, §3-3, example 1 and exercise):
// 1/tube and cos v / (ring + tube cos v).
func torusBend(ring, tube float64, p r3.Vec) (hi, lo float64) {
	c := (math.Hypot(p.X, p.Y) - ring) / tube
	other := c / (ring + tube*c)
	return math.Max(1/tube, other), math.Min(1/tube, other)
}

// errors are the largest and the median error of both curvatures against the
// truth, as a share of scale.
func errorsOf(m *mesh.Mesh, c *Curvature, truth func(r3.Vec) (hi, lo float64), scale float64) (worst, median float64) {
	var all []float64
	for v, p := range m.Pos {
		hi, lo := truth(p)
		b := c.Vertex[v]
		all = append(all, max(math.Abs(float64(b.Max)-hi), math.Abs(float64(b.Min)-lo))/scale)
	}
	slices.Sort(all)
	return all[len(all)-1], all[len(all)/2]
}

// From facets alone the error must fall at least with the facets' size: to a half
// at each halving. On a sphere the weights are exact.
func TestCurvatureConverges(t *testing.T) {
	torus := func(p r3.Vec) (float64, float64) { return torusBend(20, 5, p) }
	ball := func(r3.Vec) (float64, float64) { return 0.1, 0.1 }
	for _, c := range []struct {
		name  string
		mesh  func(n int) *mesh.Mesh
		truth func(r3.Vec) (float64, float64)
		scale float64
		first float64 // largest error of the coarsest
	}{
		{"torus", func(n int) *mesh.Mesh { return form.Torus(20, 5, 60*n, 24*n) }, torus, 0.2, 0.02},
		{"ball", func(n int) *mesh.Mesh { return form.Icosphere(10, 2+int(math.Log2(float64(n)))) }, ball, 0.1, 1e-6},
	} {
		before := math.Inf(1)
		for i, n := range []int{1, 2, 4} {
			m := c.mesh(n)
			worst, median := errorsOf(m, bare(m).Curvature(), c.truth, c.scale)
			t.Logf("%s %d triangles: largest error %.2g, median %.2g", c.name, len(m.Tri), worst, median)
			if i == 0 && worst > c.first {
				t.Errorf("%s: error %.3g, want at most %.3g", c.name, worst, c.first)
			}
			if median > max(before/2, 1e-6) {
				t.Errorf("%s with %d triangles: median error %.3g, only from %.3g", c.name, len(m.Tri), median, before)
			}
			before = median
		}
	}
}

// On elementary surfaces that are recognised, curvature is exact however coarse
// the facets are: 1/r and 0, hollow negative, and cos(half)/r on a cone.
func TestCurvatureOfElementarySurfaces(t *testing.T) {
	for _, n := range []int{12, 32} {
		m := form.Cylinder(10, 20, n)
		p := Find(m, mesh.NewTopology(m))
		c := p.Curvature()
		for f := range m.Tri {
			face := p.Faces[p.Face[f]]
			want := [2]float32{}
			if face.Kind == geom.Cylinder {
				want[0] = 0.2
			}
			if got := c.Facet[f]; math.Abs(float64(got[0]-want[0])) > 1e-6 || math.Abs(float64(got[1]-want[1])) > 1e-6 {
				t.Fatalf("%d sides, facet %d on a %v: %v, want %v", n, f, face.Kind, got, want)
			}
		}
	}
	m := form.Torus(20, 5, 120, 48)
	p := Find(m, mesh.NewTopology(m))
	c := p.Curvature()
	hollow := 0
	for _, b := range c.Vertex {
		if b.Min < -0.05 {
			hollow++
		}
	}
	if hollow == 0 {
		t.Error("the inside of a ring bends both ways")
	}
}

// Directions: round a cylinder the larger curvature runs across the axis.
func TestDirections(t *testing.T) {
	m := form.Cylinder(10, 20, 48)
	p := Find(m, mesh.NewTopology(m))
	b := p.Curvature()
	for v, q := range m.Pos {
		if q.X*q.X+q.Y*q.Y < 20 || b.Vertex[v].Max < 0.1 {
			continue // its largest share is the flat end
		}
		d := double(b.Vertex[v].MaxDir)
		if math.Abs(d.Z) > 1e-3 || math.Abs(norm(d)-1) > 1e-5 {
			t.Fatalf("vertex %d: direction %v", v, d)
		}
	}
}

// With noise on the vertices the estimate of the error must be of the error's
// size: for the typical vertex within a factor of three, either way.
func TestNoiseIsOfTheErrorsSize(t *testing.T) {
	for _, sigma := range []float64{0, 0.0005, 0.005} {
		m := form.Torus(20, 5, 160, 64)
		r := rand.New(rand.NewPCG(3, 4))
		truth := make([]r3.Vec, len(m.Pos))
		for i := range m.Pos {
			truth[i] = m.Pos[i]
			m.Pos[i] = r3.Add(m.Pos[i], r3.Vec{X: sigma * r.NormFloat64(), Y: sigma * r.NormFloat64(), Z: sigma * r.NormFloat64()})
		}
		c := bare(m).Curvature()
		var errs, noise []float64
		for v, b := range c.Vertex {
			hi, lo := torusBend(20, 5, truth[v])
			errs = append(errs, math.Hypot(float64(b.Max)-hi, float64(b.Min)-lo)/math.Sqrt2)
			noise = append(noise, float64(b.Noise))
		}
		slices.Sort(errs)
		slices.Sort(noise)
		e, n := errs[len(errs)/2], noise[len(noise)/2]
		t.Logf("sigma %g: median error %.3g, median noise %.3g", sigma, e, n)
		if sigma > 0 && (n < e/3 || n > 3*e) {
			t.Errorf("sigma %g: noise %.3g for an error of %.3g", sigma, n, e)
		}
	}
}
