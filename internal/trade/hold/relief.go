package hold

import (
	"math"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// Starting guesses about the groove in which a burr or an edge that media have
// rounded finds room.
const (
	grooveMM = 0.5 // deep
	// seatShare of a floor must be left to sit on.
	seatShare = 0.4
)

// cuttable is the least that a round cutter must clear so that all of room is
// open: what it gets into, and a relief in every corner that is sharper than the
// cutter, past the walls as far as the corner asks. ok is false where the cutter
// does not get in at all.
//
// A corner is covered when the cutter goes on, on the line from the last place
// where it touches both walls towards the corner's tip, until its edge is at the
// tip. Where that leaves something, it is covered in the same way in turn.
func cuttable(room region.Region, radius float64) (cut region.Region, reliefs []fettle.PocketRelief, ok bool) {
	cut = room.Opened(radius, arcMM)
	if cut.Empty() {
		return cut, nil, false
	}
	const slight = 0.002 // mm: a sliver thinner than this is rounding of arcs
	for range 6 {
		var capsules []region.Region
		for _, sliver := range room.Minus(cut).Parts() {
			tip, deep := farthest(sliver, cut)
			if deep < slight {
				continue
			}
			near := nearest(cut, tip)
			along := r2.Unit(r2.Sub(near, tip))
			from, to := r2.Add(near, r2.Scale(radius, along)), r2.Add(tip, r2.Scale(radius-slight/2, along))
			if deep > 6*radius { // a branch that the cutter does not enter, no corner
				return cut, nil, false
			}
			capsules = append(capsules, region.Capsule(from, to, radius, arcMM))
			reliefs = append(reliefs, fettle.PocketRelief{
				At: [2]float64{to.X, to.Y}, RadiusMM: radius, InsideDeg: cornerAngle(radius, deep),
			})
		}
		if len(capsules) == 0 {
			return cut, reliefs, true
		}
		cut = cut.Union(capsules...)
	}
	left, _ := farthest(room.Minus(cut), cut)
	return cut, reliefs, room.Minus(cut).Empty() || cut.Distance(left) < 2*slight
}

// cornerAngle is the angle between straight walls in whose corner a cutter's edge
// stays so far from the tip, in degrees: the distance from tip to centre is
// r / sin(α/2).
func cornerAngle(radius, deep float64) float64 {
	return 2 * math.Asin(radius/(radius+deep)) * 180 / math.Pi
}

// farthest is the corner of a region that lies deepest outside another.
func farthest(r, from region.Region) (at r2.Vec, deep float64) {
	for _, l := range r.Loops {
		for _, p := range l {
			if d := from.Distance(p); d > deep {
				at, deep = p, d
			}
		}
	}
	return at, deep
}

// nearest is the point of a region's border nearest to p.
func nearest(r region.Region, p r2.Vec) r2.Vec {
	best, at := math.Inf(1), p
	for _, l := range r.Loops {
		for i, a := range l {
			d := r2.Sub(l[(i+1)%len(l)], a)
			t := min(1, max(0, r2.Dot(r2.Sub(p, a), d)/max(r2.Dot(d, d), 1e-30)))
			q := r2.Add(a, r2.Scale(t, d))
			if n := r2.Norm2(r2.Sub(p, q)); n < best {
				best, at = n, q
			}
		}
	}
	return at
}

// groove is the ring of a floor along its wall that is cut deeper, for burrs and
// soft edges, with the widest of the cutters that leaves enough to sit on; empty
// where none does.
func groove(floor, open region.Region, cutters []fettle.Cutter) (ring region.Region, with fettle.Cutter) {
	total := floor.Area()
	for _, c := range cutters {
		wide := c.DiameterMM * 1.02
		inner := floor.And(open.Offset(-wide, arcMM))
		if inner.Area() < seatShare*total {
			continue
		}
		// What the cutter gets into of the ring, and not into the metal beside it.
		if ring = open.Minus(open.Offset(-wide, arcMM)).Opened(c.DiameterMM/2, arcMM).And(floor); ring.Area() > 0.2*total*(1-seatShare) {
			return ring, c
		}
	}
	return region.Region{}, fettle.Cutter{}
}
