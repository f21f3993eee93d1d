package texture

import (
	"math"
	"slices"
)

// CurvePoint is a point of the material ratio curve (Abbott and Firestone): the
// share of the surface, in percent, that stands at or above a height in µm over
// the mean.
type CurvePoint struct{ Ratio, Height float64 }

// Curve is a material ratio curve, from the highest point down.
type Curve []CurvePoint

// Core is what the straight line through the flattest 40 % of a material ratio
// curve tells: the depth K of the core, the reduced peaks PK above and valleys
// VK below it, µm, and the ratios M1 and M2 between which the core lies, %.
type Core struct{ K, PK, VK, M1, M2 float64 }

// curveOfSorted is the curve of heights that are sorted from the top down; each
// stands at the middle of its own share.
func curveOfSorted(z []float64) Curve {
	c := make(Curve, len(z))
	for i, v := range z {
		c[i] = CurvePoint{100 * (float64(i) + 0.5) / float64(len(z)), v}
	}
	return c
}

// curveOfCounts is the curve of n heights counted in equal classes from lo up
// to hi, sampled at equal shares; inside a class heights are taken for evenly
// spread.
func curveOfCounts(counts []uint64, lo, hi float64, n uint64) Curve {
	const samples = 20000
	c := make(Curve, 0, samples)
	width := (hi - lo) / float64(len(counts))
	class, above := len(counts)-1, 0.0
	for i := range samples {
		want := (float64(i) + 0.5) / samples * float64(n)
		for class > 0 && above+float64(counts[class]) < want {
			above += float64(counts[class])
			class--
		}
		part := 0.5
		if counts[class] > 0 {
			part = min(1, (want-above)/float64(counts[class]))
		}
		c = append(c, CurvePoint{100 * want / float64(n), lo + (float64(class)+1-part)*width})
	}
	return c
}

// Core evaluates the curve by the secant of 40 % of it (ISO 21920-2 for
// profiles, ISO 25178-2 for maps, both after ISO 13565-2): the least squares
// line, in the direction of the heights, through the part where that secant is
// flattest, carried to 0 % and 100 %. PK and VK are the heights of triangles as
// large as what the curve holds beyond.
func (c Curve) Core() (core Core, ok bool) {
	n := len(c)
	span := int(math.Round(0.4 * float64(n)))
	if span < 2 || !(c[0].Height > c[n-1].Height) {
		return Core{}, false
	}
	best, at, last := math.Inf(1), 0, 0
	for i := 0; i+span <= n; i++ {
		fall := c[i].Height - c[i+span-1].Height
		// Curves with a long straight part are equally flat all along it: the
		// middle of that part is taken.
		switch {
		case fall < best*(1-1e-9):
			best, at, last = fall, i, i
		case fall <= best*(1+1e-9) && last == i-1:
			last = i
		}
	}
	at = (at + last) / 2
	var sx, sy, sxx, sxy float64
	for _, p := range c[at : at+span] {
		x := p.Ratio - c[at].Ratio
		sx, sy, sxx, sxy = sx+x, sy+p.Height, sxx+x*x, sxy+x*p.Height
	}
	m := float64(span)
	slope := (m*sxy - sx*sy) / (m*sxx - sx*sx)
	top := (sy-slope*sx)/m - slope*c[at].Ratio
	bottom := top + 100*slope
	core = Core{K: top - bottom, M1: c.ratioAt(top), M2: c.ratioAt(bottom)}
	peaks, valleys := 0.0, 0.0
	for _, p := range c {
		peaks += max(0, p.Height-top)
		valleys += max(0, bottom-p.Height)
	}
	// Areas in µm·%; the triangle stands on M1, or on what M2 leaves.
	peaks, valleys = peaks*100/float64(n), valleys*100/float64(n)
	if core.M1 > 0 {
		core.PK = 2 * peaks / core.M1
	}
	if core.M2 < 100 {
		core.VK = 2 * valleys / (100 - core.M2)
	}
	return core, true
}

// ratioAt is the ratio at which the curve comes down to a height.
func (c Curve) ratioAt(height float64) float64 {
	// The first point that is no higher.
	i, _ := slices.BinarySearchFunc(c, height, func(p CurvePoint, h float64) int {
		if p.Height > h {
			return -1
		}
		return 1
	})
	switch i {
	case 0:
		return 0
	case len(c):
		return 100
	}
	a, b := c[i-1], c[i]
	if a.Height == b.Height {
		return b.Ratio
	}
	return a.Ratio + (b.Ratio-a.Ratio)*(a.Height-height)/(a.Height-b.Height)
}
