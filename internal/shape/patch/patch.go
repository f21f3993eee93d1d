// Package patch finds the faces of a part on its triangle mesh: smooth patches
// between sharp edges, split where one elementary surface runs tangent into
// another, each with the plane, cylinder, cone or sphere that it lies on. It
// also estimates the curvature of the surface, and how good the estimate is.
//
// [Find] is the way in. It rests on one fact about meshes that were made from
// a solid model: their vertices lie on the model's surfaces, to the rounding of
// the file, while their facets do not. So surfaces are fitted to vertices, and
// a facet belongs to a surface when its vertices do and it faces the same way.
// Whether an edge is sharp is then asked of the surfaces on both sides, not of
// the facets: the 30° between two facets of a coarse cylinder is no edge, and
// the 15° between two planes is one.
package patch

import (
	"math"
	"runtime"
	"sync"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// Between facets that turn by more than steep no smooth surface is looked
	// for. A regular prism of ten sides or more counts as a cylinder.
	steep = 40 * math.Pi / 180
	// A surface that itself turns by more than SharpAngle at an edge is sharp
	// there.
	SharpAngle = 10 * math.Pi / 180
)

// Patches are the faces of a mesh.
type Patches struct {
	Mesh     *mesh.Mesh
	Topology *mesh.Topology
	// Normal and Area are those of each triangle; Area in mm².
	Normal []r3.Vec
	Area   []float64
	// Turn is the angle in radians between the facets on both sides of each edge
	// of each triangle: positive over a ridge, negative in a valley, 0 on a
	// border.
	Turn [][3]float32
	// Sharp marks the edges where the surface itself turns. Borders are not.
	Sharp [][3]bool
	// Face is the index into Faces of each triangle.
	Face  []int32
	Faces []Face
	// Rounding is the estimated rounding of coordinates in mm, Tolerance how far
	// a vertex may lie off a surface that it is taken to lie on.
	Rounding, Tolerance float64

	usual  []float32 // the usual turn of free-form facets, see rest.go; may be nil
	crease [][3]bool // breaks between free facets, see crease.go; may be nil
}

// Face is one patch.
type Face struct {
	geom.Surface
	Tris     []int32 // ascending
	Area     float64
	Centroid r3.Vec // of the patch, by area
	Mean     r3.Vec // mean normal by area; shorter the more the patch bends
	// Hollow is true where the material lies outside the round surface, as round
	// a bore; for a free-form face where it is more hollow than bulging.
	Hollow bool
}

// Normal is the outward normal of the material at the point of a face nearest
// to p; zero for a free-form face.
func (f *Face) Normal(p r3.Vec) r3.Vec {
	n := f.Surface.Normal(p)
	if f.Hollow && f.Kind != geom.Plane {
		return r3.Scale(-1, n)
	}
	return n
}

// Find finds the faces of a welded mesh. Faces are numbered in the order of
// their first triangles. Where the mesh knows the faces that it was made from,
// those are fitted as they are, and what lies on one surface is joined. Time and memory grow linearly with the mesh, but
// for sorting.
func Find(m *mesh.Mesh, tp *mesh.Topology) *Patches {
	p := &Patches{Mesh: m, Topology: tp}
	p.Rounding = rounding(m)
	p.Tolerance = max(6*p.Rounding, 4e-6*m.Box().Diagonal())
	p.measure()
	g := newGrower(p)
	if len(m.Face) == len(m.Tri) && len(m.Tri) > 0 {
		g.given(m.Face)
	} else {
		g.flatten()
		g.curved()
		g.rest()
		g.slivers()
		g.crumbs()
	}
	p.number(g)
	p.findSharp()
	return p
}

// measure fills normals, areas and turns.
func (p *Patches) measure() {
	m, n := p.Mesh, len(p.Mesh.Tri)
	p.Normal, p.Area = make([]r3.Vec, n), make([]float64, n)
	p.Turn, p.Sharp = make([][3]float32, n), make([][3]bool, n)
	spread(n, func(lo, hi int) {
		for t := lo; t < hi; t++ {
			p.Normal[t], p.Area[t] = m.Normal(t)
		}
	})
	spread(n, func(lo, hi int) {
		for t := lo; t < hi; t++ {
			for k, u := range p.Topology.Across[t] {
				if u == mesh.NoTri {
					continue
				}
				a, b := m.Pos[m.Tri[t][k]], m.Pos[m.Tri[t][(k+1)%3]]
				x := r3.Cross(p.Normal[t], p.Normal[u])
				angle := math.Atan2(norm(x), r3.Dot(p.Normal[t], p.Normal[u]))
				if r3.Dot(x, r3.Sub(b, a)) < 0 {
					angle = -angle
				}
				p.Turn[t][k] = float32(angle)
			}
		}
	})
}

