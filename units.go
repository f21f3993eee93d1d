package fettle

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// MMPerInch is exact by definition (international yard, 1959).
const MMPerInch = 25.4

// System is the family of units in which a person reads numbers. It never
// changes what is computed or stored.
type System string

// The two systems a shop can choose between, once, for everything it sees.
const (
	Metric System = "metric"
	Inch   System = "inch"
)

// ParseSystem reads a system's name; empty means metric.
func ParseSystem(s string) (System, error) {
	switch strings.ToLower(s) {
	case "", "metric", "mm":
		return Metric, nil
	case "inch", "in", "imperial":
		return Inch, nil
	}
	return "", Errorf(Invalid, "display units %q are not known; choose metric or inch", s)
}

// Length shows a length in mm ("42.00 mm") or inches ("1.654 in"), to the
// resolution a machinist works with: hundredths of a millimetre, thou.
func (s System) Length(mm float64) string {
	if s == Inch {
		return strconv.FormatFloat(mm/MMPerInch, 'f', 3, 64) + " in"
	}
	return strconv.FormatFloat(mm, 'f', 2, 64) + " mm"
}

// About shows a length that is summed up or aimed at, to three figures.
func (s System) About(mm float64) string {
	if s == Inch {
		return sig(mm/MMPerInch, 3) + " in"
	}
	return sig(mm, 3) + " mm"
}

// Small shows a stepover or a spacing: micrometres and tenths of a thou count.
func (s System) Small(mm float64) string {
	if s == Inch {
		return strconv.FormatFloat(mm/MMPerInch, 'f', 4, 64) + " in"
	}
	return strconv.FormatFloat(mm, 'f', 3, 64) + " mm"
}

// Fine shows a small length such as an allowance: micrometres, or thou with
// tenths.
func (s System) Fine(um float64) string {
	if s == Inch {
		return sig(um/25.4, 2) + " thou"
	}
	return sig(um, 2) + " µm"
}

// Height shows a height of texture: micrometres or microinches.
func (s System) Height(um float64) string {
	if s == Inch {
		return sig(um/0.0254, 2) + " µin"
	}
	return sig(um, 2) + " µm"
}

// Range shows an estimate of texture height with its interval:
// "0.80 µm (0.50–1.3)".
func (s System) Range(e Estimate) string {
	k, unit := 1.0, " µm"
	if s == Inch {
		k, unit = 1/0.0254, " µin"
	}
	return fmt.Sprintf("%s%s (%s–%s)", sig(e.Value*k, 2), unit, sig(e.Low*k, 2), sig(e.High*k, 2))
}

// lengths finds lengths and areas in a sentence: "3.97 × 6.35 mm", "0.2–0.5 mm",
// "190 mm²", "10 µm", the volumes and feeds that begin like them, litres and
// millilitres, grams and kilograms.
var lengths = regexp.MustCompile(`(\d+(?:\.\d+)?(?:(?: × |–)\d+(?:\.\d+)?)*) (mm²|mm³|mm/min|mm|µm|ml\b|l\b|kg\b|g\b)`)

// single is one number of such a row.
var single = regexp.MustCompile(`\d+(?:\.\d+)?`)

// Reword turns the lengths, areas and liquids of a metric sentence into this
// system. What the trade says of a part is written in millimetres; who shows it
// rewords it.
func (s System) Reword(text string) string {
	if s != Inch {
		return text
	}
	return lengths.ReplaceAllStringFunc(text, func(found string) string {
		m := lengths.FindStringSubmatch(found)
		show := map[string]func(float64) string{
			"mm": s.Length, "mm²": s.Area, "mm³": s.Volume, "mm/min": s.Feed, "µm": s.Fine, "l": s.Liquid, "ml": s.Dose,
			"g": s.Mass, "kg": func(kg float64) string { return s.Mass(1000 * kg) },
		}[m[2]]
		row := single.FindAllString(m[1], -1)
		last, _ := strconv.ParseFloat(row[len(row)-1], 64)
		_, unit, _ := strings.Cut(show(last), " ")
		i := 0
		return single.ReplaceAllStringFunc(m[1], func(one string) string {
			v, _ := strconv.ParseFloat(one, 64)
			i++
			if i == len(row) {
				return show(v)
			}
			return strings.TrimSuffix(show(v), " "+unit) // which stands once where all have it
		})
	})
}

