package envelope

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"fettle"
)

// pose is a box round the part, longest side first, and how the part lies in it.
type pose struct {
	mm  [3]float64
	how string
}

// poses are the boxes that are known: as the part was drawn, and turned to its
// principal axes. Neither need be the smallest: a plate drawn askew is larger as drawn, and the
// axes of a cube point anywhere.
func (j *judge) poses() []pose {
	var out []pose
	for _, p := range []pose{{j.survey.SizeMM, "as it is drawn"}, {j.survey.PrincipalMM, "turned to its principal axes"}} {
		slices.SortFunc(p.mm[:], func(a, b float64) int { return cmp.Compare(b, a) })
		if p.mm[0] > 0 && !math.IsInf(p.mm[0], 0) {
			out = append(out, p)
		}
	}
	return out
}

// sides are what the three extents are called.
var sides = [3]string{"long", "wide", "thick"}

// size holds the part to the largest and the least. It may be turned: it fits where
// one of its boxes does, and a box fits a box with the same axes where it does so
// side by side in order of size.
func (j *judge) size() error {
	all := j.poses()
	if len(all) == 0 {
		return fettle.Errorf(fettle.BadFile, "%s has no size that could be judged; check the model where it was drawn", j.survey.File)
	}
	// The smaller box speaks where both are beyond as many limits.
	slices.SortStableFunc(all, func(a, b pose) int {
		return cmp.Compare(a.mm[0]*a.mm[1]*a.mm[2], b.mm[0]*b.mm[1]*b.mm[2])
	})
	best, fewest := 0, 4
	for i, p := range all {
		n := 0
		for k, most := range j.env.MaxMM {
			if most > 0 && p.mm[k] > most {
				n++
			}
		}
		if n < fewest {
			best, fewest = i, n
		}
	}
	for k, most := range j.env.MaxMM {
		p := all[best]
		if most > 0 && p.mm[k] > most {
			j.refuse("max_mm", "%s %s, %s; the shop takes up to %s", apart(mm, p.mm[k], most), sides[k], p.how, mm(most))
		}
	}
	// A part is as long as its longest box says: only the least is asked of that.
	long := all[0]
	for _, p := range all[1:] {
		if p.mm[0] > long.mm[0] {
			long = p
		}
	}
	if least := j.env.MinMM; least > 0 && long.mm[0] < least {
		j.refuse("min_mm", "%s long, %s; the shop takes parts from %s", apart(mm, long.mm[0], least), long.how, mm(least))
	}
	return nil
}

// mm and kg show a number as it was entered, so that a limit reads as the shop wrote it.
func mm(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) + " mm" }
func kg(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) + " kg" }

// apart shows a measured number rounded so far that it still differs from a limit on
// the side that it lies.
func apart(show func(float64) string, v, limit float64) string {
	for digits := 3; digits < 17; digits++ {
		r, err := strconv.ParseFloat(fmt.Sprintf("%.*g", digits, v), 64)
		if err == nil && r != limit && (r > limit) == (v > limit) {
			return show(r)
		}
	}
	return show(v)
}
