package texture

import "math"

// Setting is a class of settings for a roughness measurement.
type Setting struct {
	Class                            string
	CutoffMM, ShortCutoffMM          float64 // λc, λs
	SpacingMM, TipRadiusMM           float64 // greatest distance of points, radius of the stylus
	SectionMM, EvaluationMM          float64
	Sections                         int
	periodicMM, otherRaUM, otherRzUM float64 // upper limits of ISO 4288
}

// Settings are the classes Sc1 to Sc5 of ISO 21920-3 with five sections each,
// and beside them, up to which spacing of a periodic profile and which Ra or Rz
// of another ISO 4288 chose the cut-off. Both as secondary sources give them
// and partly from memory: those differ on the limits of Rz.
var Settings = []Setting{
	{"Sc1", 0.08, 0.0025, 0.0005, 0.002, 0.08, 0.40, 5, 0.04, 0.02, 0.1},
	{"Sc2", 0.25, 0.0025, 0.0005, 0.002, 0.25, 1.25, 5, 0.13, 0.1, 0.5},
	{"Sc3", 0.80, 0.0025, 0.0005, 0.002, 0.80, 4.00, 5, 0.4, 2, 10},
	{"Sc4", 2.50, 0.0080, 0.0015, 0.005, 2.50, 12.5, 5, 1.3, 10, 50},
	{"Sc5", 8.00, 0.0250, 0.0050, 0.010, 8.00, 40.0, 5, 4, 80, 200},
}

// spacingsPerCutoff is how many spacings of a periodic profile a cut-off must
// hold, or the filter takes the very marks away that were to be measured: at 2.5
// spacings 2^−6.25, 1.3 %, of the fundamental goes to the waviness.
const spacingsPerCutoff = 2.5

// CutoffFor chooses the class for a profile with spacing Rsm, mm, where that is
// known (a periodic one), else for its Ra, µm; 0 stands for not known. For a
// periodic profile the cut-off is at least 2.5 spacings. Where no class reaches
// so far the last is given, with ok false; so is that of an unknown profile,
// which is the middle one.
func CutoffFor(rsmMM, raUM float64) (s Setting, ok bool) {
	switch {
	case rsmMM > 0:
		for _, s := range Settings {
			if rsmMM <= s.periodicMM && s.CutoffMM >= spacingsPerCutoff*rsmMM*(1-1e-9) {
				return s, true
			}
		}
	case raUM > 0:
		for _, s := range Settings {
			if raUM <= s.otherRaUM {
				return s, true
			}
		}
	default:
		return Settings[2], false
	}
	return Settings[len(Settings)-1], false
}

// CutoffForRz chooses as [CutoffFor] does for a profile that is not periodic,
// from its Rz in µm.
func CutoffForRz(rzUM float64) (s Setting, ok bool) {
	if !(rzUM > 0) {
		return Settings[2], false
	}
	for _, s := range Settings {
		if rzUM <= s.otherRzUM {
			return s, true
		}
	}
	return Settings[len(Settings)-1], false
}

// KeepsSpacing says whether a cut-off leaves marks of that spacing in the
// roughness, both in mm.
func KeepsSpacing(cutoffMM, spacingMM float64) bool {
	return math.Abs(spacingMM)*spacingsPerCutoff <= cutoffMM*(1+1e-9)
}