// Area shows an area in cm² or in².
func (s System) Area(mm2 float64) string {
	if s == Inch {
		return sig(mm2/(MMPerInch*MMPerInch), 3) + " in²"
	}
	return sig(mm2/100, 3) + " cm²"
}

// Volume shows a volume in cm³ or in³.
func (s System) Volume(mm3 float64) string {
	if s == Inch {
		return sig(mm3/(MMPerInch*MMPerInch*MMPerInch), 3) + " in³"
	}
	return sig(mm3/1000, 3) + " cm³"
}

// Feed shows a feed: millimetres or inches a minute.
func (s System) Feed(mmMin float64) string {
	if s == Inch {
		return sig(mmMin/MMPerInch, 2) + " in/min"
	}
	return sig(mmMin, 2) + " mm/min"
}

// Mass shows grams, kilograms, ounces or pounds.
func (s System) Mass(g float64) string {
	switch {
	case s == Inch && g >= 453.59237:
		return sig(g/453.59237, 3) + " lb"
	case s == Inch:
		return sig(g/28.349523125, 3) + " oz"
	case g >= 1000:
		return sig(g/1000, 3) + " kg"
	}
	return sig(g, 3) + " g"
}

// Liquid shows litres or US quarts.
func (s System) Liquid(l float64) string {
	if s == Inch {
		return sig(l/0.946352946, 2) + " qt"
	}
	return sig(l, 2) + " l"
}

// Dose shows millilitres or US fluid ounces.
func (s System) Dose(ml float64) string {
	if s == Inch {
		return sig(ml/29.5735295625, 2) + " fl oz"
	}
	return sig(ml, 2) + " ml"
}

// Minutes shows a duration a person plans with: "35 min", "2 h 15 min", "9 h".
func Minutes(m float64) string {
	switch {
	case m < 0.95:
		return sig(m*60, 2) + " s"
	case m < 9.5:
		return sig(m, 2) + " min"
	case m < 90:
		return strconv.Itoa(int(math.Round(m))) + " min"
	case m < 8*60:
		q := int(math.Round(m/5)) * 5
		if q%60 == 0 {
			return strconv.Itoa(q/60) + " h"
		}
		return fmt.Sprintf("%d h %d min", q/60, q%60)
	}
	return sig(m/60, 2) + " h"
}

// sig rounds to n significant figures without an exponent and keeps trailing
// zeros that are significant ("0.80").
func sig(v float64, n int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	mag := int(math.Floor(math.Log10(math.Abs(v))))
	p := math.Pow(10, float64(mag-n+1))
	if r := math.Round(v / p); math.Abs(r) >= math.Pow(10, float64(n)) {
		mag++
	}
	if digits := n - 1 - mag; digits > 0 {
		return strconv.FormatFloat(v, 'f', digits, 64)
	}
	p = math.Pow(10, float64(mag-n+1))
	return strconv.FormatFloat(math.Round(v/p)*p, 'f', 0, 64)
}

// LengthUnit is a unit that a model file's numbers may be in, as millimetres
// per unit.
type LengthUnit struct {
	Name string
	MM   float64
}

// LengthUnits are the units that model files use; names are those a user may
// give.
var LengthUnits = []LengthUnit{
	{"mm", 1}, {"inch", MMPerInch}, {"m", 1000}, {"cm", 10}, {"micron", 0.001}, {"ft", 12 * MMPerInch},
}

// ParseLengthUnit reads the name of a unit, with the usual aliases.
func ParseLengthUnit(s string) (LengthUnit, error) {
	name := strings.ToLower(strings.TrimSpace(s))
	switch name {
	case "millimeter", "millimetre":
		name = "mm"
	case "in", "inches":
		name = "inch"
	case "meter", "metre":
		name = "m"
	case "centimeter", "centimetre":
		name = "cm"
	case "um", "µm", "micrometer", "micrometre":
		name = "micron"
	case "foot", "feet":
		name = "ft"
	}
	for _, u := range LengthUnits {
		if u.Name == name {
			return u, nil
		}
	}
	return LengthUnit{}, Errorf(Invalid, "unit %q is not known; use mm, inch, m, cm, micron or ft", s)
}
