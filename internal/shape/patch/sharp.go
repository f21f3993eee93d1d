package patch

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// findSharp marks the edges at which the surface turns by more than SharpAngle.
// Between elementary surfaces that is the angle between their own normals at
// the middle of the edge, and of a torus at its ends. A free-form face has no normal but its facets', which
// fall short of the surface at the edge by half of its usual turn.
func (p *Patches) findSharp() {
	spread(len(p.Mesh.Tri), func(lo, hi int) {
		for t := lo; t < hi; t++ {
			for k, u := range p.Topology.Across[t] {
				if u != mesh.NoTri {
					p.Sharp[t][k] = p.isSharp(int32(t), u, k)
				}
			}
		}
	})
}

func (p *Patches) isSharp(t, u int32, k int) bool {
	turn := math.Abs(float64(p.Turn[t][k]))
	if turn < 1e-3 {
		return false
	}
	fa, fb := p.Face[t], p.Face[u]
	if fa == fb {
		// A crease may fade out within a free-form face.
		return turn > SharpAngle && p.crease != nil && p.crease[t][k]
	}
	a, b := p.Mesh.Pos[p.Mesh.Tri[t][k]], p.Mesh.Pos[p.Mesh.Tri[t][(k+1)%3]]
	mid := r3.Scale(0.5, r3.Add(a, b))
	if p.Faces[fa].Kind == geom.Torus || p.Faces[fb].Kind == geom.Torus {
		// The chord's middle is off a thin tube by much of its radius; the ends are on it.
		return p.angleAt(t, u, a) > SharpAngle && p.angleAt(t, u, b) > SharpAngle
	}
	return p.angleAt(t, u, mid) > SharpAngle
}

// angleAt is the angle between the faces of two triangles at a place.
func (p *Patches) angleAt(t, u int32, at r3.Vec) float64 {
	na, shortA := p.normalAt(t, at)
	nb, shortB := p.normalAt(u, at)
	angle := math.Atan2(norm(r3.Cross(na, nb)), r3.Dot(na, nb))
	return angle - shortA - shortB
}

// normalAt is the normal of a triangle's face at p, and by how much it may fall
// short.
func (p *Patches) normalAt(t int32, at r3.Vec) (r3.Vec, float64) {
	f := &p.Faces[p.Face[t]]
	if f.Kind != geom.Free {
		return f.Normal(at), 0
	}
	if p.usual == nil {
		return p.Normal[t], 0
	}
	return p.Normal[t], float64(p.usual[t]) / 2
}
