package patch

import (
	"math"
	"slices"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// slivers gives facets too thin to know their own normal to the neighbour on
// whose surface they lie.
func (g *grower) slivers() {
	thin := max(30*g.p.Rounding, g.p.Tolerance)
	for t := range g.owner {
		if g.p.height(int32(t)) > thin {
			continue
		}
		best, long := int32(-1), 0.0
		for k, u := range g.p.Topology.Across[t] {
			if u == mesh.NoTri || g.owner[u] == g.owner[t] || g.p.height(u) <= thin {
				continue
			}
			s := &g.found[g.owner[u]]
			on := s.Kind != geom.Free
			for _, v := range g.p.Mesh.Tri[t] {
				on = on && math.Abs(s.Distance(g.p.Mesh.Pos[v])) <= g.p.Tolerance
			}
			if l := g.p.side(int32(t), k); on && l > long {
				best, long = g.owner[u], l
			}
		}
		if best >= 0 {
			g.owner[t] = best
		}
	}
}

const (
	crumbTris  = 16                 // facets of a crumb, at most
	crumbShare = 0.02               // of the face that it goes to, by area, at most
	crumbTurn  = 12 * math.Pi / 180 // at its border with a free-form face, at most
	crumbOff   = 8                  // tolerances that its corners may be off that face
)

// crumbs gives the few facets that are left over between two surfaces, where a
// tangent line of the model lies a hair beside the facets, to the smooth
// neighbour that they fit best.
func (g *grower) crumbs() {
	n := len(g.found)
	area := make([]float64, n)
	count := make([]int, n)
	for t, f := range g.owner {
		area[f] += g.p.Area[t]
		count[f]++
	}
	tris := map[int32][]int32{}
	for t, f := range g.owner {
		if count[f] <= crumbTris {
			tris[f] = append(tris[f], int32(t))
		}
	}
	small := make([]int32, 0, len(tris))
	for f := range tris {
		small = append(small, f)
	}
	slices.Sort(small)
	for range 2 { // a crumb beside a crumb
		for _, f := range small {
			if list := tris[f]; len(list) > 0 {
				if to, ok := g.crumbTo(f, list, area); ok {
					for _, t := range list {
						g.owner[t] = to
					}
					area[to] += area[f]
					tris[f] = nil
				}
			}
		}
	}
}

// crumbTo finds the face that a crumb goes to: along the longest smooth border.
func (g *grower) crumbTo(f int32, list []int32, area []float64) (int32, bool) {
	var to []int32
	var long []float64
	for _, t := range list {
		for k, u := range g.p.Topology.Across[t] {
			turn := math.Abs(float64(g.p.Turn[t][k]))
			if u == mesh.NoTri || g.owner[u] == f || turn > steep || area[f] > crumbShare*area[g.owner[u]] ||
				turn > crumbTurn && g.found[g.owner[u]].Kind == geom.Free {
				continue
			}
			i := slices.Index(to, g.owner[u])
			if i < 0 {
				i = len(to)
				to, long = append(to, g.owner[u]), append(long, 0)
			}
			long[i] += g.p.side(t, k)
		}
	}
	best, found := int32(-1), 0.0
	for i, o := range to {
		if long[i] > found && g.crumbFits(o, list) {
			best, found = o, long[i]
		}
	}
	return best, best >= 0
}

func (g *grower) crumbFits(o int32, list []int32) bool {
	s := &g.found[o]
	if s.Kind == geom.Free {
		return true
	}
	for _, t := range list {
		for _, v := range g.p.Mesh.Tri[t] {
			if math.Abs(s.Distance(g.p.Mesh.Pos[v])) > crumbOff*g.p.Tolerance {
				return false
			}
		}
		if math.Abs(r3.Dot(s.Normal(g.middle(t)), g.p.Normal[t])) < math.Cos(2*crumbTurn) {
			return false
		}
	}
	return true
}

// side is the length of a triangle's side.
func (p *Patches) side(t int32, k int) float64 {
	v := p.Mesh.Tri[t]
	return norm(r3.Sub(p.Mesh.Pos[v[(k+1)%3]], p.Mesh.Pos[v[k]]))
}
