package hold

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// How much metal should be left between a new pocket and what is there, mm. Starting
// guesses: thinner walls give when the vise is closed.
const (
	wantsEndMM  = 3
	wantsOldMM  = 3
	wantsHoleMM = 2
	wantsBackMM = 5
	wantsFootMM = 5
	// noWallMM is a foil that goes with the chips.
	noWallMM = 0.01
)

// Rooms is how much metal a new pocket leaves in both jaws, the fixed side first.
// pocket is what is cut away at shift 0, by side, in the vise's frame; what of it
// lies between the jaws' faces does not matter.
//
// An older pocket may be cut over and so opened up; that costs support and no more.
// What must not be is a thin wall between the two.
func Rooms(fixed, moving *Metal, pocket [2][]region.Layer, shift float64) []fettle.JawRoom {
	return append(newRoomy(fixed, hollowIn(fixed.Stand, pocket[0])).rooms(shift),
		newRoomy(moving, hollowIn(moving.Stand, pocket[1])).rooms(shift)...)
}

// roomy measures the room round one pocket in one jaw, shift by shift.
type roomy struct {
	metal *Metal
	hollow
	olds []oldWall
}

// hollow is what of a pocket lies on one side of the gap, from the top down.
type hollow struct {
	layers []fenced
	lo, hi r2.Vec
	foot   float64 // its deepest, z
}

// fenced is a layer with its border.
type fenced struct {
	low, high float64
	*fence
}

// oldWall is an older pocket, piece by piece.
type oldWall struct {
	name   string
	pieces [][]fenced
}

func newRoomy(m *Metal, in hollow) *roomy {
	r := &roomy{metal: m, hollow: in}
	for _, c := range m.cuts {
		w := oldWall{name: c.name}
		for _, piece := range c.pieces {
			w.pieces = append(w.pieces, fencedIn(m.carried(m.jaws, piece)))
		}
		r.olds = append(r.olds, w)
	}
	return r
}

// fencedIn are layers with their borders, the highest first: where pockets widen
// upwards that is the nearest to others, and the rest need not be looked at.
func fencedIn(layers []region.Layer) []fenced {
	out := make([]fenced, len(layers))
	for i, l := range layers {
		out[i] = fenced{l.Low, l.High, newFence(l.Region)}
	}
	slices.SortStableFunc(out, func(a, b fenced) int { return cmp.Compare(b.high, a.high) })
	return out
}

func hollowIn(s Stand, pocket []region.Layer) hollow {
	h := hollow{lo: r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, hi: r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}}
	var in []region.Layer
	for _, l := range pocket {
		if l.Region = beyondFace(s, l.Region); !l.Region.Empty() && l.Low < l.High {
			in = append(in, l)
		}
	}
	h.layers = fencedIn(in)
	for _, f := range h.layers {
		h.lo = r2.Vec{X: min(h.lo.X, f.lo.X), Y: min(h.lo.Y, f.lo.Y)}
		h.hi = r2.Vec{X: max(h.hi.X, f.hi.X), Y: max(h.hi.Y, f.hi.Y)}
		h.foot = min(h.foot, f.low)
	}
	return h
}

// beyondFace is what of a region lies on the jaw's side of the face that grips.
func beyondFace(s Stand, r region.Region) region.Region {
	if r.Empty() {
		return r
	}
	lo, hi := r.Box()
	if s.Side == FixedSide {
		lo.Y = max(lo.Y, s.GapMM/2)
	} else {
		hi.Y = min(hi.Y, -s.GapMM/2)
	}
	if lo.Y >= hi.Y {
		return region.Region{}
	}
	return r.And(region.Rect(lo, hi))
}

