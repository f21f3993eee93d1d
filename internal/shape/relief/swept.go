package relief

import "math"

// swept is the underside of a tool over a straight move of its tip: for a point
// of the plan the lowest height that the tool reaches there, +Inf where it does
// not come. The end of every tool is convex and so is the set of its places, so
// swept is a convex function of the plan: a plane that touches it anywhere lies
// under it everywhere. All pruning in this room rests on that.
type swept struct {
	ax, ay, az float64 // the tip at the start
	ex, ey     float64 // direction in plan
	l, m       float64 // length in plan, rise per mm of it
	k, q       float64 // √(1+m²), m/√(1+m²)
}

// newSwept prepares a move. A plunge or a retract counts as its lower end.
func newSwept(from, to [3]float64) swept {
	dx, dy, dz := to[0]-from[0], to[1]-from[1], to[2]-from[2]
	l := math.Sqrt(dx*dx + dy*dy)
	if l < 1e-9 || math.Abs(dz) > 1e6*l {
		return swept{ax: from[0], ay: from[1], az: math.Min(from[2], to[2]), ex: 1, k: 1}
	}
	m := dz / l
	k := math.Sqrt(1 + m*m)
	return swept{from[0], from[1], from[2], dx / l, dy / l, l, m, k, m / k}
}

// local is a point of the plan along and beside the move.
func (s *swept) local(x, y float64) (a, b float64) {
	x -= s.ax
	y -= s.ay
	return x*s.ex + y*s.ey, y*s.ex - x*s.ey
}

// at is the height at a point of the plan.
func (s *swept) at(t Tool, x, y float64) float64 {
	a, b := s.local(x, y)
	if t.isBall() {
		return s.ballAt(t.Radius, a, b)
	}
	r2 := t.Radius * t.Radius
	if b*b > r2 {
		return math.Inf(1)
	}
	w := s.signed(t.lag(b, s.m))
	c := math.Min(math.Max(a-w, 0), s.l)
	d := a - c
	if r := d*d + b*b; r > r2*(1+1e-12) {
		return math.Inf(1)
	} else {
		return s.az + s.m*c + t.rise(math.Min(math.Sqrt(r), t.Radius))
	}
}

func (s *swept) signed(w float64) float64 {
	if s.m < 0 {
		return -w
	}
	return w
}

// ballAt is the closed form for a ball: the cut through a swept ball at b beside
// the path is a swept circle of radius √(R²−b²), its underside a straight line
// between two arcs.
func (s *swept) ballAt(radius, a, b float64) float64 {
	s2 := radius*radius - b*b
	if s2 < 0 {
		return math.Inf(1)
	}
	rho := math.Sqrt(s2)
	c := a - rho*s.q
	end := s.az
	switch {
	case c < 0:
	case c > s.l:
		a -= s.l
		end += s.m * s.l
	default:
		return s.az + radius + s.m*a - rho*s.k
	}
	if s2 -= a * a; s2 < 0 {
		return math.Inf(1)
	}
	return end + radius - math.Sqrt(s2)
}

// grade is the slope of the function at a point of the plan that the tool
// reaches.
func (s *swept) grade(t Tool, x, y float64) (gx, gy float64) {
	a, b := s.local(x, y)
	ga, gb, _ := s.slopes(t, a, b)
	return ga*s.ex - gb*s.ey, ga*s.ey + gb*s.ex
}

// slopes are those along and beside the move, and the height.
func (s *swept) slopes(t Tool, a, b float64) (ga, gb, z float64) {
	w := s.signed(t.lag(b, s.m))
	at := math.Min(math.Max(a-w, 0), s.l)
	d := a - at
	r := math.Sqrt(d*d + b*b)
	z = s.az + s.m*at + t.rise(math.Min(r, t.Radius))
	switch {
	case t.Corner == 0:
		if at > 0 && at < s.l && s.m != 0 {
			ga = s.m
			gb = math.Abs(s.m) * b / math.Sqrt(t.Radius*t.Radius-b*b)
		}
	case r > 0:
		p := t.slope(r) / r
		ga, gb = p*d, p*b
	}
	return ga, gb, z
}

// near is the share of the radius within which slopes are taken: at the rim
// they have no end.
const near = 0.95

// plane is a plane that lies under the function everywhere: its height at a
// point of the plan and its slopes. It touches the function there, or where that
// is off the tool or near its rim, at the nearest place that is not.
func (s *swept) plane(t Tool, x, y float64) (z, gx, gy float64) {
	a, b := s.local(x, y)
	c := math.Min(math.Max(a, 0), s.l)
	da, db := 0.0, 0.0
	if d2, lim := (a-c)*(a-c)+b*b, near*t.Radius; d2 > lim*lim {
		f := lim / math.Sqrt(d2)
		na, nb := c+(a-c)*f, b*f
		da, db = a-na, b-nb
		a, b = na, nb
	}
	ga, gb, z := s.slopes(t, a, b)
	return z + ga*da + gb*db, ga*s.ex - gb*s.ey, ga*s.ey + gb*s.ex
}
