package block

import (
	"fmt"
	"math"

	"fettle/internal/shape/form"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// solid collects the surface of a block. Neighbours share vertices by index, so
// that what closes on paper closes as a mesh.
type solid struct{ mesh.Mesh }

// ring is a closed ring of vertices, anticlockwise seen from above.
type ring []uint32

func (s *solid) point(p r3.Vec) uint32 {
	s.Pos = append(s.Pos, p)
	return uint32(len(s.Pos) - 1)
}

// ring adds vertices over a loop, the i-th at the height z(i).
func (s *solid) ring(loop []r2.Vec, z func(i int) float64) ring {
	r := make(ring, len(loop))
	for i, p := range loop {
		r[i] = s.point(r3.Vec{X: p.X, Y: p.Y, Z: z(i)})
	}
	return r
}

func (s *solid) add(a, b, c uint32) {
	if a != b && b != c && c != a {
		s.Tri = append(s.Tri, [3]uint32{a, b, c})
	}
}

// quad adds the facets of a quadrilateral, cut along its shorter diagonal.
func (s *solid) quad(a, b, c, d uint32) {
	if s.apart(a, c) <= s.apart(b, d) {
		s.add(a, b, c)
		s.add(a, c, d)
	} else {
		s.add(a, b, d)
		s.add(b, c, d)
	}
}

func (s *solid) apart(a, b uint32) float64 { return r3.Norm2(r3.Sub(s.Pos[a], s.Pos[b])) }

// wall joins two rings of equal count, the lower first, by a strip that looks
// outwards. Segments for which leave says so are left open.
func (s *solid) wall(lower, upper ring, leave func(i int) bool) {
	if len(lower) != len(upper) {
		panic("block: a wall needs rings of equal count")
	}
	for i := range lower {
		if leave != nil && leave(i) {
			continue
		}
		j := (i + 1) % len(lower)
		s.quad(lower[i], lower[j], upper[j], upper[i])
	}
}

// zip joins two rings of any counts by a strip that looks outwards; each vertex
// stands at its station, and the strip follows both round.
func (s *solid) zip(lower, upper ring, low, up []station) {
	i, j := 0, 0
	for i < len(lower) || j < len(upper) {
		ni, nj := 8.0, 8.0
		if i+1 < len(low) {
			ni = low[i+1]
		}
		if j+1 < len(up) {
			nj = up[j+1]
		}
		a, b := lower[i%len(lower)], upper[j%len(upper)]
		if i < len(lower) && (j >= len(upper) || ni <= nj) {
			s.add(a, lower[(i+1)%len(lower)], b)
			i++
		} else {
			s.add(a, upper[(j+1)%len(upper)], b)
			j++
		}
	}
}

// plane says where a flat piece of surface lies: from the plane's coordinates to
// space. x × y looks out of the material.
type plane struct{ at, x, y r3.Vec }

func (p plane) space(q r2.Vec) r3.Vec {
	return r3.Add(p.at, r3.Add(r3.Scale(q.X, p.x), r3.Scale(q.Y, p.y)))
}

func (p plane) flat(v r3.Vec) r2.Vec {
	d := r3.Sub(v, p.at)
	return r2.Vec{X: r3.Dot(d, p.x), Y: r3.Dot(d, p.y)}
}

// fill covers what an odd number of loops of vertices surrounds, seen in a plane, by
// facets that look out of it; inner are more vertices that lie inside.
func (s *solid) fill(p plane, inner []uint32, loops ...ring) error {
	var ids []uint32
	var at [][]int
	for _, l := range loops {
		loop := make([]int, len(l))
		for i := range l {
			loop[i] = len(ids) + i
		}
		at = append(at, loop)
		ids = append(ids, l...)
	}
	ids = append(ids, inner...)
	pts := make([]r2.Vec, len(ids))
	for i, v := range ids {
		pts[i] = p.flat(s.Pos[v])
	}
	tris, err := form.Triangulate(pts, at...)
	if err != nil {
		return fmt.Errorf("a flat side of the block cannot be divided: %w", err)
	}
	for _, t := range tris {
		s.add(ids[t[0]], ids[t[1]], ids[t[2]])
	}
	return nil
}

// level is the plane that looks up or down at any height.
func level(up bool) plane {
	if up {
		return plane{x: r3.Vec{X: 1}, y: r3.Vec{Y: 1}}
	}
	return plane{x: r3.Vec{Y: 1}, y: r3.Vec{X: 1}}
}

// mirrored is a mesh seen in the mirror y = 0.
func mirrored(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Pos: make([]r3.Vec, len(m.Pos)), Tri: make([][3]uint32, len(m.Tri))}
	for i, p := range m.Pos {
		out.Pos[i] = r3.Vec{X: p.X, Y: -p.Y, Z: p.Z}
	}
	for i, t := range m.Tri {
		out.Tri[i] = [3]uint32{t[0], t[2], t[1]}
	}
	return out
}

// stroke45 is a profile between two uprights a distance d apart that leans by no
// more than 45°: an arc out of the upright, a straight stretch, an arc back. Points
// are (share of d, height).
func stroke45(d, radius float64, n int) [][2]float64 {
	d = math.Abs(d)
	c := 1 - math.Sqrt2/2
	r := min(radius, d/(2*c))
	var pts [][2]float64
	for i := range n + 1 {
		a := math.Pi / 4 * float64(i) / float64(n)
		pts = append(pts, [2]float64{r * (1 - math.Cos(a)), r * math.Sin(a)})
	}
	straight := d - 2*c*r
	top := math.Sqrt2*r + straight
	for i := n; i >= 0; i-- {
		p := pts[i]
		if q := pts[len(pts)-1]; i == n && straight < 1e-6 && q == p {
			continue
		}
		pts = append(pts, [2]float64{d - p[0], top - p[1]})
	}
	for i := range pts {
		pts[i][0] /= max(d, 1e-12)
	}
	return pts
}