// rooms are all of them at a shift.
func (r *roomy) rooms(shift float64) []fettle.JawRoom {
	if len(r.layers) == 0 {
		return nil
	}
	out := []fettle.JawRoom{
		r.end(shift),
		r.room("the back of the jaw", r.back(), wantsBackMM),
		r.room("the foot of the jaw", r.metal.jaws.HeightMM+r.foot, wantsFootMM),
	}
	for i := range r.metal.jaws.Holes {
		out = append(out, r.room(fmt.Sprintf("mounting hole %d", i+1), r.hole(i, shift), wantsHoleMM))
	}
	for _, o := range r.olds {
		out = append(out, r.old(o, shift))
	}
	return out
}

func (r *roomy) room(to string, mm, wants float64) fettle.JawRoom {
	return fettle.JawRoom{To: to, Jaw: r.metal.Jaw, MM: mm, WantsMM: wants, OK: mm >= wants-1e-9}
}

func (r *roomy) end(shift float64) fettle.JawRoom {
	half := r.metal.jaws.WidthMM / 2
	return r.room("the end of the jaw", half-max(r.hi.X+shift, -r.lo.X-shift), wantsEndMM)
}

func (r *roomy) back() float64 {
	far := r.metal.GapMM/2 + r.metal.jaws.ThickMM
	if r.metal.Side == FixedSide {
		return far - r.hi.Y
	}
	return far + r.lo.Y
}

func (r *roomy) old(o oldWall, shift float64) fettle.JawRoom {
	least, over := math.Inf(1), false
	for _, piece := range o.pieces {
		if d := r.wall(piece, shift, math.Inf(1)); d == 0 {
			over = true
		} else {
			least = min(least, d)
		}
	}
	to := fmt.Sprintf("pocket %q", o.name)
	if over {
		to += ", which it cuts over"
	}
	if math.IsInf(least, 1) { // no wall at all
		q := r.room(to, 0, wantsOldMM)
		q.OK = true
		return q
	}
	return r.room(to, least, wantsOldMM)
}

// wall is the least distance between the pocket and a piece of an older one, or most;
// 0 where they meet, or as good as meet.
func (r *roomy) wall(piece []fenced, shift, most float64) float64 {
	best := most
	for _, a := range r.layers {
		for _, b := range piece {
			dz := gapBetween(a.low, a.high, b.low, b.high)
			if dz >= best {
				continue
			}
			plan := math.Inf(1)
			if !math.IsInf(best, 1) {
				plan = math.Sqrt(best*best - dz*dz)
			}
			best = min(best, math.Hypot(dz, b.distance(a.fence, shift, plan)))
			if best < noWallMM {
				return 0
			}
		}
	}
	return best
}

// hole is the least distance to a mounting hole and the recesses for its head; below
// 0 by how deep the pocket cuts into it.
func (r *roomy) hole(i int, shift float64) float64 {
	best := math.Inf(1)
	for _, b := range r.metal.bores {
		if b.hole != i {
			continue
		}
		b.x -= shift // as the pocket sees it
		for _, l := range r.layers {
			best = b.from(l, best)
		}
	}
	return best
}

// from is the lesser of best and the least signed distance of a layer's points from
// the bore. That distance is convex, so that on a straight side it has one valley,
// and inside the layer none that its border or the bore's axis does not have.
func (b bore) from(l fenced, best float64) float64 {
	dz := max(0, l.low-b.z, b.z-l.high)
	at := func(x, y float64) float64 {
		round, along := math.Hypot(x-b.x, dz)-b.radius, max(b.y0-y, y-b.y1)
		if round > 0 && along > 0 {
			return math.Hypot(round, along)
		}
		return max(round, along)
	}
	nearest := func(from, to, v float64) float64 { return min(to, max(from, v)) }
	mid := (b.y0 + b.y1) / 2
	if at(nearest(l.lo.X, l.hi.X, b.x), nearest(l.lo.Y, l.hi.Y, mid)) >= best {
		return best
	}
	for k := range 9 {
		y := b.y0 + (b.y1-b.y0)*(float64(k)+0.5)/9
		if l.rows.holds(r2.Vec{X: b.x, Y: y}) {
			best = min(best, at(b.x, y))
		}
	}
	for _, s := range l.all {
		x0, x1 := min(s.a.X, s.b.X), max(s.a.X, s.b.X)
		y0, y1 := min(s.a.Y, s.b.Y), max(s.a.Y, s.b.Y)
		if at(nearest(x0, x1, b.x), nearest(y0, y1, mid)) >= best {
			continue
		}
		best = min(best, valley(func(t float64) float64 {
			return at(s.a.X+t*(s.b.X-s.a.X), s.a.Y+t*(s.b.Y-s.a.Y))
		}))
	}
	return best
}

