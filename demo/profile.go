package demo

import (
	"math"

	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
)

// profile is a section drawn as lines and arcs of (radius, z) points.
type profile struct {
	pts   []r2.Vec
	chord float64
}

func (p *profile) line(r, z float64) { p.pts = append(p.pts, r2.Vec{X: r, Y: z}) }

// arc runs round a centre from one angle to another, in radians from +r; the
// first point is left out where the profile stands on it already.
func (p *profile) arc(c r2.Vec, radius, from, to float64) {
	n := max(2, int(math.Ceil(math.Abs(to-from)/(2*math.Pi)*float64(form.Chords(radius, p.chord)))))
	for i := range n + 1 {
		a := from + (to-from)*float64(i)/float64(n)
		q := r2.Vec{X: c.X + radius*math.Cos(a), Y: c.Y + radius*math.Sin(a)}
		if len(p.pts) > 0 && r2.Norm(r2.Sub(q, p.pts[len(p.pts)-1])) < 1e-9 {
			continue
		}
		p.pts = append(p.pts, q)
	}
}

// skin lays walls from ring to ring along a profile, outside to its right, and
// returns its first and last ring.
func skin(b *form.Builder, pts []r2.Vec, loop func(r float64) []r2.Vec) (first, last form.Ring) {
	for i, p := range pts {
		ring := b.Ring(loop(p.X), p.Y)
		if i == 0 {
			first = ring
		} else {
			b.Wall(last, ring)
		}
		last = ring
	}
	return first, last
}

// neck is the outline that the pull and the knob share: a hollow of one radius
// that sweeps out under a rounded head. Angles are taken at the arcs' centres.
type neck struct {
	waist  float64 // radius of the neck at its thinnest
	waistZ float64
	hollow float64 // radius of the hollow
	turn   float64 // angle over the waist at which the hollow meets the head
	lip    float64 // radius of the head's lower edge
	footZ  float64 // where the hollow meets the foot
}

func (n neck) centre() r2.Vec { return r2.Vec{X: n.waist + n.hollow, Y: n.waistZ} }

// lipCentre is the centre of the arc that meets the hollow without a corner.
func (n neck) lipCentre() r2.Vec {
	d := r2.Vec{X: -math.Cos(n.turn), Y: math.Sin(n.turn)}
	return r2.Add(n.centre(), r2.Scale(n.hollow+n.lip, d))
}

// foot is the radius at which the hollow meets the foot.
func (n neck) foot() float64 {
	d := n.waistZ - n.footZ
	return n.centre().X - math.Sqrt(n.hollow*n.hollow-d*d)
}

// draw runs from the foot's lower edge to the lip, up to the angle end at the
// lip's centre.
func (n neck) draw(p *profile, end float64) {
	p.line(n.foot(), 0)
	low := math.Asin((n.waistZ - n.footZ) / n.hollow)
	p.arc(n.centre(), n.hollow, math.Pi+low, math.Pi-n.turn)
	p.arc(n.lipCentre(), n.lip, -n.turn, end)
}

// under is the length of empty space above the plane z = 0 and under the head,
// at the distance r from the axis or core and no farther out than the head.
func (n neck) under(r float64) float64 {
	if r <= n.waist {
		return 0
	}
	c, l := n.centre(), n.lipCentre()
	half := math.Sqrt(max(0, n.hollow*n.hollow-(c.X-r)*(c.X-r)))
	low, high := 0.0, c.Y+half
	if r < n.foot() {
		low = c.Y - half
	}
	if r > c.X-n.hollow*math.Cos(n.turn) {
		high = l.Y - math.Sqrt(max(0, n.lip*n.lip-(r-l.X)*(r-l.X)))
	}
	return high - low
}

// crown is a shallow dome over the axis that an edge of the given radius and
// centre runs into without a corner: the height of the dome's centre, and the
// angle at both centres where the two meet.
func crown(dome, edge float64, centre r2.Vec) (z, angle float64) {
	rise := math.Sqrt((dome-edge)*(dome-edge) - centre.X*centre.X)
	return centre.Y - rise, math.Atan2(rise, centre.X)
}
