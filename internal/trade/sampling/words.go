package sampling

import (
	"fmt"
	"strconv"

	"fettle"
)

var units = map[fettle.ReadingKind]string{
	fettle.ReadRa: "µm", fettle.ReadRz: "µm", fettle.ReadSq: "µm", fettle.ReadGloss: "GU",
	fettle.ReadGrams: "g", fettle.ReadMicron: "µm", fettle.ReadJammed: "pieces",
}

var names = map[fettle.ReadingKind]string{
	fettle.ReadRa: "Ra", fettle.ReadRz: "Rz", fettle.ReadSq: "Sq", fettle.ReadGloss: "gloss at 60°",
	fettle.ReadGrade: "grade on the comparison plate", fettle.ReadMarkGone: "older marks", fettle.ReadJammed: "pieces that hold media",
	fettle.ReadGrams: "loss of weight", fettle.ReadMicron: "loss across two faces", fettle.ReadMinutes: "minutes by hand",
}

// Value shows what a reading of a kind says, with its unit, in a person's units.
func Value(k fettle.ReadingKind, v float64, sys fettle.System) string {
	switch k {
	case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq:
		return sys.Height(v)
	case fettle.ReadGloss:
		return strconv.FormatFloat(v, 'f', 0, 64) + " GU" // ISO 2813
	case fettle.ReadGrade:
		return "N" + strconv.FormatFloat(v, 'f', -1, 64)
	case fettle.ReadGrams:
		return sys.Mass(v)
	case fettle.ReadMicron:
		return sys.Fine(v)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// Limit shows the bound of a limit: like [Value], but to three figures where the
// drawing or the look gives as many.
func Limit(k fettle.ReadingKind, v float64, sys fettle.System) string {
	switch k {
	case fettle.ReadRa, fettle.ReadRz, fettle.ReadSq:
		if sys == fettle.Inch {
			return figures(v/umPerMicroinch) + " µin"
		}
		return figures(v) + " µm"
	}
	return Value(k, v, sys)
}

// umPerMicroinch is exact by definition.
const umPerMicroinch = 0.0254

// figures shows three figures without trailing zeros.
func figures(v float64) string {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// round2 keeps two figures of a bound, in the unit that it is printed in.
func round2(k fettle.ReadingKind, v float64, sys fettle.System) float64 {
	unit := 1.0
	if sys == fettle.Inch && k != fettle.ReadGloss {
		unit = umPerMicroinch
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v/unit, 'g', 2, 64), 64)
	return r * unit
}

func (l *limiter) value(k fettle.ReadingKind, v float64) string { return Value(k, v, l.sys) }

// says is a limit in words.
func (l *limiter) says(a fettle.AcceptLimit) string {
	held := ""
	v := func(x float64) string { return Limit(a.Kind, x, l.sys) }
	switch {
	case a.Kind == fettle.ReadMarkGone:
		if a.Low == nil {
			return "older marks no worse than on the sample"
		}
		return "older marks must be gone"
	case a.Kind == fettle.ReadJammed:
		return "no piece holds media"
	case a.Low != nil && a.High != nil:
		held = fmt.Sprintf("%s from %s to %s", names[a.Kind], v(*a.Low), v(*a.High))
	case a.High != nil:
		held = fmt.Sprintf("%s at most %s", names[a.Kind], v(*a.High))
	case a.Low != nil:
		held = fmt.Sprintf("%s at least %s", names[a.Kind], v(*a.Low))
	default:
		return fmt.Sprintf("%s of the sample was %s; no limit", names[a.Kind], l.value(a.Kind, a.Sample))
	}
	switch a.N {
	case 0:
		return held
	case 1:
		return fmt.Sprintf("%s; the sample read %s, once", held, l.value(a.Kind, a.Sample))
	}
	return fmt.Sprintf("%s; the sample read %s, the mean of %d", held, l.value(a.Kind, a.Sample), a.N)
}
