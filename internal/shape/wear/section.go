package wear

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Section is a cut across a part.
type Section struct {
	// Points run along the outline in mm with the material on the left: a closed
	// outline counter-clockwise. An open one begins and ends on faces that go on
	// straight and recede as such; they must reach further than the rounding will.
	Points []r2.Vec
	Closed bool
	// Revolved says that the part is round about the line X = Axis and that the
	// section lies in a plane through it. The curvature across is then n·e/ρ at
	// every point, n the normal, e and ρ the way from the axis: negative in a bore,
	// positive on a spigot. Otherwise the section is that of a long straight thing.
	Revolved bool
	Axis     float64
	// Exposure is how hard each stretch is worn against an open face: one number
	// from point i to the next, or nil for 1 throughout. Round an edge it changes
	// from one to the other as the direction of the surface does.
	Exposure []float64
}

// Shape is a section after some wear, with its own number of points.
type Shape struct {
	Removed float64 // from an open flat face, mm
	Points  []r2.Vec
	Closed  bool
}

// Flow wears a section until an open flat face has lost each of the depths, mm,
// in any order; one below 0 or not a number counts as 0. A closed section that
// is worn away has no points. The flow does not see two stretches of an outline
// that come to cross each other because the wall between them has gone.
func Flow(s Section, law Law, removals []float64) []Shape {
	out := make([]Shape, len(removals))
	if len(s.Points) < 2 || s.Closed && len(s.Points) < 3 {
		for i, h := range removals {
			out[i] = Shape{math.Max(h, 0), slices.Clone(s.Points), s.Closed}
		}
		return out
	}
	flow(s, law, 0, removals, func(i int, h float64, f *front) {
		out[i] = Shape{h, f.points(), s.Closed}
	})
	return out
}

// Steps grow with the time gone by, because what happens slows down so: this
// share of it, and this many to the first removal; but where something is about
// to vanish, this share of the time it has left.
const (
	stepShare  = 0.1
	firstSteps = 24
	leftShare  = 0.1
)

// flow runs a front and shows it at each removal. Where turn is set, no stretch
// turns by more.
func flow(s Section, law Law, turn float64, removals []float64, show func(i int, h float64, f *front)) {
	order := make([]int, len(removals))
	depth := make([]float64, len(removals))
	first := math.Inf(1)
	for i, h := range removals {
		order[i] = i
		if h > 0 && !math.IsInf(h, 1) {
			depth[i] = h
			first = math.Min(first, h)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(depth[a], depth[b]) })
	f := newFront(s, law)
	if turn > 0 {
		f.turnStep = math.Min(turnStep, turn)
	}
	t := 0.0
	for _, i := range order {
		if t == 0 && depth[i] > 0 {
			f.respace(first / firstSteps)
		}
		for t < depth[i] && len(f.x) > 0 {
			left := depth[i] - t
			dt := math.Max(first/firstSteps, stepShare*t)
			tight, hard := f.limits()
			dt = math.Min(dt, math.Max(first/(16*firstSteps), leftShare*tight))
			dt = math.Min(dt, math.Max(hard/2, f.finest/100))
			if n := math.Ceil(left/dt - 1e-9); n < 8 {
				dt = left / math.Max(n, 1)
			}
			f.step(dt)
			t += dt
			if depth[i]-t < 1e-12*depth[i] {
				t = depth[i]
			}
			f.respace(t)
		}
		show(i, depth[i], f)
	}
}
