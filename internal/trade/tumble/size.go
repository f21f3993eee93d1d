package tumble

import (
	"math"

	"fettle"
)

// Larger pieces of one kind take off more and leave a rougher surface (six ceramics
// in a barrel: Baghbanan, Yabuki, Timsit and Spelt, Wear 255 (2003) 1369, abstract;
// no exponent is in it). The exponents here are starting guesses: they keep that
// order and move a piece of twice the size by less than kinds differ.
const (
	limitBySize   = 0.3
	removalBySize = 0.5
)

// usualMM is the size that the starting guesses of each kind are meant for, as the
// middle of what is sold of it: common practice.
var usualMM = map[fettle.MediaKind]float64{
	fettle.CeramicFast:    12,
	fettle.CeramicGeneral: 8,
	fettle.CeramicFine:    4,
	fettle.PlasticGeneral: 12,
	fettle.PlasticFine:    14,
	fettle.Porcelain:      4,
	fettle.Steel:          3,
	fettle.Cob:            1.5,
	fettle.Walnut:         1.2,
}

// sizeFactor is the size of media as they are now, after the hours that they have
// run, over that of usual ones of their kind; 1 where either is not known.
func sizeFactor(m fettle.Media) float64 {
	usual := usualMM[m.Kind]
	size := middleMM(m)
	if !(usual > 0) || !(size > 0) {
		return 1
	}
	return ShareNow(m) * size / usual
}

// middleMM is the size of a new piece as one number.
func middleMM(m fettle.Media) float64 {
	if m.Shape == fettle.Sphere || m.Shape == fettle.Tetra {
		return m.SizeMM[0]
	}
	return math.Sqrt(m.SizeMM[0] * m.SizeMM[1])
}

// ShareNow is what media have left of their new size after the hours that they have
// run, as in a bowl; what is worn further has been thrown out.
func ShareNow(m fettle.Media) float64 {
	if !(m.HoursRun > 0) {
		return 1
	}
	return math.Max(m.WornShare(), SizeAfter(m.HoursRun, m.WearBowlPctH.Value))
}
