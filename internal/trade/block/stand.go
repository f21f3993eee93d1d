package block

import (
	"math"

	"fettle/internal/shape/geom"
	"fettle/internal/shape/slide"

	"gonum.org/v1/gonum/spatial/r3"
)

// A face leans by at most steepest against the press; facets up to seenSteep count
// as ground for it. A turn about an axis that the face looks along bends the stroke
// in plan, so that a face takes less of the round there.
const (
	steepest  = 50 * math.Pi / 180
	seenSteep = 70 * math.Pi / 180
	bentRound = 40 * math.Pi / 180
)

// stand is where on a patch a block is made, for a motion.
type stand struct {
	motion slide.Motion
	pose   Pose // At on the patch; the heights of the block count from there
	ground *ground
	// tris are the facets within reach of one face, lo and hi their box in the pose.
	tris   []int32
	lo, hi r3.Vec
	// travel is how long the whole patch is along the motion, in mm of its middle.
	travel float64
}

// newStand finds the place for a block on a patch: all of it where it can be seen
// from one side; of one that wraps round, the sector with the largest area. local
// looks round the place that is farthest from the patch's border instead.
func newStand(g *ground, m slide.Motion, local bool) stand {
	s := stand{motion: m}
	all := make([]int32, len(g.of))
	for i := range all {
		all[i] = int32(i)
	}
	s.travel = travel(g, m)
	n := g.mean(all)
	tris := all
	if _, area := g.cone(all, n, steepest); area < 0.995*g.total {
		n = widest(g, tris)
		tris, _ = g.cone(tris, n, steepest)
		tris = g.largest(tris)
		n = g.mean(tris)
	}
	if spins(g, m, n, tris) {
		tris = window(g, m, tris)
		n = g.mean(tris)
		tris, _ = g.cone(tris, n, steepest)
		tris = g.largest(tris)
		n = g.mean(tris)
	}
	s.tris = tris
	// The pose: its middle and the stroke's direction there settle each other.
	w, at := 0.0, r3.Vec{}
	for _, t := range tris {
		at = r3.Add(at, r3.Scale(g.area[t], g.middle(t)))
		w += g.area[t]
	}
	s.pose.At = r3.Scale(1/w, at)
	for range 6 {
		s.pose = posed(m, n, s.pose.At)
		s.lo, s.hi = g.within(s.pose, s.tris)
		mid := r3.Scale(0.5, r3.Add(s.lo, s.hi))
		s.pose.At = s.pose.Point(mid)
		s.lo, s.hi = r3.Sub(s.lo, mid), r3.Sub(s.hi, mid)
		s.straighten(g)
	}
	if local {
		var far float64
		s.pose.At, far = g.deepest()
		n = g.normal[g.foot(s.pose.At, -1).tri]
		s.pose = posed(m, n, s.pose.At)
		s.lo, s.hi = g.within(s.pose, all)
		x, y := min(4*far, max(-s.lo.X, s.hi.X)), min(2*far, max(-s.lo.Y, s.hi.Y))
		s.lo.X, s.hi.X, s.lo.Y, s.hi.Y = -x, x, -y, y
		tris = all
	}
	seen, _ := g.cone(before(g, tris, all, s.pose), n, seenSteep)
	s.ground = sub(g, seen)
	// On the ground where it is there under the middle, else at the middle height.
	if z, _, over := s.ground.meet(ray{s.pose.At, s.pose.Z}, 0.05, s.lo.Z-1, s.hi.Z+1, -1); over {
		s.pose.At = s.pose.Point(r3.Vec{Z: z + 0.05})
		s.lo.Z -= z + 0.05
		s.hi.Z -= z + 0.05
	}
	return s
}

// straighten shortens what is within reach where the stroke bends in plan, until the
// bend takes no more than half of the width: a face is a rectangle.
func (s *stand) straighten(g *ground) {
	m := s.motion
	if !m.Turns {
		return
	}
	r := r3.Sub(s.pose.At, m.At)
	r = r3.Sub(r, r3.Scale(r3.Dot(r, m.Axis), m.Axis))
	bend := math.Abs(r3.Dot(m.Axis, s.pose.Z)) / max(r3.Norm(r), 1e-9)
	// The width in the middle.
	lo, hi := math.Inf(1), math.Inf(-1)
	slice := 0.1 * (s.hi.X - s.lo.X)
	for _, t := range s.tris {
		if q := s.pose.Back(g.middle(t)); math.Abs(q.X) < slice {
			for _, v := range g.mesh.Tri[t] {
				y := s.pose.Back(g.mesh.Pos[v]).Y
				lo, hi = min(lo, y), max(hi, y)
			}
		}
	}
	if hi <= lo || bend == 0 {
		return
	}
	if long := 2 * math.Sqrt((hi-lo)/bend); long < s.hi.X-s.lo.X {
		var in []int32
		for _, t := range s.tris {
			if math.Abs(s.pose.Back(g.middle(t)).X) <= long/2 {
				in = append(in, t)
			}
		}
		if len(in) > 0 {
			s.tris = in
			s.lo.X, s.hi.X = -long/2, long/2
		}
	}
}

