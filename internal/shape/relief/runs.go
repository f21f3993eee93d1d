package relief

import "math"

// runs is the family of short stretches of path, each a few moves of one tool
// that follow on each other, or teeth that cut one after the other: what moves are found by and dropped by, so that a
// program of a million short blocks costs little more than one of long ones.
type runs struct {
	moves *moves
	run   []run
	bins  *bins
}

// run is moves first to last. Their path keeps within aside in plan and below
// under the straight line from its first place to its last.
type run struct {
	first, last  int32
	chord        swept
	aside, below float64
	box          span2
}

const (
	longestRun = 16     // moves
	runShare   = 1 / 8. // of the tool's radius that a run may be long in plan
)

// runs cuts the moves into runs.
func (f *moves) runs() *runs {
	r := &runs{moves: f}
	for n := 0; n < len(f.swept); {
		most := runShare * f.tools[f.tool[n]].Radius
		end, long := n+1, f.swept[n].l
		for end < len(f.swept) && end-n < longestRun && f.tool[end] == f.tool[n] {
			long += apart(f.swept[end-1].end(), f.swept[end].start()) + f.swept[end].l
			if long > most {
				break
			}
			end++
		}
		r.run = append(r.run, f.runOf(n, end))
		n = end
	}
	box := make([]span2, len(r.run))
	for i := range r.run {
		box[i] = r.run[i].box
	}
	r.bins = newBins(box, math.Max(f.reach/2, 1e-3))
	return r
}

// apart is the distance of two tips in plan.
func apart(a, b [3]float64) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

// runOf measures the run of moves [n, end).
func (f *moves) runOf(n, end int) run {
	a, b := f.swept[n].start(), f.swept[end-1].end()
	u := run{first: int32(n), last: int32(end - 1), chord: f.swept[n]}
	if end-n > 1 {
		u.chord = newSwept(a, b)
	}
	x0, y0, x1, y1 := a[0], a[1], a[0], a[1]
	for k := n; k < end; k++ {
		for _, p := range [2][3]float64{f.swept[k].start(), f.swept[k].end()} {
			x0, y0, x1, y1 = math.Min(x0, p[0]), math.Min(y0, p[1]), math.Max(x1, p[0]), math.Max(y1, p[1])
			if end-n == 1 {
				continue
			}
			along, beside := u.chord.local(p[0], p[1])
			c := math.Min(math.Max(along, 0), u.chord.l)
			u.aside = math.Max(u.aside, math.Hypot(along-c, beside))
			u.below = math.Max(u.below, u.chord.az+u.chord.m*c-p[2])
		}
	}
	if end-n > 1 {
		// The line at the nearest place to a point between two ends is no higher
		// over the path than at the ends, but for what the slope makes of aside.
		u.below += math.Abs(u.chord.m)*u.aside + slack
		u.aside += slack
	}
	u.box = outwards(x0, y0, x1, y1)
	return u
}

// start and end are the tip at both ends of a move.
func (s *swept) start() [3]float64 { return [3]float64{s.ax, s.ay, s.az} }

func (s *swept) end() [3]float64 {
	return [3]float64{s.ax + s.l*s.ex, s.ay + s.l*s.ey, s.az + s.l*s.m}
}

// at is the height of the move in the middle of the run, which the run is
// nowhere above.
func (r *runs) at(id int32, x, y float64) float64 {
	u := &r.run[id]
	return r.moves.at((u.first+u.last)/2, x, y)
}

// plane lies under the chord, moved aside and down as far as the path strays
// from it.
func (r *runs) plane(id int32, x, y float64) (z, gx, gy float64) {
	u := &r.run[id]
	z, gx, gy = u.chord.plane(r.moves.tools[r.moves.tool[u.first]], x, y)
	if u.first != u.last {
		z -= u.below + u.aside*math.Sqrt(gx*gx+gy*gy)
	}
	return z, gx, gy
}

func (r *runs) rough(id int32, x, y float64) (z, gx, gy float64) { return r.plane(id, x, y) }

func (r *runs) find(x0, y0, x1, y1 float64, to []int32) []int32 {
	d := r.moves.reach
	return r.bins.within(x0-d, y0-d, x1+d, y1+d, to)
}

// members appends the moves of runs, and reports whether all are a ball's that
// share cells out along their path; teeth do not.
func (r *runs) members(ids, to []int32) (all []int32, shared bool) {
	shared = true
	for _, id := range ids {
		u := &r.run[id]
		shared = shared && r.moves.tools[r.moves.tool[u.first]].isBall() && (u.first == u.last || r.moves.joined[u.last])
		for k := u.first; k <= u.last; k++ {
			to = append(to, k)
		}
	}
	return to, shared
}

// forRuns ends the halving of blocks where runs are looked at: at a block small
// enough to go through their moves one by one.
func forRuns(b block, n int) bool {
	return n <= fewLeft || max(b.i1-b.i0, b.j1-b.j0) <= leafSide
}
