package jam

import (
	"testing"

	"fettle"
)

// The share of a new piece at which it goes in is width over its least caliper; a
// countersink lets nothing through, the round end of a keyhole does.
func TestFitShare(t *testing.T) {
	cylinder := fettle.Media{Shape: fettle.Cylinder, SizeMM: [2]float64{5, 8}}
	hole := fettle.Opening{Kind: fettle.Hole, WidthMM: 4, WidestMM: 7.2, Form: "countersunk"}
	near(t, "past the countersink", FitShare(hole, cylinder), 4.0/5, 1e-12)
	key := fettle.Opening{Kind: fettle.Slot, WidthMM: 3.6, WidestMM: 9, LengthMM: 20, Form: "keyhole"}
	near(t, "a keyhole's round end", FitShare(key, cylinder), 9.0/5, 1e-12)
	near(t, "a triangle goes in flat", FitShare(hole, fettle.Media{Shape: fettle.Triangle, SizeMM: [2]float64{10, 6}}), 4.0/6, 1e-12)
	near(t, "no width", FitShare(fettle.Opening{Kind: fettle.Hole}, cylinder), 0, 0)

	// For a plain bore it is the share from which the hours of a judgement are reckoned.
	m := sphere(5)
	j := byBands(bore(4.5)[0], m)
	near(t, "hours from new", j[0].HoursToFit.Value, 3*(1-FitShare(bore(4.5)[0], m))/0.0008, 1e-9)
}
