package patch

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// roundBox is a box with all its edges and corners rounded: a ball's octants
// moved apart, k steps to a quarter turn.
func roundBox(x, y, z, r float64, k int) *mesh.Mesh {
	m := &mesh.Mesh{}
	at := map[r3.Vec]uint32{}
	vertex := func(p r3.Vec) uint32 {
		q := r3.Vec{X: math.Round(p.X * 1e9), Y: math.Round(p.Y * 1e9), Z: math.Round(p.Z * 1e9)}
		if i, ok := at[q]; ok {
			return i
		}
		at[q] = uint32(len(m.Pos))
		m.Pos = append(m.Pos, p)
		return at[q]
	}
	grid := make([][]uint32, 0, 2*(k+1))
	for half := range 2 {
		for i := range k + 1 {
			lat := math.Pi / 2 * (1 - float64(half) - float64(i)/float64(k))
			var row []uint32
			for quarter := range 4 {
				for j := range k + 1 {
					lon := math.Pi / 2 * (float64(quarter) + float64(j)/float64(k))
					sx, sy := [4]float64{1, -1, -1, 1}[quarter], [4]float64{1, 1, -1, -1}[quarter]
					row = append(row, vertex(r3.Vec{
						X: sx*(x/2-r) + r*math.Cos(lat)*math.Cos(lon),
						Y: sy*(y/2-r) + r*math.Cos(lat)*math.Sin(lon),
						Z: float64(1-2*half)*(z/2-r) + r*math.Sin(lat),
					}))
				}
			}
			grid = append(grid, row)
		}
	}
	tri := func(a, b, c uint32) {
		if a != b && b != c && c != a {
			m.Tri = append(m.Tri, [3]uint32{a, b, c})
		}
	}
	for i := range len(grid) - 1 {
		for j := range grid[i] {
			n := (j + 1) % len(grid[i])
			tri(grid[i][j], grid[i+1][j], grid[i+1][n])
			tri(grid[i][j], grid[i+1][n], grid[i][n])
		}
	}
	first, last := grid[0], grid[len(grid)-1]
	s := k + 1
	tri(first[0], first[s], first[2*s])
	tri(first[0], first[2*s], first[3*s])
	tri(last[0], last[2*s], last[s])
	tri(last[0], last[3*s], last[2*s])
	return m
}

// turned is a mesh moved by a random rigid motion and, as a file would,
// rounded to single precision.
func turned(m *mesh.Mesh, r *rand.Rand) *mesh.Mesh {
	axis := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	rot := r3.NewRotation(2*math.Pi*r.Float64(), axis)
	shift := r3.Vec{X: 20 * r.NormFloat64(), Y: 20 * r.NormFloat64(), Z: 20 * r.NormFloat64()}
	out := &mesh.Mesh{Tri: m.Tri, Pos: make([]r3.Vec, len(m.Pos))}
	for i, p := range m.Pos {
		q := r3.Add(rot.Rotate(p), shift)
		out.Pos[i] = r3.Vec{X: float64(float32(q.X)), Y: float64(float32(q.Y)), Z: float64(float32(q.Z))}
	}
	return out
}

func count(p *Patches) map[string]int {
	n := map[string]int{}
	for i := range p.Faces {
		k := p.Faces[i].Kind.String()
		if p.Faces[i].Hollow && p.Faces[i].Kind != geom.Free {
			k = "hollow " + k
		}
		n[k]++
	}
	return n
}

func sharpLength(p *Patches) (ridge, valley float64) {
	for t, s := range p.Sharp {
		for k := range s {
			if !s[k] {
				continue
			}
			v := p.Mesh.Tri[t]
			l := norm(r3.Sub(p.Mesh.Pos[v[k]], p.Mesh.Pos[v[(k+1)%3]])) / 2 // met from both sides
			if p.Turn[t][k] > 0 {
				ridge += l
			} else {
				valley += l
			}
		}
	}
	return ridge, valley
}

func polygon(d float64, n int) float64 { return float64(n) * d * math.Sin(math.Pi/float64(n)) }