// spread runs f over pieces of 0…n on all cores. The pieces are the same for
// any number of cores.
func spread(n int, f func(lo, hi int)) {
	const piece = 1 << 14
	pieces := (n + piece - 1) / piece
	workers := min(runtime.GOMAXPROCS(0), pieces)
	if workers <= 1 {
		f(0, n)
		return
	}
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for i := w; i < pieces; i += workers {
				f(i*piece, min(n, (i+1)*piece))
			}
		})
	}
	wg.Wait()
}

// rounding estimates the rounding of coordinates: that of single precision,
// or of a few decimals where a sample of the coordinates has no more.
func rounding(m *mesh.Mesh) float64 {
	largest := 0.0
	b := m.Box()
	for _, c := range []float64{b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z} {
		if !math.IsInf(c, 0) {
			largest = max(largest, math.Abs(c))
		}
	}
	single := largest * 0x1p-24
	step := max(1, len(m.Pos)/500)
	for _, grid := range []float64{1e-3, 1e-4, 25.4e-4, 25.4e-5} {
		on, some := true, false
		for i := 0; i < len(m.Pos) && on; i += step {
			for _, c := range []float64{m.Pos[i].X, m.Pos[i].Y, m.Pos[i].Z} {
				f := c / grid
				on = on && math.Abs(f-math.Round(f)) <= 1e-3+single/grid
				// Numbers with two decimals or less say nothing.
				some = some || math.Abs(f/10-math.Round(f/10)) > 0.05
			}
		}
		if on && some && grid/2 > single {
			return grid / 2
		}
	}
	return single
}

// number lists the faces by their first triangle.
func (p *Patches) number(g *grower) {
	id := make([]int32, len(g.found))
	count := make([]int32, len(g.found))
	for i := range id {
		id[i] = -1
	}
	for _, f := range g.owner {
		count[f]++
	}
	p.Face = make([]int32, len(p.Mesh.Tri))
	for t, f := range g.owner {
		if id[f] < 0 {
			id[f] = int32(len(p.Faces))
			p.Faces = append(p.Faces, Face{Surface: g.found[f], Tris: make([]int32, 0, count[f])})
		}
		face := &p.Faces[id[f]]
		face.Tris = append(face.Tris, int32(t))
		p.Face[t] = id[f]
	}
	for i := range p.Faces {
		p.finish(&p.Faces[i])
	}
}

// finish works out what needs the whole face.
func (p *Patches) finish(f *Face) {
	in := 0.0
	f.Max = 0
	sum, n := 0.0, 0
	for _, t := range f.Tris {
		a, b, c := p.Mesh.Corners(int(t))
		mid := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		f.Area += p.Area[t]
		f.Centroid = r3.Add(f.Centroid, r3.Scale(p.Area[t], mid))
		f.Mean = r3.Add(f.Mean, r3.Scale(p.Area[t], p.Normal[t]))
		if f.Kind == geom.Free {
			for k, u := range p.Topology.Across[t] {
				if u != mesh.NoTri && p.Face[u] == p.Face[t] {
					v := p.Mesh.Tri[t]
					in -= float64(p.Turn[t][k]) * norm(r3.Sub(p.Mesh.Pos[v[k]], p.Mesh.Pos[v[(k+1)%3]]))
				}
			}
			continue
		}
		in -= p.Area[t] * r3.Dot(f.Surface.Normal(mid), p.Normal[t])
		for _, q := range [3]r3.Vec{a, b, c} {
			d := math.Abs(f.Distance(q))
			f.Max = max(f.Max, d)
			sum += d * d
			n++
		}
	}
	if f.Area > 0 {
		f.Centroid = r3.Scale(1/f.Area, f.Centroid)
		f.Mean = r3.Scale(1/f.Area, f.Mean)
	}
	if n > 0 {
		f.RMS = math.Sqrt(sum / float64(n))
	}
	f.Hollow = in > 0
	if f.Kind == geom.Plane {
		if f.Hollow {
			f.Axis = r3.Scale(-1, f.Axis)
		}
		f.Hollow = false
	}
}

// norm is the length without the care for overflow that r3.Norm takes, three
// times as fast.
func norm(v r3.Vec) float64 { return math.Sqrt(v.X*v.X + v.Y*v.Y + v.Z*v.Z) }

func norm2(v r3.Vec) float64 { return v.X*v.X + v.Y*v.Y + v.Z*v.Z }
