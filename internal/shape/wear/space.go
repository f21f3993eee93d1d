package wear

import "math"

// Stretches turn by about this much, grow from one to the next by no more than
// this ratio, and are no shorter than this share of how far the rounding has
// spread.
const (
	turnStep   = 0.1
	growth     = 0.2
	spreadStep = 0.08
	depthStep  = 0.02 // and of the depth, where that is out of all proportion to b
)

// shortest is the shortest stretch worth having at a time.
func (f *front) shortest(t float64) float64 {
	b := f.law.B
	spread := math.Min(math.Sqrt(b*t), b/2) // an edge is never much rounder than b
	return math.Max(f.finest, math.Max(spreadStep*spread, depthStep*t-10*b))
}

// limits are how long a step may be: tight, the least time in which any part
// of the outline would move by its own radius; and hard, that in which the nodes
// of a corner that next to nothing keeps round would pass each other.
func (f *front) limits() (tight, hard float64) {
	f.measure()
	tight, hard = math.Inf(1), math.Inf(1)
	for i, turn := range f.turn {
		k := turn / f.half[i]
		even, along := f.law.split(f.across(i))
		v := f.e[i] * (even + along*k)
		if !(k > 0 && v > 0) {
			continue
		}
		tight = math.Min(tight, 1/(k*v))
		if along < viscous*even*f.half[i] {
			short := math.Min(f.long[i], f.long[(i+len(f.long)-1)%len(f.long)])
			hard = math.Min(hard, short/(f.e[i]*even*math.Tan(math.Min(turn, sharpest)/2)))
		}
	}
	return tight, hard
}

// respace puts in and takes out nodes, so that stretches are short where the
// outline turns and long where it is straight.
func (f *front) respace(t float64) {
	if f.gone() {
		f.x, f.y, f.e = f.x[:0], f.y[:0], f.e[:0]
		return
	}
	least := f.shortest(t)
	f.join(least)
	for range 24 {
		if !f.cut(least) {
			return
		}
	}
}

// gone tells a closed outline that has nothing left inside.
func (f *front) gone() bool {
	if !f.closed {
		return false
	}
	area := 0.0
	n := len(f.x)
	for i := range n {
		j := (i + 1) % n
		area += (f.x[i]-f.x[0])*(f.y[j]-f.y[0]) - (f.x[j]-f.x[0])*(f.y[i]-f.y[0])
	}
	return n < 3 || !(area/2 > 64*f.finest*f.finest)
}

// targets sets, for each node, the length that stretches there should have.
func (f *front) targets(least float64) {
	f.measure()
	n := len(f.x)
	for i := range n {
		w := math.Inf(1)
		if k := math.Abs(f.turn[i]) / f.half[i]; k > 0 {
			w = f.turnStep / k
		}
		f.want[i] = math.Max(least, w)
	}
	// Twice round a closed outline, so that the seam does not matter.
	turns := 1
	if f.closed {
		turns = 2
	}
	for range turns {
		for i := range n {
			j := i + 1
			if j == n {
				if !f.closed {
					break
				}
				j = 0
			}
			f.want[j] = math.Min(f.want[j], f.want[i]+growth*f.long[i])
		}
		for j := n - 1; j >= 0; j-- {
			i := j - 1
			if i < 0 {
				if !f.closed {
					break
				}
				i = n - 1
			}
			f.want[i] = math.Min(f.want[i], f.want[j]+growth*f.long[i])
		}
	}
}

// join takes out nodes that stand too close to the one before; of the two the
// one that turns less.
func (f *front) join(least float64) {
	f.targets(least)
	n := len(f.x)
	w, kept := 1, 0 // nodes kept, and the last of them
	gap := f.long[0]
	for i := 1; i < n; i++ {
		end := !f.closed && i == n-1
		if want := math.Min(f.want[i], f.want[kept]); gap < 0.5*want && n > 8 && !end {
			if math.Abs(f.turn[i]) <= math.Abs(f.turn[kept]) || w == 1 {
				gap += f.long[i]
				continue
			}
			w--
		}
		f.x[w], f.y[w], f.e[w] = f.x[i], f.y[i], f.e[i]
		gap, kept = f.long[i], i
		w++
	}
	// At the seam the last goes, unless it turns more than the first.
	if want := math.Min(f.want[kept], f.want[0]); f.closed && gap < 0.5*want && w > 8 {
		if math.Abs(f.turn[kept]) > math.Abs(f.turn[0]) {
			f.x[0], f.y[0], f.e[0] = f.x[w-1], f.y[w-1], f.e[w-1]
		}
		w--
	}
	if w >= 4 || !f.closed {
		f.x, f.y, f.e = f.x[:w], f.y[:w], f.e[:w]
	}
}

// cut halves the stretches that are too long, putting the new node on the arc
// that both ends agree on; it reports whether there were any.
func (f *front) cut(least float64) bool {
	f.targets(least)
	n := len(f.x)
	x, y, e := f.keep[0][:0], f.keep[1][:0], f.keep[2][:0]
	for i := range n {
		x, y, e = append(x, f.x[i]), append(y, f.y[i]), append(e, f.e[i])
		j := i + 1
		if j == n {
			if !f.closed {
				break
			}
			j = 0
		}
		l := f.long[i]
		if l <= 1.5*math.Min(f.want[i], f.want[j]) || l <= 1.5*f.finest {
			continue
		}
		bulge := 0.0
		if a, b := f.turn[i]/f.half[i], f.turn[j]/f.half[j]; a*b > 0 && math.Max(math.Abs(f.turn[i]), math.Abs(f.turn[j])) < 4*turnStep {
			bulge = math.Copysign(math.Min(math.Abs(a), math.Abs(b)), a) * l / 8
		}
		x = append(x, (f.x[i]+f.x[j])/2+bulge*(f.y[j]-f.y[i]))
		y = append(y, (f.y[i]+f.y[j])/2-bulge*(f.x[j]-f.x[i]))
		e = append(e, (f.e[i]+f.e[j])/2)
	}
	more := len(x) > n
	f.keep[0], f.x = f.x, x
	f.keep[1], f.y = f.y, y
	f.keep[2], f.e = f.e, e
	return more
}
