package hold

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r3"
)

// spacing of samples on the gripped sides, mm.
func (j *job) spacing() float64 {
	s := j.part.Box().Size()
	return max(0.15, min(0.5, (s.X+s.Y)/300))
}

// chooseTurnAndGrip turns the part so that it offers the jaws most, and sinks it
// until they have enough of that: three millimetres of upright side, or a seventh
// of the part's height where that is more.
func (j *job) chooseTurnAndGrip() error {
	flat := Laid(j.Mesh, j.pose)
	size := flat.Box().Size()
	turns := []float64{0, 90}
	if j.TurnDeg != nil {
		turns = []float64{*j.TurnDeg}
	} else if t := leastTurn(flat); t > 0.01 && t < 89.99 {
		turns = append(turns, t, t+90)
	}
	best := -1.0
	for _, turn := range turns {
		pose := j.pose
		pose.TurnDeg = turn
		pose.GripMM = size.Z // all of it below the jaws' top
		if j.GripMM > 0 {
			pose.GripMM = min(j.GripMM, size.Z)
		}
		laid := Laid(j.Mesh, pose)
		tree := bvh.Build(laid)
		grip := entering(Sample(laid, max(0.3, size.Z/60)), tree)
		grip.Points = slices.DeleteFunc(grip.Points, func(p GripPoint) bool { return faced(p, tree) })
		offered := grip.offered()
		if offered > best*1.02 {
			best = offered
			j.pose.TurnDeg = turn
			if j.GripMM == 0 {
				j.pose.GripMM = grip.depth(size.Z)
			}
		}
	}
	if j.GripMM > 0 {
		j.pose.GripMM = j.GripMM
	}
	if j.pose.GripMM >= size.Z {
		return fettle.Errorf(fettle.Invalid, "a grip of %.3g mm swallows the part, which is %.3g mm high that way; give less, or another side down", j.pose.GripMM, size.Z)
	}
	if best < 1 {
		return fettle.Errorf(fettle.Invalid, "%s has no upright sides to clamp on that way up; choose another side with --down, or hold it by its openings", j.File)
	}
	wide := Laid(j.Mesh, j.pose).Box().Size().Y
	if j.pose.GapMM = j.GapMM; j.GapMM == 0 {
		j.pose.GapMM = math.Round(max(1, min(6, 0.2*wide))*10) / 10
	}
	return nil
}

// entering keeps what jaws can bear on of a laid part that comes in from above: no
// part of it lies below the place where their metal would stand.
func entering(g Grip, tree *bvh.Tree) Grip {
	var out Grip
	for _, p := range g.Points {
		near := r3.Add(p.At, r3.Scale(justOutsideMM, p.Normal))
		if !tree.RayAny(near, r3.Vec{Z: -1}, 0, math.Inf(1)) {
			out.Points = append(out.Points, p)
		}
	}
	return out
}

// faced reports whether a wall looks at another of the same part: it stands in an
// opening or a notch.
func faced(p GripPoint, tree *bvh.Tree) bool {
	near := r3.Add(p.At, r3.Scale(justOutsideMM, p.Normal))
	return tree.RayAny(near, r3.Vec{X: p.Normal.X, Y: p.Normal.Y}, 0, math.Inf(1))
}

// offered is the lesser of what a part offers to both sides, square to the clamping,
// mm².
func (g Grip) offered() float64 {
	var side [2]float64
	for _, p := range g.Points {
		if at, _, _, ok := p.offers(0, 0); ok {
			side[at] += p.square()
		}
	}
	return min(side[0], side[1])
}

// depth is how deep a part of some height is sunk so that jaws have enough of it.
// The samples are of the whole part just below the jaws' top.
func (g Grip) depth(high float64) float64 {
	slices.SortStableFunc(g.Points, func(a, b GripPoint) int { return cmp.Compare(a.At.Z, b.At.Z) })
	begins := 0.0
	for _, side := range []Side{FixedSide, MovingSide} {
		total, sum := 0.0, 0.0
		mine := func(p GripPoint) bool {
			at, _, _, ok := p.offers(0, 0)
			return ok && at == side
		}
		for _, p := range g.Points {
			if mine(p) {
				total += p.square()
			}
		}
		for _, p := range g.Points {
			if mine(p) {
				if sum += p.square(); sum > 0.03*total {
					begins = max(begins, p.At.Z+high)
					break
				}
			}
		}
	}
	want := begins + max(3, high/7)
	return math.Round(max(min(want, high-min(1, high/5)), high/10)*20) / 20
}

// chooseCutter takes the cutter asked for, or of the flat ones that reach the floor
// the largest up to 6 mm that gets in: larger ones take more of the corners' bearing.
func (j *job) chooseCutter(levels []level, room []region.Region) error {
	if j.Cutter != "" {
		i := slices.IndexFunc(j.Cutters, func(c fettle.Cutter) bool { return strings.EqualFold(c.Name, j.Cutter) })
		if i >= 0 {
			j.cutter = j.Cutters[i]
		} else {
			c, ok, err := fettle.ParseCutter(j.Cutter)
			if err != nil {
				return err
			}
			if !ok {
				return fettle.Errorf(fettle.NotFound, "cutter %q is not on the shelf; give its name there, or its sizes: flat:6", j.Cutter)
			}
			j.cutter = c
		}
		if j.cutter.Shape == fettle.Ball {
			return fettle.Errorf(fettle.Invalid, "%s has a round nose and leaves no level floor; choose a flat cutter for the pocket", j.cutter.Name)
		}
		if r := j.cutter.ReachMM; r > 0 && r < j.depth() {
			j.says = append(j.says, fmt.Sprintf("%s reaches %.3g mm and the pocket is %.3g mm deep: set it out farther or take a longer one", j.cutter.Name, r, j.depth()))
		}
		return nil
	}
	flats := j.flats(6)
	for _, c := range flats {
		if c.ReachMM < j.depth()+grooveMM {
			continue
		}
		fits := true
		for i, r := range room {
			if levels[i].slight() {
				continue
			}
			if _, _, ok := cuttable(r, c.DiameterMM/2); !ok {
				fits = false
				break
			}
		}
		if fits {
			j.cutter = c
			return nil
		}
	}
	return fettle.Errorf(fettle.Invalid, "no flat cutter on the shelf up to 6 mm gets into a pocket %.3g mm deep for this part; give one with --cutter, for example flat:3, or grip less", j.depth())
}

// flats are the flat cutters up to a diameter, the largest first.
func (j *job) flats(most float64) []fettle.Cutter {
	var out []fettle.Cutter
	for _, c := range j.Cutters {
		if c.Shape == fettle.Flat && c.DiameterMM <= most+1e-9 {
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b fettle.Cutter) int { return cmp.Compare(b.DiameterMM, a.DiameterMM) })
	return out
}

// grooveCutters may cut the relief groove: those that reach, the largest first, so
// that as few tools as can be are changed.
func (j *job) grooveCutters() []fettle.Cutter {
	out := []fettle.Cutter{j.cutter}
	for _, c := range j.flats(j.cutter.DiameterMM) {
		if c.Name != j.cutter.Name && c.ReachMM >= j.depth()+grooveMM {
			out = append(out, c)
		}
	}
	return out
}
