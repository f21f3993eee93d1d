package stock

import (
	"math"
	"strconv"

	"fettle"
)

// Grain sizes in µm from a published table of grades (ISO 6344 for P, ANSI
// B74.18 for CAMI), read. The scales part company above about 220: CAMI 400 is
// P800, CAMI 600 is P1200.
var (
	pGrains = [][2]float64{
		{80, 201}, {100, 162}, {120, 125}, {150, 100}, {180, 82}, {220, 68}, {240, 60}, {280, 52}, {320, 46},
		{360, 40}, {400, 35}, {500, 30}, {600, 26}, {800, 22}, {1000, 18}, {1200, 15}, {1500, 13}, {2000, 10},
	}
	camiGrains = [][2]float64{{120, 116}, {220, 68}, {320, 35}, {400, 22}, {600, 15}}
)

// What a grit leaves, from its mean grain d in µm: a fit to a published table
// of ground austenitic stainless, measured across the lay. Another table of
// practice lies up to four times higher and hardly ever lower, and the bounds
// take it in.
const (
	roughness = "fit to ground austenitic stainless across the lay (Lexikon der Pharmatechnologie, 2013); other tables differ by 2 to 4 times"

	raScale, raPower = 0.00407, 1.116
	rzScale, rzPower = 0.00523, 1.335

	roughnessBelow, roughnessAbove = 2.0, 4.0
)

func scratch(scale, power, grain float64) fettle.Estimate {
	v := scale * math.Pow(grain, power)
	return fettle.Guess(v, v/roughnessBelow, v*roughnessAbove, roughness)
}

func grits() []fettle.Grit {
	var out []fettle.Grit
	add := func(scale fettle.GritScale, prefix, standard string, rows [][2]float64) {
		for _, row := range rows {
			out = append(out, grit(scale, prefix, standard, int(row[0]), row[1]))
		}
	}
	add(fettle.ScaleP, "P", "ISO 6344", pGrains)
	add(fettle.ScaleCAMI, "CAMI ", "ANSI B74.18", camiGrains)
	return out
}

// grit makes a sheet. Paper is its backing and glue, 0.117 mm for A weight
// and 0.06 mm more for C, and 0.9 of a grain.
func grit(scale fettle.GritScale, prefix, standard string, number int, grain float64) fettle.Grit {
	backing, under := "A weight paper", 0.117
	if grain > 130 {
		backing, under = "C weight paper", 0.177
	}
	thick := under + 0.9*grain/1000
	return fettle.Grit{
		Name: prefix + strconv.Itoa(number), Scale: scale, Number: number, GrainUM: grain,
		Backing:    backing,
		ThickMM:    fettle.Guess(thick, thick*0.8, thick*1.2, "starting guess: measure a stack of ten sheets"),
		RaUM:       scratch(raScale, raPower, grain),
		RzUM:       scratch(rzScale, rzPower, grain),
		PriceSheet: about(1, 2),
		Basis:      "mean grain: published table of grades (" + standard + "), read",
	}
}
