package cavity

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/geom"
)

const (
	across      = 8   // cells across the smallest opening that counts
	acrossBit   = 4   // cells across the smallest piece
	fewest      = 4   // cells across an opening to be told at all
	alongPart   = 160 // cells along the part's largest side
	mostPoints  = 8e6
	fewestAlong = 8     // cells along the part's largest side, where a cell was asked for
	mostAsked   = 140e6 // where a cell was asked for: two gigabytes and a half
)

// CellFor chooses the grid's cell, in mm, and says why in one sentence: eight
// cells across the narrowest opening that the smallest media can enter when half
// worn, four across that piece itself, 160 along the part's largest side,
// whichever is finest; but no finer than eight million points on the part and the
// [Margin] round it, 32 MB for each number that is kept of a point.
func CellFor(box geom.Box, openings []fettle.Opening, media []fettle.Media) (cell float64, why string) {
	s := box.Size()
	side := max(s.X, s.Y, s.Z)
	if side <= 0 || math.IsInf(side, 0) {
		return 1, "The part has no size."
	}
	cell, why = side/alongPart, fmt.Sprintf("%d cells along the part's largest side of %.4g mm", alongPart, side)
	bit, name := smallest(media)
	if c := bit / acrossBit; c < cell {
		cell, why = c, fmt.Sprintf("%d cells across the smallest piece, %s when half worn (%.3g mm)", acrossBit, name, bit)
	}
	for _, o := range openings {
		if len(media) > 0 && o.WidthMM <= bit {
			continue
		}
		if c := o.WidthMM / across; c > 0 && c < cell {
			cell, why = c, fmt.Sprintf("%d cells across the narrowest opening, %s (%.3g mm)", across, o.ID, o.WidthMM)
		}
	}
	margin := Margin(box, media)
	if pointsOf(box, margin, cell) <= mostPoints {
		return cell, fmt.Sprintf("A cell of %.3g mm: %s.", cell, why)
	}
	hi := finestFor(box, margin, cell, mostPoints)
	return hi, fmt.Sprintf("A cell of %.3g mm, the finest that %.0f million points allow; %s would ask for %.3g mm.", hi, mostPoints/1e6, why, cell)
}

// pointsOf is the number of points of a grid round a box: two cells more than the
// margin on each side, and one for rounding up.
func pointsOf(box geom.Box, margin, cell float64) float64 {
	s := box.Size()
	m := 2 * margin
	return ((s.X+m)/cell + 6) * ((s.Y+m)/cell + 6) * ((s.Z+m)/cell + 6)
}

// finestFor is the smallest cell, above one that is too small, with no more than
// that many points.
func finestFor(box geom.Box, margin, cell, most float64) float64 {
	s := box.Size()
	lo, hi := cell, max(s.X, s.Y, s.Z, cell)
	for range 60 {
		if mid := math.Sqrt(lo * hi); pointsOf(box, margin, mid) > most {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}
