package slide

import (
	"math"
	"math/rand/v2"

	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r3"
)

// sheet is a mesh over a grid of nu × nv quadrilaterals, 0 ≤ u, v ≤ 1. It looks to
// the side of ∂u × ∂v.
func sheet(nu, nv int, f func(u, v float64) r3.Vec) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range nu + 1 {
		for j := range nv + 1 {
			m.Pos = append(m.Pos, f(float64(i)/float64(nu), float64(j)/float64(nv)))
		}
	}
	at := func(i, j int) uint32 { return uint32(i*(nv+1) + j) }
	for i := range nu {
		for j := range nv {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			if (i+j)%2 == 0 {
				m.Tri = append(m.Tri, [3]uint32{a, b, c}, [3]uint32{a, c, d})
			} else {
				m.Tri = append(m.Tri, [3]uint32{a, b, d}, [3]uint32{b, c, d})
			}
		}
	}
	clean, _ := mesh.Clean(m, mesh.Options{})
	return clean
}

// pose is a rigid motion, to draw a part anywhere.
type pose struct {
	rot   r3.Rotation
	shift r3.Vec
}

func anyPose(r *rand.Rand) pose {
	axis := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	return pose{
		r3.NewRotation(2*math.Pi*r.Float64(), axis),
		r3.Vec{X: 50 * r.NormFloat64(), Y: 50 * r.NormFloat64(), Z: 50 * r.NormFloat64()},
	}
}

func (q pose) point(p r3.Vec) r3.Vec     { return r3.Add(q.rot.Rotate(p), q.shift) }
func (q pose) direction(d r3.Vec) r3.Vec { return q.rot.Rotate(d) }

func (q pose) mesh(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Tri: m.Tri, Face: m.Face, Pos: make([]r3.Vec, len(m.Pos))}
	for i, p := range m.Pos {
		out.Pos[i] = q.point(p)
	}
	return out
}

func find(m *mesh.Mesh) *patch.Patches { return patch.Find(m, mesh.NewTopology(m)) }

func every(p *patch.Patches) []int32 {
	t := make([]int32, len(p.Mesh.Tri))
	for i := range t {
		t[i] = int32(i)
	}
	return t
}

// offLine is the distance of p from a line.
func offLine(p, at, axis r3.Vec) float64 { return r3.Norm(r3.Cross(r3.Sub(p, at), axis)) }

// between is the angle between two lines.
func between(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), math.Abs(r3.Dot(a, b)))
}
