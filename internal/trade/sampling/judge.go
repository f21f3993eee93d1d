package sampling

import (
	"fmt"
	"math"

	"fettle"
)

// Verdict is what the readings of a piece, or of a lot, say to one limit.
type Verdict struct {
	Limit fettle.AcceptLimit `json:"limit"`
	// N readings bear on it; Worst is the one furthest from the sample, or the sum of
	// the pieces that held media.
	N     int     `json:"n"`
	Worst float64 `json:"worst"`
	// Right is nil where there is no limit, or nothing was read.
	Right *bool  `json:"right,omitempty"`
	Says  string `json:"says"`
}

// Judge holds readings against the limits of an acceptance, one verdict for each
// limit. Of each kind only those taken last count, as on the sample; every one of them
// must be inside.
func Judge(acc *fettle.Acceptance, readings []fettle.Reading) []Verdict {
	if acc == nil {
		return nil
	}
	var out []Verdict
	for _, l := range acc.Limits {
		v := Verdict{Limit: l}
		vs, _ := last(readings, l.Kind)
		v.N = len(vs)
		show := func(x float64) string { return Value(l.Kind, x, acc.Display) }
		if v.N == 0 {
			v.Says = names[l.Kind] + ": not read"
			out = append(out, v)
			continue
		}
		bad, off := 0, math.Inf(-1)
		for _, x := range vs {
			if l.Kind == fettle.ReadJammed {
				v.Worst += x
				continue
			}
			if !within(x, l.Low, l.High) || math.IsNaN(x) {
				bad++
			}
			if d := outside(x, l); d > off || math.IsNaN(d) {
				off, v.Worst = d, x
			}
		}
		if l.Kind == fettle.ReadJammed && !within(v.Worst, l.Low, l.High) {
			bad = 1
		}
		if l.Low == nil && l.High == nil {
			v.Says = fmt.Sprintf("%s: %s; no limit", names[l.Kind], show(v.Worst))
			out = append(out, v)
			continue
		}
		right := bad == 0
		v.Right = &right
		v.Says = verdict(l, v, bad, acc.Display)
		out = append(out, v)
	}
	return out
}

// outside is how far a reading lies out of a limit, as a share of the bound it passes,
// negative inside.
func outside(x float64, l fettle.AcceptLimit) float64 {
	d := math.Inf(-1)
	if l.Low != nil {
		d = max(d, (*l.Low-x)/max(math.Abs(*l.Low), 1e-12))
	}
	if l.High != nil {
		d = max(d, (x-*l.High)/max(math.Abs(*l.High), 1e-12))
	}
	if l.Low == nil && l.High == nil {
		return math.Abs(x - l.Sample)
	}
	return d
}

func verdict(l fettle.AcceptLimit, v Verdict, bad int, sys fettle.System) string {
	show := func(x float64) string { return Value(l.Kind, x, sys) }
	switch {
	case l.Kind == fettle.ReadMarkGone && bad == 0:
		return "older marks: gone, as they must be"
	case l.Kind == fettle.ReadMarkGone:
		return "older marks: one is still there, and must be gone"
	case l.Kind == fettle.ReadJammed && bad == 0:
		return "pieces that hold media: none, as it must be"
	case l.Kind == fettle.ReadJammed:
		return fmt.Sprintf("pieces that hold media: %s, and there may be none", show(v.Worst))
	case bad == 0:
		return fmt.Sprintf("%s: %s, inside", names[l.Kind], show(v.Worst))
	case l.High != nil && v.Worst > *l.High:
		return fmt.Sprintf("%s: %s, above the %s that it may be", names[l.Kind], show(v.Worst), Limit(l.Kind, *l.High, sys))
	case l.Low != nil && v.Worst < *l.Low:
		return fmt.Sprintf("%s: %s, below the %s that it must be", names[l.Kind], show(v.Worst), Limit(l.Kind, *l.Low, sys))
	}
	return fmt.Sprintf("%s: %g is no reading", names[l.Kind], v.Worst)
}
