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
	n       [3]int // along u, v and down the axis
	top     float64
	// value is the distance at each place; NaN where the piece's centre has no
	// business.
	value []float64
	tol   float64
}

// Bounds of the search.
const (
	mostStates  = 4000 // places times turns
	leastCells  = 3.0  // a piece thinner than that many cells is below the grid
	tolCells    = 0.25
	stepOfLeast = 0.4 // of the piece's least width
	mostOfLeast = 0.6 // where that makes too many places
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
	half := math.Max(o.LengthMM, math.Max(o.WidestMM, o.WidthMM)) / 2
	if !s.align(half) {
		return nil, false
	}
	for s.step = stepOfLeast * least; ; s.step *= 1.15 {
		inside := s.lattice(half, body)
		states := 0
		for _, v := range s.value {
			if v < body.OutRadius() { // else there is nothing to ask
				states += turns
			}
		}
		if states <= mostStates || s.step > math.Max(mostOfLeast*least, mostOfWidth*o.WidthMM) {
			return s, inside > 0
		}
	}
}

// align sets the lattice on the roomiest place half way down the opening, along
// the long way of its section there, so that a slot's middle and a keyhole's round end lie
// on it. It reports false where there is no void.
func (s *site) align(half float64) bool {
	const most = 40
	pitch := math.Max(s.f.Cell, half/most)
	n := int(half / pitch)
	width := 2*n + 1
	mid := r3.Add(s.mouth, r3.Scale(-s.deep/2, s.axis))
	at := func(i int) r3.Vec {
		a, b := float64(i%width-n)*pitch, float64(i/width-n)*pitch
		return r3.Add(mid, r3.Add(r3.Scale(a, s.u), r3.Scale(b, s.v)))
	}
	value := make([]float64, width*width)
	seed, best := -1, 0.0
	for i := range value {
		a, b := float64(i%width-n)*pitch, float64(i/width-n)*pitch
		off := math.Hypot(a, b)
		if off > half+pitch {
			continue
		}
		value[i] = s.f.Value(at(i))
		// Of equals the one nearest to the axis; rounding must not choose.
		if v := value[i] - 1e-3*off; v > best+1e-9 {
			seed, best = i, v
		}
	}
	if seed < 0 {
		return false
	}
	seen := make([]bool, len(value))
	seen[seed] = true
	var xx, xy, yy, count float64
	var sum r3.Vec
	queue := []int{seed}
	for head := 0; head < len(queue); head++ {
		i := queue[head]
		sum, count = r3.Add(sum, at(i)), count+1
		for _, j := range []int{i - 1, i + 1, i - width, i + width} {
			if j >= 0 && j < len(value) && !seen[j] && value[j] > 0 && (j/width == i/width || j%width == i%width) {
				seen[j] = true
				queue = append(queue, j)
			}
		}
	}
	centre := r3.Scale(1/count, sum)
	for _, i := range queue {
		d := r3.Sub(at(i), centre)
		x, y := r3.Dot(d, s.u), r3.Dot(d, s.v)
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
	}
	top := r3.Sub(s.ridge(at(seed)), mid)
	s.origin = r3.Add(s.mouth, r3.Sub(top, r3.Scale(r3.Dot(top, s.axis), s.axis)))
	if spread := math.Hypot(xx-yy, 2*xy); spread > 0.1*(xx+yy) {
		sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
		u := r3.Add(r3.Scale(cos, s.u), r3.Scale(sin, s.v))
		s.u, s.v = u, r3.Cross(s.axis, u)
	}
	return true
}

// lattice fills in the places and returns how many lie in the opening.
func (s *site) lattice(half float64, body *convex.Body) int {
	out := body.OutRadius() + s.step
	// One layer lies half way down, so that a thin plate has one inside.
	above := int(math.Ceil((s.deep/2 + out) / s.step))
	below := int(math.Floor(s.deep / 2 / s.step))
	if s.through {
		below = above
	}
	s.top = s.deep/2 - float64(above)*s.step
	widen := max(1, int(0.35*out/s.step))
	// The roomiest place may lie at one end.
	k := int(math.Ceil((half+s.aside(s.origin))/s.step)) + widen
	s.n = [3]int{2*k + 1, 2*k + 1, above + below + 1}
	s.value = make([]float64, s.n[0]*s.n[1]*s.n[2])
	for i := range s.value {
		s.value[i] = math.NaN()
	}
	inside := s.flood(k, above, half)
	// Columns over the opening's void, and a little beside it: what goes in
	// slantwise comes from there.
	open := make([]bool, s.n[0]*s.n[1])
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
	least := body.InRadius() - s.tol - s.room().Shift
	for at := range s.value {
		i, j, _ := s.split(at)
		if s.within(at) && !inside[at] || !open[j*s.n[0]+i] {
			continue
		}
		if v := s.f.Value(s.place(at)); v >= least {
			s.value[at] = v
		}
	}
	return count
}

// flood marks the places in the opening that hang together in the void, from the
// roomiest one half way down.
func (s *site) flood(k, above int, half float64) []bool {
	inside := make([]bool, len(s.value))
	seed := (above*s.n[1]+k)*s.n[0] + k
	inside[seed] = true
	queue := []int{seed}
	for head := 0; head < len(queue); head++ {
		at := queue[head]
		s.beside(at, func(to int) {
			if inside[to] || !s.within(to) {
				return
			}
			if q := s.place(to); s.aside(q) <= half+s.step && s.f.Value(q) > 0 && s.passes(at, to) {
				inside[to] = true
				queue = append(queue, to)
			}
		})
	}
	return inside
}

// passes reports whether the void goes on between two places side by side.
func (s *site) passes(at, to int) bool {
	return s.f.Value(r3.Scale(0.5, r3.Add(s.place(at), s.place(to)))) > 0
}

// room is how far a piece may settle off its place on the lattice.
func (s *site) room() convex.Room { return convex.Room{Shift: shiftOfStep * s.step} }

func (s *site) split(at int) (i, j, k int) {
	return at % s.n[0], at / s.n[0] % s.n[1], at / s.n[0] / s.n[1]
}

func (s *site) place(at int) r3.Vec {
	i, j, _ := s.split(at)
	p := r3.Add(r3.Scale(float64(i-s.n[0]/2)*s.step, s.u), r3.Scale(float64(j-s.n[1]/2)*s.step, s.v))
	return r3.Add(r3.Add(s.origin, p), r3.Scale(-s.down(at), s.axis))
}

// down is how far below the mouth a place lies.
func (s *site) down(at int) float64 { return s.top + float64(at/s.n[0]/s.n[1])*s.step }

// below is how far below the mouth a point lies, aside how far from the axis.
func (s *site) below(p r3.Vec) float64 { return r3.Dot(r3.Sub(s.mouth, p), s.axis) }

func (s *site) aside(p r3.Vec) float64 {
	d := r3.Sub(p, s.mouth)
	return r3.Norm(r3.Sub(d, r3.Scale(r3.Dot(d, s.axis), s.axis)))
}

// within reports whether a place lies between mouth and bottom.
func (s *site) within(at int) bool {
	d := s.down(at)
	return d > 0 && d < s.deep
}

// beside calls f for the six places round one.
func (s *site) beside(at int, f func(to int)) {
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

// clearWidth is the width of the void where a place is: twice the distance at
// the top of the ridge nearest to it, square to the axis.
func (s *site) clearWidth(at int) float64 { return 2 * s.f.Value(s.ridge(s.place(at))) }

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
