package proof

import (
	"math"

	"fettle/internal/format/nc"
)

// planeAxes are the two axes of an arc's plane and the one square to it, in the
// order that makes a positive turn anticlockwise (ISO 841).
func planeAxes(p nc.Plane) (u, v, w int) {
	switch p {
	case nc.ZX:
		return 2, 0, 1
	case nc.YZ:
		return 1, 2, 0
	}
	return 0, 1, 2
}

// arcPath runs along an arc or helix. An end that misses the circle is closed
// evenly over the turn, as a control does that does not stop for it.
type arcPath struct {
	centre  [2]float64
	r0, dr  float64
	a0      float64
	turn    float64
	w0, dw  float64
	u, v, w int
}

func newArc(m *nc.Move, a *nc.Arc) arcPath {
	u, v, w := planeAxes(a.Plane)
	cu, cv := a.Centre[u], a.Centre[v]
	r0 := math.Hypot(m.From[u]-cu, m.From[v]-cv)
	r1 := math.Hypot(m.To[u]-cu, m.To[v]-cv)
	return arcPath{
		centre: [2]float64{cu, cv}, r0: r0, dr: r1 - r0,
		a0: math.Atan2(m.From[v]-cv, m.From[u]-cu), turn: a.Turn,
		w0: m.From[w], dw: m.To[w] - m.From[w], u: u, v: v, w: w,
	}
}

// at is the point a share t of the way, 0 to 1.
func (a arcPath) at(t float64) (p [3]float64) {
	sin, cos := math.Sincos(a.a0 + t*a.turn)
	r := a.r0 + t*a.dr
	p[a.u], p[a.v], p[a.w] = a.centre[0]+r*cos, a.centre[1]+r*sin, a.w0+t*a.dw
	return p
}

// heading is the direction of travel at t, unit length.
func (a arcPath) heading(t float64) (d [3]float64) {
	sin, cos := math.Sincos(a.a0 + t*a.turn)
	k := a.r0 * a.turn
	d[a.u], d[a.v], d[a.w] = -k*sin, k*cos, a.dw
	if n := norm(d); n > 0 {
		for i := range d {
			d[i] /= n
		}
	}
	return d
}

func (a arcPath) length() float64 {
	return math.Hypot((a.r0+a.dr/2)*a.turn, a.dw)
}

// chords is how many straight pieces stay within tol of the arc.
func (a arcPath) chords(tol float64) int {
	r := math.Max(a.r0, a.r0+a.dr)
	if r <= tol {
		return 1
	}
	n := math.Ceil(math.Abs(a.turn) / (2 * math.Acos(1-tol/r)))
	return int(math.Max(1, math.Min(n, 100_000)))
}

// flatTolerance is how far the straight pieces of an arc may stray from it, mm:
// well under any cusp that shows.
const flatTolerance = 2e-4

// pieces calls f with the straight pieces of a move, in order.
func (j *job) pieces(m *nc.Move, tol float64, f func(from, to [3]float64)) {
	if m.Arc < 0 || int(m.Arc) >= len(j.Program.Arcs) {
		f(m.From, m.To)
		return
	}
	a := newArc(m, &j.Program.Arcs[m.Arc])
	n := a.chords(tol)
	from := m.From
	for i := 1; i < n; i++ {
		to := a.at(float64(i) / float64(n))
		f(from, to)
		from = to
	}
	f(from, m.To)
}

// lengthOf is the length of a move's path.
func (j *job) lengthOf(m *nc.Move) float64 {
	if m.Arc >= 0 && int(m.Arc) < len(j.Program.Arcs) {
		return newArc(m, &j.Program.Arcs[m.Arc]).length()
	}
	return norm(sub(m.To, m.From))
}

// ends are the directions in which a move starts and ends.
func (j *job) ends(m *nc.Move) (start, end [3]float64) {
	if m.Arc >= 0 && int(m.Arc) < len(j.Program.Arcs) {
		a := newArc(m, &j.Program.Arcs[m.Arc])
		return a.heading(0), a.heading(1)
	}
	d := sub(m.To, m.From)
	if n := norm(d); n > 0 {
		for k := range d {
			d[k] /= n
		}
	}
	return d, d
}

// placed reports whether a move can be placed in the offset that is proved.
func (j *job) placed(m *nc.Move) bool {
	return m.Known && m.Kind != nc.Dwell && j.mine[m.Mode]
}
