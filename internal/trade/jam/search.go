package jam

import (
	"math"

	"fettle/internal/shape/convex"

	"gonum.org/v1/gonum/spatial/r3"
)

// found is what a search over poses saw of one body at one opening.
type found struct {
	enters bool    // its centre came below the mouth
	trap   float64 // share of poses inside that cannot come straight out
	lock   float64 // share of poses inside beside one that locks
	fit    float64 // chance that it stays because it just fits
	tight  float64 // clear width where it does
	play   float64 // and over the piece's width there
	loose  float64 // clear width over the piece's width where it is loosest
	poses  int     // asked
}

// Samples of the poses inside that are looked at more closely.
const (
	mostTraps = 80
	mostLocks = 48
	// lockTurn is how far, in steps between orientations, a piece is turned on from
	// a free pose to see whether it locks.
	lockTurn = 1.1
	settled  = 0.6 // of a step between orientations, room to turn while settling
)

// search walks a body in from outside, one step or one turn at a time, through
// every pose that the field leaves it, breadth first, and looks at those inside:
// whether it can come straight out again without turning, and whether turning on
// from there locks it between two walls.
type search struct {
	*site
	probe *convex.Probe
	turns convex.Turns // the upright one along the opening's axis
	sizes []shadow     // of each, along the axis
	slot  bool         // so that only the narrow way across counts
	round bool         // a hole, or a slot with a round end: there the shadow's circle must go through
	width float64      // of the opening
	scale float64      // of the body against that of the sizes
	state []byte       // of place × turn
	queue []int32
	asked int
}

// States of a pose.
const (
	unknown = iota
	outsideIt
	blocked
	reached
)

func (s *search) run() found {
	n := len(s.turns.List)
	s.state = make([]byte, len(s.places)*n)
	// A pose that reaches neither into the mouth nor into the other end lies
	// outside, and is where a piece may come from. Only those next to one that does
	// are of use.
	for t, turn := range s.turns.List {
		hang := s.probe.Body.Support(turn.Back(r3.Scale(-1, s.axis)))
		stand := s.probe.Body.Support(turn.Back(s.axis))
		for at, p := range s.places {
			up, under := -p.down-hang, p.down-stand-s.deep
			if up < 0 && (under < 0 || !s.through) {
				continue
			}
			s.state[at*n+t] = outsideIt
			if up < s.step && up >= 0 || under < s.step && under >= 0 && s.through {
				s.queue = append(s.queue, int32(at*n+t))
			}
		}
	}
	var inside []int32
	for head := 0; head < len(s.queue); head++ {
		state := int(s.queue[head])
		at, t := state/n, state%n
		if s.places[at].within {
			inside = append(inside, s.queue[head])
		}
		for _, to := range s.places[at].beside {
			if to >= 0 && s.state[int(to)*n+t] == unknown && (s.step <= s.probe.Body.InRadius() || s.passes(s.places[at].at, s.places[to].at)) {
				s.visit(int(to), t)
			}
		}
		for _, to := range s.turns.Near[t] {
			s.visit(at, int(to))
		}
	}
	out := found{poses: s.asked}
	s.fits(inside, &out)
	if !out.enters {
		return out
	}
	out.trap = s.share(inside, mostTraps, s.trapped)
	if !s.probe.Body.Sphere() && out.loose > justFits {
		out.lock = s.share(inside, mostLocks, s.locks)
	}
	return out
}

// visit asks a pose once, and queues it where it is free.
func (s *search) visit(at, t int) {
	n := len(s.turns.List)
	i := at*n + t
	if s.state[i] != unknown {
		return
	}
	s.state[i] = blocked
	s.asked++
	if s.places[at].value < s.probe.Body.OutRadius()-s.tol {
		if _, ok := s.pose(at, t); !ok {
			return
		}
	}
	s.state[i] = reached
	s.queue = append(s.queue, int32(i))
}

// pose is where the body comes to rest near a place and a turn.
func (s *search) pose(at, t int) (convex.Pose, bool) {
	room := s.play()
	room.Turn = settled * s.turns.Step
	return s.probe.Settle(s.f, convex.Pose{At: s.places[at].at, Turn: s.turns.List[t]}, s.tol, room)
}

// share is the share of poses of which is holds, asked of no more than most,
// spread evenly.
func (s *search) share(poses []int32, most int, is func(convex.Pose) bool) float64 {
	n := len(s.turns.List)
	count := min(most, len(poses))
	yes := 0
	for i := range count {
		state := int(poses[i*len(poses)/count])
		if p, ok := s.pose(state/n, state%n); ok && is(p) {
			yes++
		}
	}
	return float64(yes) / float64(count)
}

// trapped reports whether a body cannot be drawn straight out along the axis, or
// through where the opening goes through, without turning; on its way it may
// give way sideways by a step in all.
func (s *search) trapped(from convex.Pose) bool {
	far := s.probe.Body.OutRadius()
	ways := []float64{1}
	if s.through {
		ways = append(ways, -1)
	}
	for _, way := range ways {
		p, ok := from, true
		for ok {
			d := s.below(p.At)
			if way > 0 && d < -far || way < 0 && d > s.deep+far {
				return false
			}
			next := p
			next.At = r3.Add(next.At, r3.Scale(way*s.step, s.axis))
			next, ok = s.probe.Settle(s.f, next, s.tol, s.play())
			// A push back as far as the step gets nowhere.
			if (s.below(p.At)-s.below(next.At))*way < 0.25*s.step {
				ok = false
			}
			drift := r3.Sub(next.At, from.At)
			drift = r3.Sub(drift, r3.Scale(r3.Dot(drift, s.axis), s.axis))
			if r3.Norm(drift) > s.step {
				ok = false
			}
			p = next
		}
	}
	return true
}

