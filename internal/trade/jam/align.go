package jam

import (
	"math"

	"fettle"

	"gonum.org/v1/gonum/spatial/r3"
)

// manyLong is how many of its radii to either side a piece is walked in an
// opening that is alike along its length.
const manyLong = 3

// mostRoom is the distance from the walls, in halves of the mouth's length, that
// even a wide undercut does not have.
const mostRoom = 3

// align sets the lattice on the middle of the opening, half way down, along the
// long way of its section there: for a keyhole on the middle of its round end. It
// reports false where there is no void, or nothing but void. The search keeps to the part of a long
// slot about its middle; out is the piece's radius.
func (s *site) align(o fettle.Opening, out float64) bool {
	half := math.Max(o.LengthMM, math.Max(o.WidestMM, o.WidthMM)) / 2
	g := s.section(half, math.Min(math.Max(s.f.Cell, half/40), o.WidthMM/3))
	seed := r3.Add(s.mouth, r3.Scale(-s.deep/2, s.axis))
	if o.Form == "keyhole" || s.f.Value(seed) <= 0 {
		i := g.roomiest(0.6 * math.Max(o.WidthMM, o.WidestMM))
		if i < 0 {
			return false
		}
		seed = g.at(i)
	}
	seed = s.ridge(seed)
	if _, _, _, on := s.f.Nearest(seed); !on || s.f.Value(seed) > mostRoom*half {
		return false // no opening there
	}
	off := r3.Sub(seed, s.mouth)
	s.origin = r3.Add(s.mouth, r3.Sub(off, r3.Scale(r3.Dot(off, s.axis), s.axis)))

	// The long way of what hangs together with it, by second moments.
	part := g.part(seed, leak*s.f.Value(seed))
	var sum r3.Vec
	for _, p := range part {
		sum = r3.Add(sum, p)
	}
	centre := r3.Scale(1/float64(len(part)), sum)
	var xx, xy, yy float64
	for _, p := range part {
		d := r3.Sub(p, centre)
		x, y := r3.Dot(d, s.u), r3.Dot(d, s.v)
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
	}
	if spread := math.Hypot(xx-yy, 2*xy); spread > 0.1*(xx+yy) {
		sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
		u := r3.Add(r3.Scale(cos, s.u), r3.Scale(sin, s.v))
		s.u, s.v = u, r3.Cross(s.axis, u)
	}
	for _, p := range part {
		d := r3.Sub(p, s.origin)
		s.reach[0] = math.Max(s.reach[0], math.Abs(r3.Dot(d, s.u)))
		s.reach[1] = math.Max(s.reach[1], math.Abs(r3.Dot(d, s.v)))
	}
	s.room = 0
	for k := range 8 { // an opening may be wider above or below
		p := r3.Add(s.origin, r3.Scale(-s.deep*(float64(k)+0.5)/8, s.axis))
		s.room = math.Max(s.room, math.Min(s.f.Value(s.ridge(p)), mostRoom*half))
	}
	for a := range s.reach {
		s.reach[a] = math.Max(s.reach[a], s.room)
	}
	if o.Form != "keyhole" {
		s.reach[0] = math.Min(s.reach[0], math.Max(manyLong*out, o.WidthMM))
	}
	return true
}

// section is a net of points across an opening, half way down.
type section struct {
	*site
	mid   r3.Vec
	u, v  r3.Vec
	pitch float64
	side  int
	value []float64
	half  float64
}

func (s *site) section(half, pitch float64) *section {
	n := int(half / pitch)
	g := &section{site: s, mid: r3.Add(s.mouth, r3.Scale(-s.deep/2, s.axis)), u: s.u, v: s.v, pitch: pitch, side: 2*n + 1, half: half}
	g.value = make([]float64, g.side*g.side)
	for i := range g.value {
		if a, b := g.off(i); math.Hypot(a, b) <= half+pitch {
			g.value[i] = s.f.Value(g.at(i))
		}
	}
	return g
}

func (g *section) off(i int) (a, b float64) {
	n := g.side / 2
	return float64(i%g.side-n) * g.pitch, float64(i/g.side-n) * g.pitch
}

func (g *section) at(i int) r3.Vec {
	a, b := g.off(i)
	return r3.Add(g.mid, r3.Add(r3.Scale(a, g.u), r3.Scale(b, g.v)))
}

// roomiest is the point farthest from all walls, but no farther than most, which
// would be outside; −1 where there is no void.
func (g *section) roomiest(most float64) int {
	which, best := -1, 0.0
	for i, v := range g.value {
		a, b := g.off(i)
		// Of equals the one nearest to the axis; rounding must not choose.
		if w := v - 1e-3*math.Hypot(a, b); v <= most && w > best+1e-9 {
			which, best = i, w
		}
	}
	return which
}

// part lists the points that hang together with one in the void, no farther from
// the walls than most.
func (g *section) part(seed r3.Vec, most float64) []r3.Vec {
	out := []r3.Vec{seed}
	d := r3.Sub(seed, g.mid)
	n := g.side / 2
	i, j := int(math.Round(r3.Dot(d, g.u)/g.pitch))+n, int(math.Round(r3.Dot(d, g.v)/g.pitch))+n
	if i < 0 || j < 0 || i >= g.side || j >= g.side {
		return out
	}
	seen := make([]bool, len(g.value))
	queue := []int{j*g.side + i}
	seen[queue[0]] = true
	for head := 0; head < len(queue); head++ {
		at := queue[head]
		out = append(out, g.at(at))
		i, j := at%g.side, at/g.side
		for _, to := range [][2]int{{i - 1, j}, {i + 1, j}, {i, j - 1}, {i, j + 1}} {
			k := to[1]*g.side + to[0]
			if to[0] >= 0 && to[1] >= 0 && to[0] < g.side && to[1] < g.side && !seen[k] && g.value[k] > 0 && g.value[k] <= most {
				seen[k] = true
				queue = append(queue, k)
			}
		}
	}
	return out
}
