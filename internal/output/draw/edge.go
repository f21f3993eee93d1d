package draw

import (
	"math"

	"fettle"

	"gonum.org/v1/gonum/spatial/r2"
)

// Flat is an edge as points from its start to just before its end, which is the
// next edge's start; chords of an arc stray from it by at most tol. An arc whose
// ends are one is a full circle.
func Flat(e fettle.PlanEdge, tol float64) [][2]float64 {
	if !(e.RadiusMM > 0) {
		return [][2]float64{e.From}
	}
	a := math.Atan2(e.From[1]-e.Centre[1], e.From[0]-e.Centre[0])
	b := math.Atan2(e.To[1]-e.Centre[1], e.To[0]-e.Centre[0])
	turn := b - a
	full := 2 * math.Pi
	same := math.Hypot(e.From[0]-e.To[0], e.From[1]-e.To[1]) < 1e-9
	switch {
	case e.Left && (turn <= 0 || same):
		turn += full
	case !e.Left && (turn >= 0 || same):
		turn -= full
	}
	if same {
		turn = math.Copysign(full, turn)
	}
	// A chord over the angle φ strays by r(1 − cos φ/2).
	step := 2 * math.Acos(max(0, 1-tol/e.RadiusMM))
	n := max(2, int(math.Ceil(math.Abs(turn)/max(step, 1e-3))))
	out := make([][2]float64, n)
	out[0] = e.From
	for i := 1; i < n; i++ {
		s, c := math.Sincos(a + turn*float64(i)/float64(n))
		out[i] = [2]float64{e.Centre[0] + e.RadiusMM*c, e.Centre[1] + e.RadiusMM*s}
	}
	return out
}

// PocketWalls is the extent in plan, in the vise's frame, of a pocket's walls:
// corners that are cut past them for the cutter's sake are left out. lo is above hi
// for a pocket without outlines.
func PocketWalls(p fettle.JawPocket) (lo, hi [2]float64) {
	inf := math.Inf(1)
	lo, hi = [2]float64{inf, inf}, [2]float64{-inf, -inf}
	add := func(q [2]float64) {
		for k := range q {
			lo[k], hi[k] = min(lo[k], q[k]), max(hi[k], q[k])
		}
	}
	for _, l := range p.Levels {
		for _, loop := range l.Edges {
			for _, e := range loop {
				add(e.From)
				add(e.To)
				if isRelief(p.Reliefs, e) {
					continue
				}
				for _, q := range Flat(e, 1e-3) {
					add(q)
				}
			}
		}
	}
	return lo, hi
}

// isRelief reports whether an arc is the cutter's in a corner relief.
func isRelief(rs []fettle.PocketRelief, e fettle.PlanEdge) bool {
	const near = 0.02
	for _, r := range rs {
		if e.RadiusMM > 0 && math.Hypot(e.Centre[0]-r.At[0], e.Centre[1]-r.At[1]) < near && math.Abs(e.RadiusMM-r.RadiusMM) < near {
			return true
		}
	}
	return false
}

// loops are the outlines of a level as polygons.
func loops(edges [][]fettle.PlanEdge, tol float64) [][]r2.Vec {
	var out [][]r2.Vec
	for _, loop := range edges {
		var l []r2.Vec
		for _, e := range loop {
			for _, q := range Flat(e, tol) {
				l = append(l, r2.Vec{X: q[0], Y: q[1]})
			}
		}
		if len(l) >= 3 {
			out = append(out, l)
		}
	}
	return out
}