// locks reports whether turning on from a pose ends in one where two walls hold
// the body: where the line from one contact to the other lies within the cone of
// friction of both, so that no push on the body shifts them.
func (s *search) locks(from convex.Pose) bool {
	axes := []r3.Vec{s.u, s.v}
	if !s.probe.Body.Round() {
		axes = append(axes, s.axis)
	}
	for _, a := range axes {
		for _, sign := range []float64{1, -1} {
			turn := r3.Scale(sign*lockTurn*s.turns.Step, a)
			if end, ok := s.limit(from, turn); ok && s.strut(end) {
				return true
			}
		}
	}
	return false
}

// limit turns a body on until it cannot, giving way sideways; false where
// nothing stops it.
func (s *search) limit(from convex.Pose, turn r3.Vec) (convex.Pose, bool) {
	try := func(t float64) (convex.Pose, bool) {
		p := from
		p.Turn = p.Turn.About(r3.Scale(t, turn))
		return s.probe.Settle(s.f, p, s.tol, s.play())
	}
	if _, free := try(1); free {
		return from, false
	}
	lo, hi, end := 0.0, 1.0, from
	for range 6 {
		mid := (lo + hi) / 2
		if p, ok := try(mid); ok {
			lo, end = mid, p
		} else {
			hi = mid
		}
	}
	return end, true
}

// strut looks for two contacts that face each other within the cones of friction.
func (s *search) strut(p convex.Pose) bool {
	band := s.tol + 0.04*2*s.probe.Body.InRadius()
	contacts := s.probe.Contacts(s.f, p, band)
	cone := 1 / math.Sqrt(1+friction*friction)
	for i, a := range contacts {
		for _, b := range contacts[:i] {
			d := r3.Sub(b.At, a.At)
			l := r3.Norm(d)
			if r3.Dot(a.Normal, d) >= cone*l && -r3.Dot(b.Normal, d) >= cone*l && l > 0 {
				return true
			}
		}
	}
	return false
}

// fits is the chance that one piece stays because it just fits: for each place
// inside by the turn in which it is loosest there, the mean over the places.
func (s *search) fits(inside []int32, out *found) {
	n := len(s.turns.List)
	thin := map[int]shadow{}
	var places []int // in the order of their finding
	for _, state := range inside {
		at, t := int(state)/n, int(state)%n
		w, ok := thin[at]
		if !ok {
			places = append(places, at)
			w = shadow{math.Inf(1), math.Inf(1)}
		}
		thin[at] = shadow{math.Min(w.strip, s.sizes[t].strip), math.Min(w.circle, s.sizes[t].circle)}
	}
	// The turns are those of the list, which a piece has settled away from; what is
	// reached fits.
	width, ratio := make([]float64, len(places)), make([]float64, len(places))
	strip := make([]bool, len(places))
	best := make(map[int]float64, len(places))
	for i, at := range places {
		width[i] = s.clearWidth(s.places[at].at)
		w := thin[at].circle
		strip[i] = s.slot && width[i] < slotEnds*s.width
		if strip[i] {
			w = thin[at].strip
		}
		ratio[i] = width[i] / (s.scale * w)
		best[at] = ratio[i]
		// What goes in by its tip only shows more than the opening is wide.
		if !s.round && !strip[i] {
			w = thin[at].strip
		}
		out.enters = out.enters || width[i] >= goesIn*s.scale*w
	}
	most := 0.0
	for i, at := range places {
		// Where it stands tilted by a wall it can step aside and right itself.
		loose := ratio[i]
		for _, to := range s.places[at].beside {
			loose = math.Max(loose, best[int(to)]) // 0 for none
		}
		if loose < goesIn || width[i] < 0.9*s.width {
			continue // it stands across, or lies on the mouth: other laws hold
		}
		loose = math.Max(1, loose)
		out.loose = math.Max(out.loose, loose)
		if p := alone(loose) * chanceAt(loose, strip[i]); p > 0 && !s.flares(at, width[i]) {
			out.fit += p / float64(len(places))
			if p > most {
				most, out.tight, out.play = p, width[i], loose
			}
		}
	}
}

// goesIn is the clear width over the size of the shadow from which a piece counts
// as going in; below 1 for what the list of turns leaves open.
const goesIn = 0.93

// flares reports whether the void widens from a place towards the mouth, as a
// countersink does, or towards the other end: what sits there falls out again.
func (s *search) flares(at int, clear float64) bool {
	const wider = 1.08
	p := s.places[at].at
	for _, way := range []float64{1, -1} {
		q := r3.Add(p, r3.Scale(way*clear/4, s.axis))
		if d := s.below(q); d < 0 || d > s.deep || way < 0 && !s.through {
			continue
		}
		if 2*s.f.Value(s.ridge(q)) > wider*clear {
			return true
		}
	}
	return false
}

// slotEnds is how much wider than its slot a keyhole's round end is at least.
const slotEnds = 1.2

// alone is how much of a chance at a ratio is the doing of a single piece: all
// where it just fits, nothing where two lock side by side.
func alone(ratio float64) float64 {
	pair := PairLocks(friction)
	return math.Max(0, math.Min(1, (pair-ratio)/(pair-justFits)))
}
