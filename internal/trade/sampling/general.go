package sampling

import (
	"slices"
	"strings"

	"fettle"
)

// sizesTo are the upper ends of the ranges of nominal sizes in ISO 2768-1:1989, table
// 1, mm; the first begins at 0.5.
var sizesTo = []float64{3, 6, 30, 120, 400, 1000, 2000, 4000}

// generals are its deviations in mm, by class; 0 where it gives none.
var generals = map[string][]float64{
	"f": {0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0},
	"m": {0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2},
	"c": {0.2, 0.3, 0.5, 0.8, 1.2, 2, 3, 4},
	"v": {0, 0.5, 1, 1.5, 2.5, 4, 6, 8},
}

func parseGeneral(s string) ([]float64, error) {
	class := strings.ToLower(strings.TrimSpace(s))
	if class == "" {
		return nil, nil
	}
	g, ok := generals[class]
	if !ok {
		return nil, fettle.Errorf(fettle.Invalid, "general tolerances of class %q are not known; choose f, m, c or v as on the drawing", s)
	}
	return g, nil
}

// deviation is how far a size may be off its nominal, mm; 0 where the class gives none.
func deviation(general []float64, mm float64) float64 {
	if general == nil || mm < 0.5 {
		return 0
	}
	i := slices.IndexFunc(sizesTo, func(to float64) bool { return mm <= to })
	if i < 0 {
		return 0
	}
	return general[i]
}
