package nc

import "math"

// Tolerances of arcs, in mm.
const (
	sameMM = 1e-6 // ends nearer than this are one point: a full circle
	missMM = 0.02 // a centre that fits worse than this stops some controls
	maxMM  = 1e8  // a radius past this is a mistake, and would drown the digits of the ends
)

// round is G2 and G3 in the plane in force.
func (c *control) round(ccw bool) {
	b := &c.b
	from, to := c.at, c.target()
	ax := planeAxes[c.plane]
	i, j := ax[0], ax[1]
	if b.bare&(bCentre|bR) != 0 {
		c.bareNote(b.bare & (bCentre | bR))
	}
	sure := known(from) && known(to)
	if !sure {
		c.tell(wArcStart, 0, Broken, theBlock, "an arc begins or ends where no word has set a coordinate; its course is not known")
	}
	arc := Arc{Plane: c.plane, Centre: from}
	own := centreBit[i] | centreBit[j]
	ok := true
	switch {
	case b.has&bR != 0:
		r, _ := b.read(bR, 'R')
		if b.has&own != 0 {
			b.used |= b.has & own
			c.tell(wBothCentres, 0, Unknown, theBlock, "an arc has both a radius and a centre; the radius counts")
		}
		ok = c.byRadius(&arc, from, to, r*c.unit, ccw)
	case b.has&own == 0:
		ok = false
	default:
		for _, k := range [2]int{i, j} {
			v, given := b.read(centreBit[k], 'I'+byte(k))
			switch {
			case c.absCentre && given:
				arc.Centre[k] = v*c.unit + c.shift[k]
			case given:
				arc.Centre[k] += v * c.unit
			}
		}
	}
	if ok {
		arc.Radius = math.Hypot(from[i]-arc.Centre[i], from[j]-arc.Centre[j])
		ok = arc.Radius >= sameMM && arc.Radius <= maxMM || !sure
	}
	if !ok {
		c.tell(wArcCentre, 0, Broken, theBlock, "an arc has no centre that fits; it is read as a straight cut, while a control stops with an alarm")
		c.move(Cut, to, -1)
		return
	}
	arc.Turn = turn(from[i]-arc.Centre[i], from[j]-arc.Centre[j], to[i]-arc.Centre[i], to[j]-arc.Centre[j], ccw)
	arc.MissMM = math.Abs(math.Hypot(to[i]-arc.Centre[i], to[j]-arc.Centre[j]) - arc.Radius)
	if arc.MissMM > missMM {
		c.tell(wArcMiss, 0, Broken, theBlock, "an arc ends %.3f mm off the circle that it begins on; a control stops with an alarm or runs out in a spiral", arc.MissMM)
	}
	if len(c.p.Moves) < c.opt.MaxMoves {
		c.p.Arcs = append(c.p.Arcs, arc)
	}
	c.move(Bend, to, int32(len(c.p.Arcs)-1))
}

// turn is the angle from one spoke to another in the sense asked for, a full
// one where they meet.
func turn(ui, uj, wi, wj float64, ccw bool) float64 {
	a := math.Atan2(ui*wj-uj*wi, ui*wi+uj*wj)
	same := math.Hypot(wi-ui, wj-uj) < sameMM
	switch {
	case ccw && (same || a <= 0):
		if same {
			a = 0
		}
		a += 2 * math.Pi
	case !ccw && (same || a >= 0):
		if same {
			a = 0
		}
		a -= 2 * math.Pi
	}
	return a
}

// byRadius finds the centre from a radius: the shorter arc for a positive one,
// the longer for a negative. It is false where there is no single answer.
func (c *control) byRadius(arc *Arc, from, to [3]float64, r float64, ccw bool) bool {
	ax := planeAxes[c.plane]
	i, j := ax[0], ax[1]
	di, dj := to[i]-from[i], to[j]-from[j]
	d := math.Hypot(di, dj)
	if d < sameMM || !(r != 0 && math.Abs(r) < maxMM) {
		return false
	}
	h := r*r - d*d/4
	if h < 0 {
		if short := d/2 - math.Abs(r); short > missMM {
			c.tell(wArcRadius, 0, Broken, theBlock, "the radius of an arc is %.3f mm too short to reach its end; it is read as a half circle, while a control stops with an alarm", short)
		}
		h = 0
	}
	h = math.Sqrt(h)
	if ccw == (r < 0) {
		h = -h // the centre lies to the right of the way from start to end
	}
	arc.Centre[i] = from[i] + di/2 - h*dj/d
	arc.Centre[j] = from[j] + dj/2 + h*di/d
	return true
}

// maxChords bounds the chords of one arc.
const maxChords = 1 << 20

// Flatten walks along a move in straight pieces that stray from its arc by no
// more than tolMM; a straight move is one piece, a dwell and a move with
// unknown coordinates none. The pieces join without gaps, and the first and
// last points are exactly the move's own: an arc whose end misses its circle
// runs out evenly from one radius to the other, and a helix climbs evenly.
func (p *Program) Flatten(m *Move, tolMM float64, emit func(from, to [3]float64)) {
	if !m.Known || m.Kind == Dwell {
		return
	}
	if m.Arc < 0 {
		emit(m.From, m.To)
		return
	}
	a := &p.Arcs[m.Arc]
	ax := planeAxes[a.Plane]
	i, j, n := ax[0], ax[1], ax[2]
	end := math.Hypot(m.To[i]-a.Centre[i], m.To[j]-a.Centre[j])
	r := max(a.Radius, end)
	// The sagitta of a chord over the angle t is r(1 − cos(t/2)).
	step := math.Pi / 2
	if s := 1 - tolMM/r; s > 0 {
		step = min(step, 2*math.Acos(s))
	}
	chords := maxChords
	if k := math.Ceil(math.Abs(a.Turn)/step - 1e-9); k < maxChords { // false for NaN
		chords = max(1, int(k))
	}
	begin := math.Atan2(m.From[j]-a.Centre[j], m.From[i]-a.Centre[i])
	was := m.From
	for k := 1; k < chords; k++ {
		f := float64(k) / float64(chords)
		sin, cos := math.Sincos(begin + f*a.Turn)
		rr := a.Radius + f*(end-a.Radius)
		var at [3]float64
		at[i] = a.Centre[i] + rr*cos
		at[j] = a.Centre[j] + rr*sin
		at[n] = m.From[n] + f*(m.To[n]-m.From[n])
		emit(was, at)
		was = at
	}
	emit(was, m.To)
}

// LengthMM is the way a move goes, in mm: 0 for a dwell, NaN where coordinates
// are unknown. That of an arc whose end misses its circle is taken at the mean
// radius.
func (p *Program) LengthMM(m *Move) float64 {
	switch {
	case m.Kind == Dwell:
		return 0
	case m.Arc < 0:
		return dist(m.From, m.To)
	}
	return arcLength(&p.Arcs[m.Arc], m.From, m.To)
}

func arcLength(a *Arc, from, to [3]float64) float64 {
	ax := planeAxes[a.Plane]
	end := math.Hypot(to[ax[0]]-a.Centre[ax[0]], to[ax[1]]-a.Centre[ax[1]])
	return math.Hypot((a.Radius+end)/2*a.Turn, to[ax[2]]-from[ax[2]])
}
