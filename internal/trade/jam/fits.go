package jam

import (
	"math"

	"fettle"
)

// FitShare is the share of its new size to which a piece must have worn to go into an
// opening, past its countersink, by its least width: above 1 where it does when new, 0
// where the opening's width is not known. It is the quick answer, by clear width and
// calipers alone.
func FitShare(o fettle.Opening, m fettle.Media) float64 {
	least, wide := Calipers(m)[0], 0.0
	for _, h := range mouths(o) {
		wide = math.Max(wide, h.width)
	}
	if !(o.WidthMM > 0) || !(least > 0) {
		return 0
	}
	return wide / least
}
