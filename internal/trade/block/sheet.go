package block

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/patch"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Paper gives by stretchMost along its edges before it wrinkles; foldUp is turned up
// at each end where there is no slot. Starting guesses.
const (
	stretchMost = 0.005
	foldUp      = 6.0
)

// sheetFor is the paper to cut for a block: along its face, round both ends, down to
// the slots and into them.
//
// A strip of width w that lies along a surface of Gaussian curvature K is too long or
// too short at its edges by the share Kw²/8: the length of a curve at the distance
// d from a geodesic changes as 1 − Kd²/2 (do Carmo, Differential Geometry of Curves
// and Surfaces, 1976, §4-6, geodesic coordinates; from memory).
func sheetFor(m *made, b *body, f *face, gauss float64) fettle.PaperCut {
	var out fettle.PaperCut
	along := curve(func(s float64) r2.Vec { return r2.Vec{X: s, Y: f.rough(r2.Vec{X: s})} }, b.face.long)
	head := b.head()
	for _, sign := range []float64{1, -1} {
		x := sign * b.face.long / 2
		slope := math.Atan((f.rough(r2.Vec{X: x}) - f.rough(r2.Vec{X: x - sign*0.5})) / 0.5)
		along += (math.Pi/2 + slope) * (b.round + f.thick/2)
		// From the rounding down to the slot's mouth.
		best, z := math.Inf(1), 0.0
		for _, p := range m.mesh.Pos[m.edge1-m.rim : m.edge1] {
			if d := math.Hypot(p.X-sign*head.long/2, p.Y); d < best {
				best, z = d, p.Z
			}
		}
		if b.slot > 0 {
			along += z - (m.head + headLow + (slotDeep/math.Sqrt2 + b.slot*math.Sqrt2))
			out.TuckMM = slotDeep
		} else {
			along += min(foldUp, z-m.head)
		}
	}
	out.LongMM = math.Ceil(2*(along+2*out.TuckMM)) / 2
	across := curve(func(s float64) r2.Vec { return r2.Vec{X: s, Y: f.rough(r2.Vec{Y: s})} }, b.face.wide)
	out.WideMM = math.Ceil(2*across) / 2
	out.Says = "paste it on or hold it with double-sided tape, the ends turned up: the face is too short for slots"
	if b.slot > 0 {
		out.Says = "tuck both ends into the slots and push the strips in behind them from the side, thin end first"
	}
	if strip := math.Sqrt(8 * stretchMost / max(gauss, 1e-12)); strip < across {
		out.StripMM = max(1, math.Floor(2*strip)/2)
		out.Says += fmt.Sprintf("; the face bends both ways, so that paper wider than %.1f mm wrinkles: lay strips side by side along the stroke", out.StripMM)
	}
	return out
}

// curve is the length of a plane curve over a stretch round 0.
func curve(at func(s float64) r2.Vec, long float64) float64 {
	const n = 200
	sum := 0.0
	last := at(-long / 2)
	for i := 1; i <= n; i++ {
		p := at(long * (float64(i)/n - 0.5))
		sum += r2.Norm(r2.Sub(p, last))
		last = p
	}
	return sum
}

// gaussOf is the Gaussian curvature of facets, without its sign, that 95 of 100 do not
// pass.
func gaussOf(c *patch.Curvature, tris []int32) float64 {
	var v []float64
	for _, t := range tris {
		k := c.Facet[t]
		v = append(v, math.Abs(float64(k[0])*float64(k[1])))
	}
	return quantile(v, 0.95)
}

// wedge is the strip that is pushed into a slot behind the paper, from the side: as
// long as the block is wide, as broad as the slot is deep less a millimetre, and at
// its thick end a little more than there is room.
func wedge(long, room float64) *mesh.Mesh {
	thin, thick := max(0.4, room-0.35), room+0.1
	b := slotDeep - 1
	return &mesh.Mesh{
		Pos: []r3.Vec{
			{}, {X: long}, {X: long, Y: b}, {Y: b},
			{Z: thin}, {X: long, Z: thick}, {X: long, Y: b, Z: thick}, {Y: b, Z: thin},
		},
		Tri: [][3]uint32{
			{0, 2, 1}, {0, 3, 2}, {4, 5, 6}, {4, 6, 7}, {0, 1, 5}, {0, 5, 4},
			{1, 2, 6}, {1, 6, 5}, {2, 3, 7}, {2, 7, 6}, {3, 0, 4}, {3, 4, 7},
		},
	}
}
