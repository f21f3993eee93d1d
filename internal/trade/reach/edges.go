package reach

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/wear"

	"gonum.org/v1/gonum/spatial/r3"
)

// removals are those that edge radii are told for, µm off an open flat face.
var removals = []float64{1, 2, 5, 10, 20, 50}

// edgeRadii is how an edge grows: the first exposure is that of the wall that
// stands round the rim's axis, if there is a rim.
func edgeRadii(angleDeg, rim float64, wall, face float64) []fettle.EdgeRadius {
	mm := make([]float64, len(removals))
	for i, um := range removals {
		mm[i] = um / 1000
	}
	out := make([]fettle.EdgeRadius, len(removals))
	for i, r := range wear.Edge(angleDeg, -rim, [2]float64{face, wall}, wear.Default, mm) {
		out[i] = fettle.EdgeRadius{RemovedUM: removals[i], RadiusUM: 1000 * r}
	}
	return out
}

// ridge names a class of sharp outside edges.
type ridge struct {
	opening, other int32 // openings on the two sides, −1 for none
	a, b           int32 // zones on the two sides, a ≤ b
}

// edge sums up a class.
type edge struct {
	length, turn float64    // turn is weighted by length
	side         [2]float64 // exposure, weighted by length
	away         float64    // from the opening's axis, weighted by length
}

// edges groups the sharp outside edges and says how they go under the media of
// those values.
func (r *reacher) edges(v values) []fettle.EdgeWear {
	p, d := r.in.Detail.Patches, r.in.Detail
	open := r.triangleExposure(v)
	groups := map[ridge]*edge{}
	var order []ridge
	for t := range p.Mesh.Tri {
		for k, u := range p.Topology.Across[t] {
			if u == mesh.NoTri || int32(t) > u || !p.Sharp[t][k] || p.Turn[t][k] <= 0 {
				continue
			}
			first, second := int32(t), u
			o, q := r.openingOf(first), r.openingOf(second)
			za, zb := d.Zone[first], d.Zone[second]
			if q > o || q == o && zb < za {
				first, second, o, q, za, zb = second, first, q, o, zb, za
			}
			key := ridge{o, q, za, zb}
			g, ok := groups[key]
			if !ok {
				g = &edge{}
				groups[key] = g
				order = append(order, key)
			}
			w := p.Mesh.Tri[t]
			l := r3.Norm(r3.Sub(p.Mesh.Pos[w[(k+1)%3]], p.Mesh.Pos[w[k]]))
			g.length += l
			g.turn += l * float64(p.Turn[t][k])
			if o >= 0 {
				a, b := p.Mesh.Pos[w[k]], p.Mesh.Pos[w[(k+1)%3]]
				g.away += l * fromAxis(&r.in.Survey.Openings[o], r3.Scale(0.5, r3.Add(a, b)))
			}
			g.side[0] += l * float64(open[first])
			g.side[1] += l * float64(open[second])
		}
	}
	var out []fettle.EdgeWear
	for _, key := range order {
		g := groups[key]
		if g.length < 1e-3*r.diag {
			continue
		}
		e := fettle.EdgeWear{
			Place: r.edgePlace(key), Zone: r.in.Survey.Zones[key.a].ID, LengthMM: g.length,
			AngleDeg: 180 - g.turn/g.length*180/math.Pi, Exposure: (g.side[0] + g.side[1]) / 2 / g.length,
		}
		if key.opening >= 0 {
			e.Opening = r.in.Survey.Openings[key.opening].ID
			if key.other < 0 {
				e.Zone = r.in.Survey.Zones[key.b].ID
			}
		}
		rim := 0.0
		if key.opening >= 0 && key.other != key.opening && r.in.Survey.Openings[key.opening].Kind == fettle.Hole {
			rim = g.away / g.length
		}
		e.Radii = edgeRadii(e.AngleDeg, rim, g.side[0]/g.length, g.side[1]/g.length)
		out = append(out, e)
	}
	slices.SortStableFunc(out, func(a, b fettle.EdgeWear) int {
		return cmp.Or(cmp.Compare(b.LengthMM, a.LengthMM), cmp.Compare(a.Place, b.Place))
	})
	for i := range out {
		out[i].ID = fmt.Sprintf("edge-%d", i+1)
	}
	return out
}

// fromAxis is how far a point is from an opening's axis.
func fromAxis(o *fettle.Opening, p r3.Vec) float64 {
	axis, d := geom.Vec(o.Axis), r3.Sub(p, geom.Vec(o.At))
	return r3.Norm(r3.Sub(d, r3.Scale(r3.Dot(d, axis), axis)))
}

// triangleExposure is the mean exposure of each triangle of the part.
func (r *reacher) triangleExposure(v values) []float64 {
	sum, area := make([]float64, len(r.in.Mesh.Tri)), make([]float64, len(r.in.Mesh.Tri))
	for f, t := range r.skin.from {
		sum[t] += r.skin.area[f] * float64(v.exposure[f])
		area[t] += r.skin.area[f]
	}
	for t, a := range area {
		if a > 0 {
			sum[t] /= a
		}
	}
	return sum
}

// edgePlace names a class of edges.
func (r *reacher) edgePlace(k ridge) string {
	switch {
	case k.opening >= 0 && k.other == k.opening:
		return "edges within " + r.in.Survey.Openings[k.opening].ID
	case k.opening >= 0 && k.other >= 0:
		return "edge between " + r.in.Survey.Openings[k.other].ID + " and " + r.in.Survey.Openings[k.opening].ID
	case k.opening >= 0:
		return "rim of " + r.in.Survey.Openings[k.opening].ID + " in " + r.zoneName(k.b)
	case k.a == k.b:
		return "edges within " + r.zoneName(k.a)
	}
	a, b := r.in.Survey.Zones[k.a], r.in.Survey.Zones[k.b]
	switch {
	case b.ID == "sides":
		return "outer edge of " + r.zoneName(k.a)
	case a.ID == "sides":
		return "outer edge of " + r.zoneName(k.b)
	}
	return "edge between " + r.zoneName(k.a) + " and " + r.zoneName(k.b)
}
