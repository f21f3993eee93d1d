package survey

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// shallow is how many times wider than deep an opening without ends may be
// before it counts as an outer face.
const shallow = 1.5

// groove describes a ring groove round the outside of a turned part: two flat
// rings that look at each other over a round floor. is says that it is such a
// group, ok that it is narrow enough to count as an opening.
func (s *surveyor) groove(g *group) (o fettle.Opening, ok, is bool) {
	// The floor may be drawn as two halves.
	var floor int32 = -1
	var floors []int32
	for _, f := range g.floors {
		p := &s.p.Faces[f]
		if p.Kind == geom.Cylinder && !p.Hollow && (floor < 0 || s.sameAxis(floor, f)) {
			floor = f
			floors = append(floors, f)
		}
	}
	if floor < 0 || s.sweep(floors, s.p.Faces[floor].At, s.p.Faces[floor].Axis) < fullTurn {
		return o, false, false
	}
	p := &s.p.Faces[floor]
	width, outer := math.Inf(1), 0.0
	for _, f := range g.walls {
		q := &s.p.Faces[f]
		if q.Kind != geom.Plane && q.Kind != geom.Cone || !along(q.Axis, p.Axis) {
			return o, false, false
		}
		width = min(width, s.look[f].wide)
		for _, t := range q.Tris {
			for _, v := range s.m.Tri[t] {
				outer = max(outer, offAxis(p, s.m.Pos[v]))
			}
		}
	}
	depth := outer - p.Radius
	if math.IsInf(width, 1) || depth <= 0 {
		return o, false, false
	}
	axis := p.Axis
	if r3.Dot(axis, s.up) < -1e-9 {
		axis = r3.Scale(-1, axis)
	}
	return fettle.Opening{
		Kind: fettle.Slot, WidthMM: width, WidestMM: width, LengthMM: 2 * math.Pi * outer, DepthMM: depth,
		At: geom.Array(p.At), Axis: geom.Array(axis), InsideMM: width / 2, Form: "groove",
		Why: fmt.Sprintf("a ring round the part, %d walls over a round floor; its axis is the ring's", len(g.walls)),
	}, width <= shallow*depth, true
}