// before are the facets that belong to the ground of a face: all, but for those of a
// wrapped patch that lie behind the ones in reach.
func before(g *ground, tris, all []int32, p Pose) []int32 {
	if len(tris) == len(all) {
		return all
	}
	lo, hi := g.within(p, tris)
	room := 0.5*(hi.Z-lo.Z) + 1
	var list []int32
	for _, t := range all {
		if z := p.Back(g.middle(t)).Z; z > lo.Z-room && z < hi.Z+room {
			list = append(list, t)
		}
	}
	return list
}

// sub is the ground of some of a ground's facets.
func sub(g *ground, tris []int32) *ground {
	if len(tris) == len(g.of) {
		return g
	}
	s := newGround(g.mesh, tris)
	for i, t := range tris {
		s.of[i] = g.of[t]
	}
	return s
}

// posed looks against the normal n at a place, X along the motion there.
func posed(m slide.Motion, n, at r3.Vec) Pose {
	z := r3.Scale(-1, n)
	v := m.Velocity(at)
	x := r3.Sub(v, r3.Scale(r3.Dot(v, z), z))
	if r3.Norm(x) < 1e-6 {
		x = geom.Perpendicular(z)
	}
	x = r3.Unit(x)
	return Pose{X: x, Y: r3.Cross(z, x), Z: z, At: at}
}

// spins reports whether a motion leaves the middle of facets nearly where it is, as
// a turn about the middle of a ring does.
func spins(g *ground, m slide.Motion, n r3.Vec, tris []int32) bool {
	if !m.Turns {
		return false
	}
	p := posed(m, n, g.middle(tris[0]))
	lo, hi := g.within(p, tris)
	return r3.Norm(m.Velocity(p.Point(r3.Scale(0.5, r3.Add(lo, hi))))) < 0.4
}

// sectors is how many pieces a round is told apart in.
const sectors = 180

// round tells how the area of facets is spread round an axis, and their angles.
func round(g *ground, m slide.Motion, tris []int32) (share [sectors]float64, angle []float64) {
	e := geom.Perpendicular(m.Axis)
	f := r3.Cross(m.Axis, e)
	angle = make([]float64, len(tris))
	for i, t := range tris {
		d := r3.Sub(g.middle(t), m.At)
		a := math.Atan2(r3.Dot(d, f), r3.Dot(d, e))
		if a < 0 {
			a += 2 * math.Pi
		}
		angle[i] = a
		share[min(sectors-1, int(a/(2*math.Pi)*sectors))] += g.area[t]
	}
	return share, angle
}

// window are the facets of the sector round a motion's axis that has the most area.
func window(g *ground, m slide.Motion, tris []int32) []int32 {
	share, angle := round(g, m, tris)
	half := int(bentRound / (2 * math.Pi) * sectors)
	best, most := 0, -1.0
	for c := range sectors {
		sum := 0.0
		for k := -half; k <= half; k++ {
			sum += share[(c+k+sectors)%sectors]
		}
		if sum > most*(1+1e-3) {
			best, most = c, sum
		}
	}
	mid := (float64(best) + 0.5) * 2 * math.Pi / sectors
	limit := (float64(half) + 0.5) * 2 * math.Pi / sectors
	var in []int32
	for i, t := range tris {
		if math.Abs(math.Remainder(angle[i]-mid, 2*math.Pi)) <= limit {
			in = append(in, t)
		}
	}
	if len(in) == 0 {
		return tris
	}
	return in
}

// widest is the normal that has the most area within reach of it.
func widest(g *ground, tris []int32) r3.Vec {
	const tries = 48
	best, most := g.mean(tris), -1.0
	for k := range tries {
		n := g.normal[tris[k*len(tris)/tries]]
		for range 3 {
			in, area := g.cone(tris, n, steepest)
			if area > most*(1+1e-3) {
				best, most = n, area
			}
			if len(in) == 0 {
				break
			}
			n = g.mean(in)
		}
	}
	return best
}

// travel is how long a patch is along a motion.
func travel(g *ground, m slide.Motion) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	if !m.Turns {
		for _, p := range g.mesh.Pos {
			d := r3.Dot(p, m.Axis)
			lo, hi = min(lo, d), max(hi, d)
		}
		return hi - lo
	}
	// Of a turn, the round less its widest gap; a facet takes all between its corners.
	e := geom.Perpendicular(m.Axis)
	f := r3.Cross(m.Axis, e)
	var taken [4 * sectors]bool
	const n = 4 * sectors
	for _, tri := range g.mesh.Tri {
		var a [3]float64
		for k, v := range tri {
			d := r3.Sub(g.mesh.Pos[v], m.At)
			a[k] = math.Atan2(r3.Dot(d, f), r3.Dot(d, e))
			if k > 0 {
				a[k] = a[0] + math.Remainder(a[k]-a[0], 2*math.Pi)
			}
		}
		from, to := min(a[0], a[1], a[2]), max(a[0], a[1], a[2])
		for i := int(math.Floor(from / (2 * math.Pi) * n)); i <= int(math.Floor(to/(2*math.Pi)*n)); i++ {
			taken[((i%n)+n)%n] = true
		}
	}
	gap, run := 0, 0
	for i := range 2 * n {
		if taken[i%n] {
			run = 0
		} else if run++; run > gap {
			gap = min(run, n)
		}
	}
	return float64(n-gap) / n * 2 * math.Pi / m.PerMM
}
