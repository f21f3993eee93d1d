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

// miss is the chance that an Ra spread log-normally about e falls outside the
// band. Below the band counts half: a face that came out finer is rarely sent
// back.
func (n need) miss(e fettle.Estimate) float64 {
	above := 1 - normal(math.Log(n.HighUM/e.Value)/spreadUp(e))
	below := normal(math.Log(n.LowUM/e.Value) / spreadDown(e))
	return math.Min(1, above+below/2)
}

// normal is the standard normal distribution function.
func normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// z90 is the standard normal deviate at 90 %, where estimates have their
// bounds.
const z90 = 1.2815515655446004

func spreadUp(e fettle.Estimate) float64   { return math.Max(0.05, math.Log(e.High/e.Value)/z90) }
func spreadDown(e fettle.Estimate) float64 { return math.Max(0.05, math.Log(e.Value/e.Low)/z90) }
