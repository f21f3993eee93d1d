package region

// Opened is what discs of a radius that lie in the region cover: what a round
// cutter can clear. It never goes beyond the region, holds all that the cutter
// clears, and at most what one would that is smaller by tol.
func (a Region) Opened(radius, tol float64) Region {
	if !(tol > 0 && radius > 0) {
		panic("region: opening needs a radius and a tolerance above zero")
	}
	// The least bit smaller, so that the cutter still enters a slot of its own width
	// and a corner of its own radius.
	t := min(tol, radius) / 4
	return a.Offset(t-radius, t).shifted(radius-t, t).And(a)
}
