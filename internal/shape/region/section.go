package region

import (
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Section is the level section of a closed part at a height. Vertices just there
// count as above it, so that a level face is met from below.
func Section(m *mesh.Mesh, z float64) Region { return more(cuts(nil, m, z), 0) }

// cuts appends the segments in which a level plane cuts the facets, the material on
// their left.
func cuts(list []segment, m *mesh.Mesh, z float64) []segment {
	for _, t := range m.Tri {
		a, b, c := m.Pos[t[0]], m.Pos[t[1]], m.Pos[t[2]]
		if (a.Z < z) == (b.Z < z) && (b.Z < z) == (c.Z < z) {
			continue
		}
		// Seen from outside the facet, material lies on the left of the way from
		// where its rim comes down to where it goes up again.
		var up, down pt
		p := [4]r3.Vec{a, b, c, a}
		for k := range 3 {
			switch u, v := p[k], p[k+1]; {
			case u.Z < z && v.Z >= z:
				up = pierce(u, v, z)
			case u.Z >= z && v.Z < z:
				down = pierce(v, u, z)
			}
		}
		list = line(list, down, up, 1, 0)
	}
	return list
}

// pierce is where the edge from a vertex lo up to another reaches a height. The
// facets on both sides of the edge get the same answer.
func pierce(lo, hi r3.Vec, z float64) pt {
	t := (z - lo.Z) / (hi.Z - lo.Z)
	return onGrid(r2.Vec{X: lo.X + t*(hi.X-lo.X), Y: lo.Y + t*(hi.Y-lo.Y)})
}
