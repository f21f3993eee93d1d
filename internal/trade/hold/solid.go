package hold

import (
	"math"
	"slices"

	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// takenBy turns what is sunk from the top into slabs, the lowest first, without
// what is open already below.
func takenBy(cuts []sunk) []region.Layer {
	lows := make([]float64, 0, len(cuts))
	for _, c := range cuts {
		lows = append(lows, c.low)
	}
	slices.Sort(lows)
	lows = slices.Compact(lows)
	var out []region.Layer
	var open region.Region
	for i, low := range lows {
		parts := []region.Region{}
		for _, c := range cuts {
			if c.low == low {
				parts = append(parts, c.region)
			}
		}
		open = open.Union(parts...)
		high := 0.0
		if i+1 < len(lows) {
			high = lows[i+1]
		}
		out = append(out, region.Layer{Low: low, High: high, Region: open})
	}
	return out
}

// within keeps the part of slabs that lies in a plan region; slabs of which nothing
// is left go.
func within(slabs []region.Layer, plan region.Region) []region.Layer {
	var out []region.Layer
	for _, s := range slabs {
		if r := s.Region.And(plan); !r.Empty() {
			out = append(out, region.Layer{Low: s.Low, High: s.High, Region: r})
		}
	}
	return out
}

// coarser is how much wider than the regions' own grid the one is that solids are
// drawn on: a tenth of a micrometre, so that corners are still apart in the single
// precision of an STL file.
const coarser = 100

// carved is the closed surface of a plan raised from a height up to the jaws' top,
// less all that is taken.
func carved(plan region.Region, foot float64, gone []region.Layer) *mesh.Mesh {
	heights := []float64{foot, 0}
	for _, g := range gone {
		for _, z := range []float64{g.Low, g.High} {
			if z > foot && z < 0 {
				heights = append(heights, z)
			}
		}
	}
	slices.Sort(heights)
	heights = slices.CompactFunc(heights, func(a, b float64) bool { return math.Abs(b-a) < 1e-6 })
	var layers []region.Layer
	for i := range len(heights) - 1 {
		mid := (heights[i] + heights[i+1]) / 2
		left := plan
		for _, g := range gone {
			if g.Low < mid && mid < g.High {
				left = left.Minus(g.Region)
			}
		}
		layers = append(layers, region.Layer{Low: heights[i], High: heights[i+1], Region: scaled(left, 1./coarser)})
	}
	m := region.Stack(layers)
	for i := range m.Pos {
		m.Pos[i].X *= coarser
		m.Pos[i].Y *= coarser
	}
	return m
}

func scaled(r region.Region, k float64) region.Region {
	loops := make([][]r2.Vec, len(r.Loops))
	for i, l := range r.Loops {
		for _, p := range l {
			loops[i] = append(loops[i], r2.Scale(k, p))
		}
	}
	return region.Of(loops...)
}

// measureApart is the least distance between a laid part and the jaws, below 0 where
// they share a place, and where that is. Corners of each are measured against the
// other's facets, and the part's sides and middles too; what of the part stands not
// far over the jaws' top counts as well.
func measureApart(part *mesh.Mesh, partTree *bvh.Tree, jaws [2]*mesh.Mesh) (least float64, at r3.Vec) {
	least = math.Inf(1)
	ask := func(m *mesh.Mesh, tree *bvh.Tree, points []r3.Vec) {
		near := make([]bvh.Near, len(points))
		var hits []bvh.Hit
		// A line in no direction that a part is drawn along leaves the solid as often as
		// it enters it; the winding number has the last word.
		inside := func(p r3.Vec) bool {
			hits = tree.RayAll(hits[:0], p, r3.Vec{X: 0.1327, Y: 0.0719, Z: 0.9885}, 0, math.Inf(1))
			return len(hits)%2 == 1 && tree.Inside(p)
		}
		tree.NearestAll(points, math.Inf(1), near)
		for i, q := range near {
			d := math.Sqrt(q.Dist2)
			if q.Tri == bvh.None || d >= least && least <= 0 {
				continue
			}
			// Where the way is square to a facet its side tells; not so beside an edge or a
			// corner.
			n, _ := m.Normal(int(q.Tri))
			off := r3.Dot(r3.Sub(points[i], q.Point), n)
			if off < -0.999*d || math.Abs(off) <= 0.999*d && inside(points[i]) {
				d = -d
			}
			if d < least {
				least, at = d, points[i]
			}
		}
	}
	const near = 2.0 // mm over the jaws' top
	var points []r3.Vec
	for _, p := range part.Pos {
		if p.Z < near {
			points = append(points, p)
		}
	}
	for t := range part.Tri {
		a, b, c := part.Corners(t)
		if min(a.Z, b.Z, c.Z) < near {
			points = append(points, r3.Scale(1./3, r3.Add(a, r3.Add(b, c))), r3.Scale(0.5, r3.Add(a, b)), r3.Scale(0.5, r3.Add(b, c)), r3.Scale(0.5, r3.Add(c, a)))
		}
	}
	for _, j := range jaws {
		if len(j.Tri) > 0 {
			ask(j, bvh.Build(j), points)
			ask(part, partTree, j.Pos)
		}
	}
	return least, at
}
