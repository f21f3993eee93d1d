package relief

import (
	"fmt"
	"math"
)

// moves is the family of a program's moves.
type moves struct {
	tools  []Tool
	tool   []uint8
	swept  []swept
	joined []bool // a move goes on from where the one before it ended, with the same tool
	reach  float64
}

func newMoves(tools []Tool, list []Move) (*moves, error) {
	if len(tools) > math.MaxUint8 {
		return nil, fmt.Errorf("relief: %d tools, at most %d", len(tools), math.MaxUint8)
	}
	f := &moves{tools: tools, tool: make([]uint8, len(list)), swept: make([]swept, len(list)), joined: make([]bool, len(list)+1)}
	for _, t := range tools {
		if !(t.Radius > 0) || !(t.Corner >= 0) || math.IsInf(t.Radius, 0) {
			return nil, fmt.Errorf("relief: a tool of radius %v and corner %v", t.Radius, t.Corner)
		}
		f.reach = math.Max(f.reach, t.Radius)
	}
	for n := range list {
		m := &list[n]
		if int(m.Tool) >= len(tools) || m.Tool < 0 {
			return nil, fmt.Errorf("relief: move %d is made with tool %d of %d", n, m.Tool, len(tools))
		}
		for _, p := range [2][3]float64{m.From, m.To} {
			for _, v := range p {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					return nil, fmt.Errorf("relief: move %d has no place", n)
				}
			}
		}
		f.tool[n] = uint8(m.Tool)
		f.swept[n] = newSwept(m.From, m.To)
		f.joined[n] = n > 0 && m.Tool == list[n-1].Tool && m.From == list[n-1].To && f.swept[n].l > 0 && f.swept[n-1].l > 0
	}
	return f, nil
}

func (f *moves) at(id int32, x, y float64) float64 {
	return f.swept[id].at(f.tools[f.tool[id]], x, y)
}

func (f *moves) plane(id int32, x, y float64) (z, gx, gy float64) {
	return f.swept[id].plane(f.tools[f.tool[id]], x, y)
}

// rough is the plane itself, which for a move is quick.
func (f *moves) rough(id int32, x, y float64) (z, gx, gy float64) { return f.plane(id, x, y) }

// find is not asked for: members are handed down by their runs.
func (f *moves) find(_, _, _, _ float64, to []int32) []int32 { return to }

// sharp is the turn between two moves past which a ball's second move is not
// relied on to be lower than the end of the first.
const sharp = 0.5 // cosine

// slab is the stretch along a move of a ball, measured from its start, outside of
// which some neighbour in its path is at least as low all over the block; ok is
// false where nothing of the block is within.
//
// Behind the end of a move its underside is that of the ball standing there, and
// a move that goes on from there is nowhere higher than that ball. So the cells
// behind the end are left to the next move, and those before the start to the
// one before; but where a path bends, the cells on the outside of the bend lie
// behind the end of one and before the start of the other. Those are the first
// one's, and the stretch is drawn out to hold them. A ball is strictly convex, so
// leaving cells to a neighbour never meets a neighbour that was dropped for being
// no lower than this move.
func (f *moves) slab(g Grid, b block, id int32) (from, to float64, ok bool) {
	s := &f.swept[id]
	r := f.tools[f.tool[id]].Radius
	from, to = math.Inf(-1), math.Inf(1)
	// How far along and beside the path the block lies.
	aMin, aMax, near, far := math.Inf(1), math.Inf(-1), math.Inf(1), 0.0
	side := 0
	x0, y0, x1, y1 := g.X(b.i0), g.Y(b.j0), g.X(b.i1-1), g.Y(b.j1-1)
	for _, p := range [4][2]float64{{x0, y0}, {x1, y0}, {x0, y1}, {x1, y1}} {
		a, c := s.local(p[0], p[1])
		aMin, aMax = min(aMin, a), max(aMax, a)
		if c > 0 {
			side++
		} else {
			c = -c
		}
		near, far = min(near, c), max(far, c)
	}
	if side != 0 && side != 4 {
		near = 0
	}
	if near > r || aMin > s.l+r || aMax < -r {
		return 0, 0, false
	}
	before, after := f.joined[id], f.joined[id+1]
	if !before && !after || s.l == 0 {
		return from, to, true
	}
	far = min(far, r)
	lag := func(q, near, far float64) (lo, hi float64) {
		wide, slim := math.Sqrt(math.Max(0, r*r-near*near)), math.Sqrt(math.Max(0, r*r-far*far))
		return math.Min(q*wide, q*slim), math.Max(q*wide, q*slim)
	}
	lo, hi := lag(s.q, near, far)
	if before {
		from = lo - slack
	}
	if after {
		n := &f.swept[id+1]
		cos, sin := s.ex*n.ex+s.ey*n.ey, s.ex*n.ey-s.ey*n.ex
		if cos > sharp {
			sin = math.Abs(sin)
			d := r * (sin + 1 - cos)
			_, next := lag(n.q, math.Max(0, near-d), math.Min(r, far+d))
			to = s.l + slack + math.Max(hi, next/cos+far*sin/cos)
		}
	}
	return from, to, aMax >= from && aMin <= to
}

// slack is what rounding may do to a place along a move, mm.
const slack = 1e-9
