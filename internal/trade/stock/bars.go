package stock

import "fettle"

// barMM is the length in which bars are sold to a small shop.
const barMM = 1000

// flats are common sizes of metric flat bar, thickness and widths in mm; from memory.
// Their prices are those of the metal.
var flats = []struct {
	thick float64
	wide  []float64
}{
	{5, []float64{20, 30, 40, 50, 60, 80}},
	{6, []float64{20, 25, 30, 40, 50, 60, 80, 100}},
	{8, []float64{20, 30, 40, 50, 60, 80}},
	{10, []float64{20, 25, 30, 40, 50, 60, 80, 100}},
	{12, []float64{25, 30, 40, 50, 60, 80}},
	{15, []float64{20, 30, 40, 50, 60, 80}},
	{20, []float64{25, 30, 40, 50, 60, 80, 100}},
	{25, []float64{40, 50, 60, 80}},
	{30, []float64{40, 50, 60, 80}},
	{40, []float64{50, 60, 80}},
}

// Common sides and diameters of bar, mm; from memory.
var (
	squares = []float64{10, 12, 15, 20, 25, 30, 35, 40, 50}
	rounds  = []float64{10, 12, 16, 20, 25, 30, 40, 50, 60}
)

// few are the thicknesses in which a metal is sold that is dear to keep.
var few = map[float64]bool{6: true, 10: true, 12: true, 20: true, 25: true}

// sold are the sizes in which a metal is bought: bronze in rounds, titanium in few
// flats and squares, magnesium by the blank.
func sold(m fettle.Material) []fettle.StockSize {
	var out []fettle.StockSize
	if m.Name == "AZ31" {
		return nil
	}
	if m.Name != "bearing bronze" {
		for _, f := range flats {
			if m.Class == fettle.ClassTitanium && !few[f.thick] {
				continue
			}
			for _, w := range f.wide {
				out = append(out, fettle.StockSize{SectionMM: [2]float64{f.thick, w}, LengthMM: barMM})
			}
		}
		for _, a := range squares {
			if m.Class == fettle.ClassTitanium && !few[a] {
				continue
			}
			out = append(out, fettle.StockSize{SectionMM: [2]float64{a, a}, LengthMM: barMM})
		}
	}
	for _, d := range rounds {
		out = append(out, fettle.StockSize{SectionMM: [2]float64{d, d}, Round: true, LengthMM: barMM})
	}
	return out
}
