package jam

import (
	"math"

	"fettle"
	"fettle/internal/shape/convex"
	"fettle/internal/shape/field"
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// site is the neighbourhood of an opening as one size of piece sees it: places
// for its centre on a lattice that stands along the opening's axis, and which of
// them lie in the opening's void.
type site struct {
	f       *field.Field
	axis    r3.Vec // unit, out of the mouth
	u, v    r3.Vec // square to it and to each other
	mouth   r3.Vec
	origin  r3.Vec  // of the lattice: over the roomiest place
	deep    float64 // of the opening
	through bool
	step    float64
	reach   [2]float64 // of the lattice along u and v, to either side of its origin
	room    float64    // distance from the walls where the opening is widest
	n       [3]int     // of the lattice along u, v and down the axis
	top     float64
	tol     float64
	// Of the lattice only the places where a piece's centre may come to are kept.
	places []place
}

// place is a point of the lattice.
type place struct {
	at     r3.Vec
	down   float64 // below the mouth
	value  float64 // of the field
	within bool    // between mouth and bottom
	beside [6]int32
}

// Bounds of the search.
const (
	mostStates  = 4000 // places times turns
	leastCells  = 3.0  // a piece thinner than that many cells is below the grid
	tolCells    = 0.25
	stepOfLeast = 0.4 // of the piece's least width
	mostOfLeast = 0.8 // where that makes too many places
	mostOfWidth = 0.3 // or of the opening's width, however many places that makes
	shiftOfStep = 0.75
)

// siteOf lays the lattice for a body and that many turns. It reports false
// where there is nothing to search: no axis, no depth, no void in the opening.
//
// Two free poses side by side on the lattice, each shifted by no more than it
// may, are less than the piece's least width apart, so that no wall can stand
// between them. Where that would make too many places, the lattice is wider, and
// the way from place to place is looked at (see passes).
func siteOf(f *field.Field, o fettle.Opening, body *convex.Body, least float64, turns int) (*site, bool) {
	axis := geom.Vec(o.Axis)
	if l := r3.Norm(axis); !(math.Abs(l-1) < 1e-3) || !(o.DepthMM > 0) || !(o.WidthMM > 0) {
		return nil, false
	}
	s := &site{f: f, axis: r3.Unit(axis), mouth: geom.Vec(o.At), deep: o.DepthMM, through: o.Through, tol: tolCells * f.Cell}
	s.u = geom.Perpendicular(s.axis)
	s.v = r3.Cross(s.axis, s.u)
	if !s.align(o, body.OutRadius()) {
		return nil, false
	}
	for s.step = stepOfLeast * least; ; s.step *= 1.2 {
		inside := s.lattice(body)
		states := 0
		for _, p := range s.places {
			if p.value < body.OutRadius() { // else there is nothing to ask
				states += turns
			}
		}
		if states <= mostStates || s.step > math.Max(mostOfLeast*least, mostOfWidth*o.WidthMM) {
			return s, inside > 0
		}
	}
}

// lattice fills in the places and returns how many lie in the opening.
func (s *site) lattice(body *convex.Body) int {
	out := body.OutRadius() + s.step
	// One layer lies half way down, so that a thin plate has one inside.
	above := int(math.Ceil((s.deep/2 + out) / s.step))
	below := int(math.Floor(s.deep / 2 / s.step))
	if s.through {
		below = above
	}
	s.top = s.deep/2 - float64(above)*s.step
	// Beside the opening too: what goes in slantwise comes from there.
	widen := max(1, int(0.35*out/s.step))
	for a := range 2 {
		s.n[a] = 2*(int(math.Ceil(s.reach[a]/s.step))+widen) + 1
	}
	s.n[2] = above + below + 1
	inside := s.flood(above)
	open := make([]bool, s.n[0]*s.n[1]) // columns
	count := 0
	for at, in := range inside {
		if !in {
			continue
		}
		count++
		i, j, _ := s.split(at)
		for b := max(0, j-widen); b <= min(s.n[1]-1, j+widen); b++ {
			for a := max(0, i-widen); a <= min(s.n[0]-1, i+widen); a++ {
				open[b*s.n[0]+a] = true
			}
		}
	}
	least := body.InRadius() - s.tol - s.play().Shift
	s.places = s.places[:0]
	index := make([]int32, len(inside))
	var kept []int
	for at := range inside {
		index[at] = -1
		if s.within(at) && !inside[at] || !open[at%len(open)] {
			continue
		}
		p := s.point(at)
		if v := s.f.Value(p); v >= least {
			index[at] = int32(len(s.places))
			kept = append(kept, at)
			s.places = append(s.places, place{at: p, down: s.down(at), value: v, within: s.within(at)})
		}
	}
	for i, at := range kept {
		p := &s.places[i]
		p.beside = [6]int32{-1, -1, -1, -1, -1, -1}
		k := 0
		s.around(at, func(to int) {
			p.beside[k] = index[to]
			k++
		})
	}
	return count
}

// flood marks the points in the opening that hang together in the void, from the
// lattice's origin half way down.
func (s *site) flood(above int) []bool {
	inside := make([]bool, s.n[0]*s.n[1]*s.n[2])
	seed := (above*s.n[1]+s.n[1]/2)*s.n[0] + s.n[0]/2
	inside[seed] = true
	queue := []int{seed}
	for head := 0; head < len(queue); head++ {
		at := queue[head]
		p := s.point(at)
		s.around(at, func(to int) {
			if inside[to] || !s.within(to) {
				return
			}
			q := s.point(to)
			i, j, _ := s.split(to)
			if math.Abs(float64(i-s.n[0]/2))*s.step > s.reach[0]+s.step || math.Abs(float64(j-s.n[1]/2))*s.step > s.reach[1]+s.step {
				return
			}
			if v := s.f.Value(q); v > 0 && v <= leak*s.room && s.passes(p, q) {
				inside[to] = true
				queue = append(queue, to)
			}
		})
	}
	return inside
}

// leak is the distance from the walls, against the most in the opening, from
// which a place counts as out through an open end.
const leak = 1.2

// passes reports whether the void goes on half way between two places.
func (s *site) passes(p, q r3.Vec) bool { return s.f.Value(r3.Scale(0.5, r3.Add(p, q))) > 0 }

// play is how far a piece may settle off its place on the lattice.
func (s *site) play() convex.Room { return convex.Room{Shift: shiftOfStep * s.step} }

func (s *site) split(at int) (i, j, k int) {
	return at % s.n[0], at / s.n[0] % s.n[1], at / s.n[0] / s.n[1]
}

func (s *site) point(at int) r3.Vec {
	i, j, _ := s.split(at)
	p := r3.Add(r3.Scale(float64(i-s.n[0]/2)*s.step, s.u), r3.Scale(float64(j-s.n[1]/2)*s.step, s.v))
	return r3.Add(r3.Add(s.origin, p), r3.Scale(-s.down(at), s.axis))
}

// down is how far below the mouth a point of the lattice lies.
func (s *site) down(at int) float64 { return s.top + float64(at/s.n[0]/s.n[1])*s.step }

// below is how far below the mouth any point lies.
func (s *site) below(p r3.Vec) float64 { return r3.Dot(r3.Sub(s.mouth, p), s.axis) }

func (s *site) within(at int) bool {
	d := s.down(at)
	return d > 0 && d < s.deep
}

// around calls f for the six points of the lattice round one.
func (s *site) around(at int, f func(to int)) {
	i, j, k := s.split(at)
	row, layer := s.n[0], s.n[0]*s.n[1]
	if i > 0 {
		f(at - 1)
	}
	if i+1 < s.n[0] {
		f(at + 1)
	}
	if j > 0 {
		f(at - row)
	}
	if j+1 < s.n[1] {
		f(at + row)
	}
	if k > 0 {
		f(at - layer)
	}
	if k+1 < s.n[2] {
		f(at + layer)
	}
}

// clearWidth is the width of the void at a point: twice the distance at
// the top of the ridge nearest to it, square to the axis.
func (s *site) clearWidth(p r3.Vec) float64 { return 2 * s.f.Value(s.ridge(p)) }

// ridge climbs, square to the axis, to where the void is widest.
func (s *site) ridge(p r3.Vec) r3.Vec {
	best := s.f.Value(p)
	step := s.f.Cell
	for range 64 {
		g := s.f.Gradient(p)
		g = r3.Sub(g, r3.Scale(r3.Dot(g, s.axis), s.axis))
		l := r3.Norm(g)
		if l < 1e-3 {
			break
		}
		q := r3.Add(p, r3.Scale(step/l, g))
		if v := s.f.Value(q); v > best {
			p, best = q, v
			continue
		}
		if step /= 2; step < 0.05*s.f.Cell {
			break
		}
	}
	return p
}
