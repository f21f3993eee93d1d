package part21

import (
	"math"

	"fettle/internal/format/intake"
)

// extent is the longest side of the box round all points of a file, in its own
// unit. Points of construction and of surfaces that are trimmed count too, and
// assemblies move their parts, so it is no more than a guess at the size.
func (f *file) extent() float64 {
	lo, hi := [3]float64{}, [3]float64{}
	for k := range 3 {
		lo[k], hi[k] = math.Inf(1), math.Inf(-1)
	}
	for i := range f.inst {
		if f.inst[i].kind != cartesianPoint {
			continue
		}
		for v := range f.params(i, "CARTESIAN_POINT") {
			if v.form != list {
				continue
			}
			k := 0
			for c := range each(v.raw) {
				if x, ok := c.float(); ok && k < 3 && intake.Finite(x) {
					lo[k], hi[k] = min(lo[k], x), max(hi[k], x)
				}
				k++
			}
		}
	}
	longest := 0.0
	for k := range 3 {
		longest = max(longest, hi[k]-lo[k]) // −∞ where there are none
	}
	return longest
}
