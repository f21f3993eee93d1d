package mesh

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// Measured is what [Measure] finds: millimetres and their powers, density 1.
type Measured struct {
	// Volume is signed, in mm³: negative when the mesh is inside out. It means
	// something only when Closed.
	Volume float64
	Area   float64 // mm²
	Box    geom.Box
	Closed bool
	// Centroid is the centre of the volume of a closed mesh, of the area of an
	// open one.
	Centroid r3.Vec
	// Inertia is the tensor about the centroid of the solid (mm⁵), or of the
	// surface when the mesh is not closed (mm⁴).
	Inertia [3][3]float64
	// Axes are the principal axes, right-handed unit vectors, ordered by the
	// Extent of the mesh along them in mm, longest first. Where two principal
	// moments are equal (anything round or square) the axes in that plane are
	// the ones nearest to x, y and z.
	Axes   [3]r3.Vec
	Extent [3]float64
	// Shells counts pieces of surface connected over shared edges. Cavities are
	// closed shells that face inwards and lie inside another; Bodies are all the
	// rest.
	Shells, Bodies, Cavities int
	// Euler is V − E + F over the vertices in use. Genus is the number of
	// handles of all shells together, −1 where the mesh is not closed or the
	// count is spoilt by shells that touch at a vertex.
	Euler, Genus int
}

// moments are the integrals of 1, x and x xᵀ over a volume and over a surface.
// The products are in the order xx, yy, zz, xy, yz, zx.
type moments struct {
	vol   float64
	vol1  [3]float64
	vol2  [6]float64
	area  float64
	area1 [3]float64
	area2 [6]float64
}

// chunk is how many triangles are summed at a stretch. It is a constant, so
// that the sums have the same bits for any number of cores.
const chunk = 4096

// Measure takes the volume, the area and the moments of a mesh. tp may be nil,
// then it is built here. Indices of the mesh must be in range and positions
// finite; an empty mesh measures zero.
//
// The solid is summed as signed tetrahedra from a point to every triangle, the
// divergence theorem in the form of Eberly, "Polyhedral Mass Properties
// (Revisited)", 2002, after Mirtich, "Fast and Accurate Computation of
// Polyhedral Mass Properties", Journal of Graphics Tools 1(2), 1996. The point
// is the middle of the box, so that a part far from the origin keeps its
// digits; chunks of triangles are added in order with Neumaier's compensation
// (ZAMM 54, 1974).
func Measure(m *Mesh, tp *Topology) Measured {
	if len(m.Tri) == 0 {
		return Measured{Box: geom.EmptyBox(), Axes: [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}, Genus: -1}
	}
	if tp == nil {
		tp = NewTopology(m)
	}
	out := Measured{Closed: tp.Closed(), Box: boxOf(m)}
	origin := out.Box.Centre()
	sum := sumMoments(m, origin)
	out.Volume, out.Area = sum.vol, sum.area

	mass, first, second := sum.area, sum.area1, sum.area2
	if out.Closed && sum.vol != 0 {
		mass, first, second = sum.vol, sum.vol1, sum.vol2
		if mass < 0 { // inside out: the solid that is meant
			mass = -mass
			for i := range first {
				first[i] = -first[i]
			}
			for i := range second {
				second[i] = -second[i]
			}
		}
	}
	var centre r3.Vec
	if mass > 0 {
		centre = r3.Vec{X: first[0] / mass, Y: first[1] / mass, Z: first[2] / mass}
	}
	out.Centroid = r3.Add(origin, centre)
	out.Inertia = inertia(mass, centre, second)
	out.Axes = principalAxes(out.Inertia)
	out.Axes, out.Extent = extents(m, origin, out.Axes)
	out.count(m, tp)
	return out
}

// chunks runs f over fixed stretches of n items on all cores.
func chunks(n int, f func(i, lo, hi int)) {
	count := (n + chunk - 1) / chunk
	workers := min(runtime.GOMAXPROCS(0), count)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= count {
					return
				}
				f(i, i*chunk, min(n, (i+1)*chunk))
			}
		})
	}
	wg.Wait()
}

