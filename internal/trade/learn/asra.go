package learn

import (
	"math"

	"fettle"
)

// AsRa is the Ra in µm that a reading of roughness means by itself, with the interval
// of how it was read: Rz, Sq, grades and gloss are turned into Ra as the fit begins with
// them. It is false for any other reading and for a value that is none.
func AsRa(r fettle.Reading) (fettle.Estimate, bool) {
	if !rough(r.Kind) || !(r.Value > 0) {
		return fettle.Estimate{}, false
	}
	o := observation{Reading: r}
	o.roughness()
	ra, sd, basis := math.Exp(o.asRa()), o.sd, "as read"
	switch r.Kind {
	case fettle.ReadRz:
		basis = "Rz, taken as 6.3 times Ra"
	case fettle.ReadSq:
		basis = "Sq, taken as 1.27 times Ra"
	case fettle.ReadGrade:
		basis = "a grade on a comparison plate, one either way"
	case fettle.ReadGloss:
		basis = "gloss at 60°, a rough guess"
		// What the scale leaves of roughness: near a mirror next to nothing.
		sd /= math.Max(math.Abs(glossSlope(ra)), 0.05)
	}
	return fettle.LogNormal(ra, math.Hypot(sd, offsets[r.Kind].sd), basis), true
}
