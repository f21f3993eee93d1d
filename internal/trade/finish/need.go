package finish

import (
	"math"

	"fettle"
)

// need is what the last step must leave on the show face: a band of Ra with an
// aim inside it, a wish about direction, and a limit for edges.
type need struct {
	AimUM, LowUM, HighUM float64
	Lay                  fettle.LayWish
	CuspsMayShow         bool
	EdgeUM               float64
	MarkChance, Specular float64
	Tone                 fettle.Tone
	Source               string // "the drawing" or the look's name
}

// rzOverRa turns a limit on Rz into one on Ra. For parabolic cusps the ratio is
// 3.9 exactly and for ground faces 3 to 4 by the tables, but a few deep strays
// set Rz, so common practice reckons with 6.
const rzOverRa = 6

// needOf puts look and drawing together: a number on the drawing wins.
func needOf(look fettle.Look, b fettle.Brief) need {
	n := need{
		AimUM: look.RaUM.Value, LowUM: look.RaUM.Low, HighUM: look.RaUM.High,
		Lay: look.Lay, CuspsMayShow: look.CuspsMayShow, EdgeUM: look.EdgeUM.High, Source: look.Title,
		MarkChance: look.MarkChance, Specular: look.Specular, Tone: look.Tone,
	}
	if b.Tone != fettle.ToneUsual {
		n.Tone = b.Tone
	}
	limit := math.Inf(1)
	if b.RaMaxUM > 0 {
		limit = b.RaMaxUM
	}
	if b.RzMaxUM > 0 {
		limit = math.Min(limit, b.RzMaxUM/rzOverRa)
	}
	if limit < n.HighUM {
		n.HighUM, n.Source = limit, "the drawing"
		n.AimUM = math.Min(n.AimUM, 0.7*limit) // room for the scatter of readings
		n.LowUM = math.Min(n.LowUM, 0.5*n.AimUM)
	}
	if b.EdgeMaxUM > 0 {
		n.EdgeUM = b.EdgeMaxUM
	}
	return n
}