// Parts whose faces and sharp edges can be counted on the drawing. Each is asked
// as drawn, and turned at random in single precision.
func TestFacesAndEdges(t *testing.T) {
	type want map[string]int
	plain := form.Rectangle(r2.Vec{}, 60, 40, 0, 1)
	cases := []struct {
		name          string
		mesh          *mesh.Mesh
		faces         want
		ridge, valley float64
	}{
		{"box", form.Box(10, 20, 30), want{"plane": 6}, 240, 0},
		{"cone", form.Frustum(10, 4, 8, 48), want{"plane": 2, "cone": 1}, polygon(10, 48) + polygon(4, 48), 0},
		{"ball by latitude", form.Sphere(10, 30, 60), want{"sphere": 1}, 0, 0},
		{"ball of like triangles", form.Icosphere(10, 3), want{"sphere": 1}, 0, 0},
		{"ring", form.Torus(20, 5, 80, 40), want{"torus": 1}, 0, 0},
		{"rounded box, 4 steps", roundBox(40, 30, 20, 3, 4), want{"plane": 6, "cylinder": 12, "sphere": 8}, 0, 0},
		{"rounded box, 16 steps", roundBox(40, 30, 20, 3, 16), want{"plane": 6, "cylinder": 12, "sphere": 8}, 0, 0},
		{"obround slot", form.Plate(plain, 5, form.Through(form.Obround(r2.Vec{}, 20, 6, 30, 12))),
			want{"plane": 8, "hollow cylinder": 2}, 2*200 + 4*5 + 2*(2*14+polygon(6, 24)), 0},
		{"pocket with rounded corners", form.Plate(plain, 5, form.Blind(form.Rectangle(r2.Vec{}, 20, 12, 2, 6), 3)),
			want{"plane": 11, "hollow cylinder": 4},
			2*200 + 4*5 + 2*16 + 2*8 + polygon(4, 24), 2*16 + 2*8 + polygon(4, 24)},
		{"countersunk", form.Plate(plain, 5, form.Countersunk(r2.Vec{}, 4, 8, 90, 32)),
			want{"plane": 6, "hollow cylinder": 1, "hollow cone": 1}, 2*200 + 4*5 + 2*polygon(4, 32) + polygon(8, 32), 0},
		// A shaft with a chamfer of 45°, and one with a rounded end.
		{"chamfer", form.Revolve([]r2.Vec{{}, {X: 5}, {X: 5, Y: 9}, {X: 4, Y: 10}, {Y: 10}}, 32),
			want{"plane": 2, "cylinder": 1, "cone": 1}, 2*polygon(10, 32) + polygon(8, 32), 0},
		{"rounded end", form.Revolve(roundedEnd(), 48),
			want{"plane": 2, "cylinder": 1, "torus": 1}, polygon(10, 48), 0},
		// A ridge of 16° between planes, and a cap that meets its shaft at 60°.
		{"roof", roof(16), want{"plane": 7}, 0, 0},
		{"cap", form.Revolve(cap30(), 48), want{"plane": 1, "cylinder": 1, "sphere": 1}, 2 * polygon(10, 48), 0},
	}
	for _, n := range []int{12, 16, 24, 32, 64} {
		cases = append(cases, struct {
			name          string
			mesh          *mesh.Mesh
			faces         want
			ridge, valley float64
		}{fmt.Sprintf("cylinder of %d sides", n), form.Cylinder(10, 20, n), want{"plane": 2, "cylinder": 1}, 2 * polygon(10, n), 0})
	}
	r := rand.New(rand.NewPCG(5, 6))
	for _, c := range cases {
		for _, how := range []string{"as drawn", "turned"} {
			m := c.mesh
			if how == "turned" {
				m = turned(m, r)
			}
			p := Find(m, mesh.NewTopology(m))
			if d := cmp.Diff(map[string]int(c.faces), count(p)); d != "" {
				t.Errorf("%s, %s: faces (-want +got)\n%s", c.name, how, d)
			}
			if c.name == "roof" {
				continue // its own test
			}
			ridge, valley := sharpLength(p)
			if math.Abs(ridge-c.ridge) > 1e-3 || math.Abs(valley-c.valley) > 1e-3 {
				t.Errorf("%s, %s: sharp edges %.3f and %.3f in valleys, want %.3f and %.3f", c.name, how, ridge, valley, c.ridge, c.valley)
			}
		}
	}
}

func roundedEnd() []r2.Vec {
	pts := []r2.Vec{{}, {X: 5}}
	for i := range 7 {
		s, c := math.Sincos(math.Pi / 12 * float64(i))
		pts = append(pts, r2.Vec{X: 3 + 2*c, Y: 8 + 2*s})
	}
	return append(pts, r2.Vec{Y: 10})
}

