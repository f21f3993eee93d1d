package price

import (
	"fmt"
	"math"

	"fettle"
)

// Stock is the blank, and the bars it is cut from, with what to saw in a sentence.
func (j Job) Stock() fettle.Stock {
	st, _ := j.blank()
	return st
}

// blank finds the blank and the bar; nil where it is bought by its own weight.
func (j Job) blank() (fettle.Stock, *Bar) {
	var st fettle.Stock
	v := 1.0
	for i, x := range j.PartMM {
		st.SizeMM[i] = math.Ceil(x + 2*j.Rates.StockOverMM)
		v *= st.SizeMM[i]
	}
	b, ok := ChooseBar(Cut{Blank: st.SizeMM, Lot: j.Lot, KerfMM: j.Rates.KerfMM, DropShare: j.Rates.DropShare, PerMM3: j.millingPerMM3()}, j.Material)
	if !ok {
		st.Kg = v / 1e6 * j.Material.Density
		st.Says = fmt.Sprintf("saw %s of %s, %s each", blanks(j.Lot), box(st.SizeMM, j.System), j.System.Mass(st.Kg*1000))
		if len(j.Material.Sold) > 0 {
			st.Says += "; no size on the list of bars covers it"
		}
		return st, nil
	}
	st.SizeMM, st.CutMM = b.SizeMM, b.CutMM
	st.Kg = b.VolumeMM3() / 1e6 * j.Material.Density
	st.PerBar, st.Bars, st.DropMM = b.PerBar, b.Bars, b.DropMM
	st.Bar = &fettle.StockSize{SectionMM: b.Size.SectionMM, Round: b.Size.Round, LengthMM: b.Size.LengthMM}
	what := box(st.SizeMM, j.System)
	if b.Size.Round {
		what = j.System.Length(b.Size.SectionMM[0]) + " diameter × " + j.System.Length(b.CutMM)
	}
	of := fmt.Sprintf("one %s of %s", formOf(b.Size), measures(b.Size, j.System))
	if b.Bars > 1 {
		of = fmt.Sprintf("%d %ss of %s", b.Bars, formOf(b.Size), measures(b.Size, j.System))
	}
	st.Says = fmt.Sprintf("saw %s of %s, %s each, from %s, cuts of %s with a kerf of %s; %s left over", blanks(j.Lot), what, j.System.Mass(st.Kg*1000), of,
		j.System.Length(b.CutMM), j.System.Length(j.Rates.KerfMM), j.System.Length(b.DropMM))
	return st, &b
}

// millingPerMM3 is what the mill and its cutter cost for a cubic millimetre milled away.
func (j Job) millingPerMM3() float64 {
	perH := j.Mill.RatePerH.Value
	if j.Rough != nil {
		perH += CutterPerH(*j.Rough, j.Material).Value
	}
	return j.Rates.RoughMinCM3.Value / 1000 * j.hardness() / 60 * perH
}

func blanks(n int) string {
	if n == 1 {
		return "one blank"
	}
	return fmt.Sprintf("%d blanks", n)
}

func box(mm [3]float64, sys fettle.System) string {
	return fmt.Sprintf("%s × %s × %s", sys.Length(mm[0]), sys.Length(mm[1]), sys.Length(mm[2]))
}

// formOf names a bar by its section.
func formOf(z fettle.StockSize) string {
	switch {
	case z.Round:
		return "round bar"
	case z.SectionMM[0] == z.SectionMM[1]:
		return "square bar"
	}
	return "flat bar"
}

// measures are those of a whole bar.
func measures(z fettle.StockSize, sys fettle.System) string {
	if z.Round {
		return fmt.Sprintf("%s × %s", sys.Length(z.SectionMM[0]), sys.Length(z.LengthMM))
	}
	return box([3]float64{z.SectionMM[0], z.SectionMM[1], z.LengthMM}, sys)
}
