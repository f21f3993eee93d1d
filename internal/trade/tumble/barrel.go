package tumble

import (
	"math"

	"fettle"
)

// CriticalRPM is the speed at which pieces of size d mm in a horizontal barrel
// of inside diameter D mm are carried all the way round and no longer tumble:
// (30/π)·√(2g/(D − d)), or 42.29/√(D − d) with metres. It fails where a piece
// does not fit.
func CriticalRPM(diameterMM, pieceMM float64) (float64, error) {
	if !(pieceMM >= 0) || !(diameterMM > pieceMM) || math.IsInf(diameterMM, 0) {
		return 0, fettle.Errorf(fettle.Invalid, "pieces of %g mm do not tumble in a barrel of %g mm; check its inside diameter on the shelf", pieceMM, diameterMM)
	}
	const g = 9.80665 // m/s², standard gravity
	return 30 / math.Pi * math.Sqrt(2*g/((diameterMM-pieceMM)/1000)), nil
}

// Froude is the ratio of the load's acceleration to gravity, as the square of
// the share of critical speed.
func Froude(rpm, criticalRPM float64) float64 {
	if criticalRPM <= 0 {
		return 0
	}
	return rpm * rpm / (criticalRPM * criticalRPM)
}

// WallSpeed is the speed of a barrel's wall in m/min.
func WallSpeed(diameterMM, rpm float64) float64 { return math.Pi * diameterMM / 1000 * rpm }

// Shares of critical speed. Above the first, pieces fall instead of sliding, and
// dent each other; barrels that only cut run at the second.
const (
	cosmeticShare = 0.30
	cuttingShare  = 0.50
)

// Gas is what hydrogen does in a closed vessel.
type Gas struct {
	LitresSTP float64 // freed, at 0 °C and 1 atm
	RiseKPa   float64
	Share     float64 // of the gas by volume; from 0.04 it can burn
}

// HydrogenIn is the gas when grams of fines have reacted with water in a vessel
// with a closed head space of litres at 20 °C; perGram is the metal's yield in
// litres a gram. It fails where there is no head space.
func HydrogenIn(grams, perGram, headL float64) (Gas, error) {
	if !(headL > 0) || !(grams >= 0) || !(perGram >= 0) {
		return Gas{}, fettle.Errorf(fettle.Invalid, "%g g of fines and a head space of %g l are not possible", grams, headL)
	}
	const (
		molarL  = 22.414  // l/mol at 0 °C and 1 atm
		gasR    = 8.31446 // J/(mol K)
		room    = 293.15  // K
		ambient = 101.325 // kPa
	)
	litres := grams * perGram
	rise := litres / molarL * gasR * room / headL // J/l is kPa
	return Gas{LitresSTP: litres, RiseKPa: rise, Share: rise / (ambient + rise)}, nil
}

// Fines is the metal in grams that a removal of um takes from a surface of
// area mm², at a density in g/cm³.
func Fines(um, areaMM2, density float64) float64 { return um / 1000 * areaMM2 / 1000 * density }

// RemovalFromMass is the inverse: the mean removal in µm that a loss of grams
// from a surface means. A kitchen scale measures it.
func RemovalFromMass(grams, areaMM2, density float64) float64 {
	if !(areaMM2 > 0) || !(density > 0) {
		return 0
	}
	return grams / density * 1e6 / areaMM2
}

// Venting: hydrogen burns in air from 4 % by volume; a closed barrel is opened
// every 12 hours whatever runs in it; and nobody opens one more often than every
// half hour, so faster gas calls for an open vessel.
const (
	burnsFrom   = 0.04
	ventAtMost  = 12.0
	ventAtLeast = 0.5
)

// ventEvery is the hours between openings of a closed wet vessel, if all fines
// react at once, which they do not: the cautious side.
func ventEvery(gramsPerH, perGram, headL float64) float64 {
	if !(gramsPerH > 0) || !(perGram > 0) {
		return ventAtMost
	}
	hour, err := HydrogenIn(gramsPerH, perGram, headL)
	if err != nil {
		return ventAtLeast
	}
	// The share grows a little slower than linearly; linear is cautious.
	h := burnsFrom / math.Max(hour.Share, 1e-9)
	if hour.Share > burnsFrom {
		// Within the first hour: solve in pressure, which is linear.
		h = 101.325 * burnsFrom / (1 - burnsFrom) / hour.RiseKPa
	}
	return math.Min(ventAtMost, math.Max(ventAtLeast, math.Floor(h*2)/2))
}