// valley is the least value of a convex function between 0 and 1, by golden section
// (J. Kiefer, "Sequential minimax search for a maximum", Proceedings of the American
// Mathematical Society 4 (1953) 502).
func valley(f func(float64) float64) float64 {
	const g = 0.6180339887498949
	a, b := 0.0, 1.0
	c, d := b-g, a+g
	fc, fd := f(c), f(d)
	for b-a > 1e-7 {
		if fc <= fd {
			b, d, fd = d, c, fc
			c = b - g*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + g*(b-a)
			fd = f(d)
		}
	}
	return min(f(0), f(1), fc, fd)
}

// spare is the least of what is left over what is wanted at a shift, the rooms to
// back and foot apart, which no shift changes.
func (r *roomy) spare(shift float64) float64 {
	if len(r.layers) == 0 {
		return math.Inf(1)
	}
	end := r.end(shift)
	least := end.MM - end.WantsMM
	for i := range r.metal.jaws.Holes {
		least = min(least, r.hole(i, shift)-wantsHoleMM)
	}
	for _, o := range r.olds {
		if q := r.old(o, shift); q.MM > 0 {
			least = min(least, q.MM-q.WantsMM)
		}
	}
	return least
}

// sound reports for n shifts, each by a step farther to the right than the last,
// whether the pocket leaves room enough there, the rooms to back and foot apart. A
// distance changes by no more than the way gone, so most shifts need not be looked
// at.
func (r *roomy) sound(from, step float64, n int) []bool {
	out := make([]bool, n)
	for k := range out {
		out[k] = true
	}
	if len(r.layers) == 0 {
		return out
	}
	// look marks the shifts at which something is as it should not be; until is how
	// far to the right that answer holds.
	look := func(at func(shift float64) (ok bool, until float64)) {
		for k := 0; k < n; {
			if !out[k] {
				k++
				continue
			}
			ok, until := at(from + float64(k)*step)
			to := k + 1
			if until > step {
				to += int(min(float64(n), (until-1e-9)/step))
			}
			for ; k < min(n, to); k++ {
				out[k] = out[k] && ok
			}
		}
	}
	look(func(shift float64) (bool, float64) {
		q := r.end(shift)
		return q.OK, math.Abs(q.MM - q.WantsMM)
	})
	for i := range r.metal.jaws.Holes {
		look(func(shift float64) (bool, float64) {
			q := r.room("", r.hole(i, shift), wantsHoleMM)
			return q.OK, math.Abs(q.MM - q.WantsMM)
		})
	}
	for _, o := range r.olds {
		for _, piece := range o.pieces {
			over := r.over(piece)
			look(func(shift float64) (bool, float64) {
				for _, s := range over {
					if s.from < shift && shift < s.to {
						return true, s.to - shift
					}
				}
				const far = wantsOldMM + 8 // looked for no farther
				switch d := r.wall(piece, shift, far); {
				case d >= wantsOldMM-1e-9:
					return true, d - wantsOldMM
				case d == 0:
					return true, 0
				default: // until there is wall enough, or none
					return false, min(wantsOldMM-d, d-noWallMM)
				}
			})
		}
	}
	return out
}

// over are the shifts at which the pocket cuts into a piece of an older one.
func (r *roomy) over(piece []fenced) []span {
	var out []span
	for _, a := range r.layers {
		for _, b := range piece {
			if a.low <= b.high && b.low <= a.high {
				out = append(out, b.meets(a.fence)...)
			}
		}
	}
	return joined(out)
}