// boxOf is Mesh.Box on all cores: least and greatest do not depend on order.
func boxOf(m *Mesh) geom.Box {
	part := make([]geom.Box, (len(m.Tri)+chunk-1)/chunk)
	chunks(len(m.Tri), func(i, lo, hi int) {
		b := geom.EmptyBox()
		for _, t := range m.Tri[lo:hi] {
			b = b.Add(m.Pos[t[0]]).Add(m.Pos[t[1]]).Add(m.Pos[t[2]])
		}
		part[i] = b
	})
	b := geom.EmptyBox()
	for _, p := range part {
		b = b.Join(p)
	}
	return b
}

// sumMoments integrates over all triangles, seen from the origin given.
func sumMoments(m *Mesh, origin r3.Vec) moments {
	part := make([]moments, (len(m.Tri)+chunk-1)/chunk)
	chunks(len(m.Tri), func(i, lo, hi int) {
		for t := lo; t < hi; t++ {
			a, b, c := m.Corners(t)
			part[i].add(r3.Sub(a, origin), r3.Sub(b, origin), r3.Sub(c, origin))
		}
	})
	var sum, lost [20]float64
	for i := range part {
		for k, x := range part[i].flat() {
			sum[k], lost[k] = neumaier(sum[k], lost[k], x)
		}
	}
	for k := range sum {
		sum[k] += lost[k]
	}
	return moments{
		vol: sum[0], vol1: [3]float64(sum[1:4]), vol2: [6]float64(sum[4:10]),
		area: sum[10], area1: [3]float64(sum[11:14]), area2: [6]float64(sum[14:20]),
	}
}

// neumaier adds x to a sum and keeps what rounding lost.
func neumaier(sum, lost, x float64) (float64, float64) {
	t := sum + x
	if math.Abs(sum) >= math.Abs(x) {
		return t, lost + (sum - t + x)
	}
	return t, lost + (x - t + sum)
}

func (s *moments) flat() [20]float64 {
	var f [20]float64
	f[0] = s.vol
	copy(f[1:], s.vol1[:])
	copy(f[4:], s.vol2[:])
	f[10] = s.area
	copy(f[11:], s.area1[:])
	copy(f[14:], s.area2[:])
	return f
}

// add takes in one triangle. With s = a + b + c, the integral of x xᵀ over the
// tetrahedron from the origin is det/120 (s sᵀ + a aᵀ + b bᵀ + c cᵀ) and over
// the triangle area/12 times the same bracket.
func (s *moments) add(a, b, c r3.Vec) {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	det := r3.Dot(a, n)
	area := math.Sqrt(r3.Norm2(n)) / 2
	p := r3.Add(a, r3.Add(b, c))
	q := [6]float64{
		p.X*p.X + a.X*a.X + b.X*b.X + c.X*c.X,
		p.Y*p.Y + a.Y*a.Y + b.Y*b.Y + c.Y*c.Y,
		p.Z*p.Z + a.Z*a.Z + b.Z*b.Z + c.Z*c.Z,
		p.X*p.Y + a.X*a.Y + b.X*b.Y + c.X*c.Y,
		p.Y*p.Z + a.Y*a.Z + b.Y*b.Z + c.Y*c.Z,
		p.Z*p.X + a.Z*a.X + b.Z*b.X + c.Z*c.X,
	}
	s.vol += det / 6
	s.vol1[0] += det / 24 * p.X
	s.vol1[1] += det / 24 * p.Y
	s.vol1[2] += det / 24 * p.Z
	s.area += area
	s.area1[0] += area / 3 * p.X
	s.area1[1] += area / 3 * p.Y
	s.area1[2] += area / 3 * p.Z
	for k := range q {
		s.vol2[k] += det / 120 * q[k]
		s.area2[k] += area / 12 * q[k]
	}
}

// inertia is the tensor about the centre of mass, from second moments about
// the origin (Steiner's theorem).
func inertia(mass float64, c r3.Vec, q [6]float64) [3][3]float64 {
	xx, yy, zz := q[0]-mass*c.X*c.X, q[1]-mass*c.Y*c.Y, q[2]-mass*c.Z*c.Z
	xy, yz, zx := q[3]-mass*c.X*c.Y, q[4]-mass*c.Y*c.Z, q[5]-mass*c.Z*c.X
	return [3][3]float64{
		{yy + zz, -xy, -zx},
		{-xy, xx + zz, -yz},
		{-zx, -yz, xx + yy},
	}
}