// cap30 is a shaft of radius 5 under a piece of a ball of radius 10.
func cap30() []r2.Vec {
	pts := []r2.Vec{{}, {X: 5}}
	h := 10 * math.Cos(math.Pi/6)
	for i := range 9 {
		s, c := math.Sincos(math.Pi / 6 * (1 - float64(i)/8))
		pts = append(pts, r2.Vec{X: 10 * s, Y: 12 + 10*c - h})
	}
	return pts
}

// roof is a bar whose top is two planes that meet at the given angle.
func roof(deg float64) *mesh.Mesh {
	h := 10 * math.Tan(deg/2*math.Pi/180)
	return form.Plate([]r2.Vec{{X: -10}, {X: 10}, {X: 10, Y: 5}, {Y: 5 + h}, {X: -10, Y: 5}}, 30)
}

// A real edge of a few degrees between planes is seen, and sharp from
// SharpAngle on.
func TestRoof(t *testing.T) {
	for _, deg := range []float64{4, 8, 12, 16, 25} {
		m := roof(deg)
		p := Find(m, mesh.NewTopology(m))
		ridge, _ := sharpLength(p)
		want := 2*(20+5+5+2*10/math.Cos(deg/2*math.Pi/180)) + 4*30
		if deg > 10 {
			want += 30
		}
		if len(p.Faces) != 7 || math.Abs(ridge-want) > 1e-6 {
			t.Errorf("%g°: %d faces, %.3f of sharp edges, want 7 and %.3f", deg, len(p.Faces), ridge, want)
		}
	}
}

// Radii and places are those of the drawing, to the rounding of the file.
func TestFittedMeasures(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	m := turned(roundBox(40, 30, 20, 3, 6), r)
	p := Find(m, mesh.NewTopology(m))
	for i := range p.Faces {
		f := &p.Faces[i]
		if f.Kind != geom.Plane && math.Abs(f.Radius-3) > 1e-4 {
			t.Errorf("face %d, %v: radius %.6f, drawn 3", i, f.Kind, f.Radius)
		}
		if f.Hollow {
			t.Errorf("face %d is hollow", i)
		}
		if f.Max > p.Tolerance {
			t.Errorf("face %d: error %.2g", i, f.Max)
		}
	}
}

// Faces that the file names are kept as they are, and fitted; the two halves of a
// wall are one.
func TestNamedFaces(t *testing.T) {
	m := form.Cylinder(10, 20, 24)
	m.Face = make([]int32, len(m.Tri))
	for i := range m.Tri {
		n, _ := m.Normal(i)
		switch {
		case n.Z > 0.9:
			m.Face[i] = 7
		case n.Z < -0.9:
			m.Face[i] = 3
		case n.X > 0:
			m.Face[i] = 11 // one half of the wall
		default:
			m.Face[i] = 12
		}
	}
	p := Find(m, mesh.NewTopology(m))
	if d := cmp.Diff(map[string]int{"plane": 2, "cylinder": 1}, count(p)); d != "" {
		t.Error(d)
	}
	ridge, _ := sharpLength(p)
	if math.Abs(ridge-2*polygon(10, 24)) > 1e-9 {
		t.Errorf("sharp edges %.4f: the seam of the wall is none", ridge)
	}
}

// A surface that is no surface of a drawing, noisy like a scan (by one per cent of
// its facets), must not fall
// into pieces that pretend to be cylinders.
func TestScan(t *testing.T) {
	m := form.Torus(20, 5, 160, 64)
	r := rand.New(rand.NewPCG(3, 4))
	for i := range m.Pos {
		m.Pos[i] = r3.Add(m.Pos[i], r3.Vec{X: 0.006 * r.NormFloat64(), Y: 0.006 * r.NormFloat64(), Z: 0.006 * r.NormFloat64()})
	}
	p := Find(m, mesh.NewTopology(m))
	if len(p.Faces) != 1 || p.Faces[0].Kind != geom.Free {
		t.Errorf("%v", count(p))
	}
	if ridge, valley := sharpLength(p); ridge+valley > 0 {
		t.Errorf("sharp edges %v and %v on a smooth ring", ridge, valley)
	}
}

func BenchmarkFind(b *testing.B) {
	for _, c := range []struct {
		name string
		mesh *mesh.Mesh
	}{
		{"ball of 1.3 M", form.Icosphere(10, 8)},
		{"ring of 1 M", form.Torus(20, 5, 1000, 500)},
		{"ring of 150 k", form.Torus(20, 5, 375, 200)},
	} {
		tp := mesh.NewTopology(c.mesh)
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				Find(c.mesh, tp)
			}
		})
	}
}
