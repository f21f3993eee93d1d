package hold

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r3"
)

// stepMM is how finely places along the jaws are tried: finer than a part is laid in
// and a work offset is set.
const stepMM = 0.05

// alike is within what share supports count as equal: then the place nearer to the
// middle of the jaws is better, and the jaws as they were new.
const alike = 0.005

// PlaceInput is a pocket that is to be put into one of several pairs.
type PlaceInput struct {
	Pairs []fettle.Jaws
	// Pose is how the part lies; its shift and the jaws' turns are what is looked for.
	Pose fettle.PocketPose
	// Grip and Pocket are at shift 0; Pocket is what is cut away, by side.
	Grip   Grip
	Pocket [2][]region.Layer
	// Relieved and ClearanceMM as in [Grip.Bearings].
	Relieved    func(r3.Vec) bool
	ClearanceMM float64
	// Apart tries each jaw turned on its own too, not only both alike.
	Apart bool
	// Mounted adds the ways that it leaves open.
	Mounted Mounting
}

// Place finds the best place for a pocket in every way of mounting each pair: where
// the jaw that bears on less bears on most, of the places that leave room enough;
// and if none does, where the room is least too small. Every twentieth of a
// millimetre from end to end is looked at.
//
// The best come first, and after them the ways that cannot be mounted. The only
// error is the context's.
func Place(ctx context.Context, in PlaceInput) ([]fettle.JawTried, error) {
	var out, not []fettle.JawTried
	var hollows [2]hollow
	for i, st := range Stands(in.Pose) {
		hollows[i] = hollowIn(st, in.Pocket[i])
	}
	for _, j := range in.Pairs {
		s := &seeker{PlaceInput: in, jaws: j, hollow: hollows, worn: map[int][]*wornCut{
			fettle.FixedJaw: worn(j, fettle.FixedJaw), fettle.MovingJaw: worn(j, fettle.MovingJaw),
		}}
		s.reach()
		for _, w := range s.ways() {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if w.why != "" {
				not = append(not, fettle.JawTried{Pair: j.Name, Pose: w.pose(in.Pose), Says: w.why})
				continue
			}
			out = append(out, s.best(w))
		}
	}
	return append(ranked(out), not...), nil
}

// way is one way of mounting a pair.
type way struct {
	turns   [2]fettle.JawTurn // by side
	swapped bool
	why     string // it cannot be
}

func (w way) pose(p fettle.PocketPose) fettle.PocketPose {
	p.Fixed, p.Moving, p.Swapped, p.ShiftMM = w.turns[0], w.turns[1], w.swapped, 0
	return p
}

// seeker looks for the best places in one pair.
type seeker struct {
	PlaceInput
	jaws   fettle.Jaws
	lo, hi int // the first and the last place, in steps
	worn   map[int][]*wornCut
	hollow [2]hollow
	found  []*oneJaw
}

// ways are the ways of mounting the pair. Jaws that nothing was cut in are alike
// whichever way they stand.
func (s *seeker) ways() []way {
	out := s.usual()
	for _, w := range s.Mounted.ways(s.jaws) {
		if !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

// usual are those that are looked at without being asked for.
func (s *seeker) usual() []way {
	if len(s.jaws.Cuts) == 0 {
		return []way{{turns: [2]fettle.JawTurn{fettle.AsNew, fettle.AsNew}}}
	}
	var turns []fettle.JawTurn
	var out []way
	for _, t := range fettle.JawTurns() {
		if ok, why := Mountable(s.jaws, t); ok {
			turns = append(turns, t)
		} else {
			out = append(out, way{turns: [2]fettle.JawTurn{t, t}, why: why})
		}
	}
	for _, swapped := range []bool{false, true} {
		for _, a := range turns {
			for _, b := range turns {
				if a == b || s.Apart {
					out = append(out, way{turns: [2]fettle.JawTurn{a, b}, swapped: swapped})
				}
			}
		}
	}
	return out
}

// reach sets how far to look: from where the pocket begins at one end of the jaws to
// where it ends at the other.
func (s *seeker) reach() {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range s.Grip.Points {
		lo, hi = min(lo, p.Box.Min.X), max(hi, p.Box.Max.X)
	}
	for _, layers := range s.Pocket {
		for _, l := range layers {
			if !l.Region.Empty() {
				a, b := l.Region.Box()
				lo, hi = min(lo, a.X), max(hi, b.X)
			}
		}
	}
	if lo > hi {
		return
	}
	from, to := -s.jaws.WidthMM/2-lo, s.jaws.WidthMM/2-hi
	if from > to {
		from, to = to, from
	}
	s.lo, s.hi = int(math.Ceil(from/stepMM)), int(math.Floor(to/stepMM))
	if s.lo > s.hi {
		s.lo = int(math.Round((from + to) / 2 / stepMM))
		s.hi = s.lo
	}
}

func (s *seeker) shift(k int) float64 { return float64(s.lo+k) * stepMM }

// oneJaw is one jaw standing in one way: what it bears on and whether there is
// room at every place.
type oneJaw struct {
	Stand
	bears []float64
	sound []bool
	rooms *roomy
}

// stand works out one jaw in one way, once.
func (s *seeker) stand(st Stand) *oneJaw {
	for _, f := range s.found {
		if f.Stand == st {
			return f
		}
	}
	m := newMetal(s.jaws, st, s.worn[st.Jaw])
	n := s.hi - s.lo + 1
	f := &oneJaw{Stand: st, bears: s.bears(m, n), rooms: newRoomy(m, s.hollow[st.Side])}
	f.sound = f.rooms.sound(s.shift(0), stepMM, n)
	s.found = append(s.found, f)
	return f
}

// bears is what a jaw bears on at every place. A point of the part is borne wherever
// the line along the jaw through it runs in metal, so each point adds its area over
// a few stretches of places, and running sums of where they begin and end give all.
func (s *seeker) bears(m *Metal, n int) []float64 {
	change := make([]float64, n+1)
	var front, back []span
	for _, p := range s.Grip.Points {
		at, near, behind, ok := p.offers(s.Pose.GapMM, s.ClearanceMM)
		if !ok || at != m.Side || s.Relieved != nil && s.Relieved(near) {
			continue
		}
		front, back = m.along(near.Y, near.Z, front[:0]), m.along(behind.Y, behind.Z, back[:0])
		for _, a := range front {
			for _, b := range back {
				from, to := max(a.from-near.X, b.from-behind.X), min(a.to-near.X, b.to-behind.X)
				i := max(0, int(math.Ceil(from/stepMM))-s.lo)
				k := min(n, int(math.Ceil(to/stepMM))-s.lo)
				if i < k {
					change[i] += p.square()
					change[k] -= p.square()
				}
			}
		}
	}
	sum := 0.0
	for k := range n {
		sum += change[k]
		change[k] = sum
	}
	return change[:n]
}

// best is the best place of a pair mounted in one way.
func (s *seeker) best(w way) fettle.JawTried {
	pose := w.pose(s.Pose)
	st := Stands(pose)
	a, b := s.stand(st[0]), s.stand(st[1])
	support := func(k int) float64 { return min(a.bears[k], b.bears[k]) }
	most := -1.0
	for k := range a.bears {
		if a.sound[k] && b.sound[k] {
			most = max(most, support(k))
		}
	}
	at := 0
	if most >= 0 {
		at = s.middle(func(k int) bool { return a.sound[k] && b.sound[k] && support(k) >= (1-alike)*most })
	} else {
		at = s.leastBad(a, b, support)
	}
	pose.ShiftMM = math.Round(s.shift(at)/stepMM) * stepMM
	return s.told(fettle.JawTried{Pair: s.jaws.Name, Pose: pose, SupportMM2: support(at)}, a, b)
}

// middle is the place nearest to the middle of the jaws of those that serve.
func (s *seeker) middle(serves func(k int) bool) int {
	best, near := 0, math.Inf(1)
	for k := range s.hi - s.lo + 1 {
		if d := math.Abs(s.shift(k)); d < near && serves(k) {
			best, near = k, d
		}
	}
	return best
}

// leastBad is the place with the most room where none has enough, looked for every
// half millimetre; where that leaves a choice, the one with the most support.
func (s *seeker) leastBad(a, b *oneJaw, support func(int) float64) int {
	best, most := 0, math.Inf(-1)
	for k := 0; k <= s.hi-s.lo; k += 10 {
		spare := min(a.rooms.spare(s.shift(k)), b.rooms.spare(s.shift(k)))
		if spare > most+1e-6 || spare > most-1e-6 && support(k) > support(best) {
			best, most = k, spare
		}
	}
	return best
}

// told says how good a place is.
func (s *seeker) told(t fettle.JawTried, a, b *oneJaw) fettle.JawTried {
	worst := fettle.JawRoom{OK: true}
	for _, f := range []*oneJaw{a, b} {
		for _, q := range f.rooms.rooms(t.Pose.ShiftMM) {
			if !q.OK && (worst.OK || q.MM-q.WantsMM < worst.MM-worst.WantsMM) {
				worst = q
			}
		}
	}
	switch {
	case s.Pose.GapMM > s.jaws.OpenMM && s.jaws.OpenMM > 0:
		t.Says = fmt.Sprintf("the vise opens to %.4g mm with them on, and %.4g mm are needed", s.jaws.OpenMM, s.Pose.GapMM)
	case !worst.OK && worst.MM < 0:
		t.Says = fmt.Sprintf("the pocket cuts %.2g mm into %s of jaw %d", -worst.MM, worst.To, worst.Jaw)
	case !worst.OK:
		t.Says = fmt.Sprintf("only %.2g mm are left to %s of jaw %d, and %.2g mm are wanted", worst.MM, worst.To, worst.Jaw, worst.WantsMM)
	case t.SupportMM2 < 1e-6:
		t.Says = "one of the jaws has nothing left there to bear on the part"
	default:
		t.OK = true
		t.Says = fmt.Sprintf("the jaw that bears on less has %s mm² of the part", figure(t.SupportMM2))
	}
	return t
}

// ranked puts the best first: those with room enough before those without, then by
// support; of those alike, the jaws less turned about and the part nearer to their
// middle.
func ranked(list []fettle.JawTried) []fettle.JawTried {
	slices.SortStableFunc(list, func(a, b fettle.JawTried) int {
		switch {
		case a.OK != b.OK:
			if a.OK {
				return -1
			}
			return 1
		case a.SupportMM2 != b.SupportMM2:
			if a.SupportMM2 > b.SupportMM2 {
				return -1
			}
			return 1
		}
		return 0
	})
	trouble := func(t fettle.JawTried) float64 {
		n := math.Abs(t.Pose.ShiftMM) / 1e4
		if t.Pose.Fixed != fettle.AsNew || t.Pose.Moving != fettle.AsNew {
			n++
		}
		if t.Pose.Fixed != t.Pose.Moving {
			n++
		}
		if t.Pose.Swapped {
			n++
		}
		return n
	}
	for lo := 0; lo < len(list); {
		hi := lo + 1
		for hi < len(list) && list[hi].OK == list[lo].OK && list[hi].SupportMM2 >= (1-alike)*list[lo].SupportMM2 {
			hi++
		}
		slices.SortStableFunc(list[lo:hi], func(a, b fettle.JawTried) int {
			switch x, y := trouble(a), trouble(b); {
			case x < y:
				return -1
			case x > y:
				return 1
			}
			return 0
		})
		lo = hi
	}
	return list
}
