package price

import (
	"math"

	"fettle"
)

// Bar is how a lot's blanks are cut from bars of one size.
type Bar struct {
	Size fettle.StockSize
	// Along is the part's axis that lies along the bar; CutMM the blank's length there,
	// SizeMM the blank along the part's own axes: the bar's section is cut into, not cut.
	Along  int
	CutMM  float64
	SizeMM [3]float64
	// PerBar is how many blanks a bar gives, Bars how many are bought, InLast how many
	// blanks come from the last and DropMM what is left of it.
	PerBar, Bars, InLast int
	DropMM               float64
	// Paid is how many bars the lot pays.
	Paid float64
	// Each is what one bar costs, in major units.
	Each fettle.Estimate
}

// VolumeMM3 is that of a blank.
func (b Bar) VolumeMM3() float64 { return b.Size.AreaMM2() * b.CutMM }

// Cut says how bars are cut and paid.
type Cut struct {
	Blank     [3]float64 // the least that a blank may measure, along the part's axes
	Lot       int
	KerfMM    float64
	DropShare float64
	// PerMM3 is what it costs to mill a cubic millimetre away, in major units: a bar
	// that is far too large is cheap only until it is milled.
	PerMM3 float64
}

// ChooseBar finds the size and the way to cut it that take the least money for the
// metal and for milling away what is over; false where no size covers the blank. Among
// equals the first size is taken, and the longest side of the blank along it.
func ChooseBar(c Cut, m fettle.Material) (best Bar, ok bool) {
	var least float64
	for _, size := range m.Sold {
		for along := range 3 {
			b, fits := cutFrom(size, along, c)
			if !fits {
				continue
			}
			b.Each = barPrice(size, m)
			money := b.Paid*b.Each.Value + float64(c.Lot)*b.VolumeMM3()*c.PerMM3
			better := !ok || money < least*(1-1e-12)
			same := ok && !better && money <= least*(1+1e-12) && size == best.Size && b.CutMM > best.CutMM
			if better || same {
				best, least, ok = b, money, true
			}
		}
	}
	return best, ok
}

// cutFrom cuts the blank from a size with one of its axes along the bar.
//
// A bar gives as many blanks as there are whole times that one and a kerf go into the
// bar and a kerf: the last blank needs no cut where nothing is left. The end of a bar
// that gives no blank is shared by the bar's blanks; the blanks that the last bar would
// still give are paid by the drop share. So a lot never costs less than a smaller one,
// and ten times the lot never more than ten times the money.
func cutFrom(size fettle.StockSize, along int, c Cut) (Bar, bool) {
	b := Bar{Size: size, Along: along, CutMM: c.Blank[along], SizeMM: c.Blank}
	u, v := (along+1)%3, (along+2)%3
	across, up := c.Blank[u], c.Blank[v]
	const eps = 1e-9
	if size.Round {
		d := size.SectionMM[0]
		if math.Hypot(across, up) > d*(1+eps) {
			return b, false
		}
		b.SizeMM[u], b.SizeMM[v] = d, d
	} else {
		thin, wide := math.Min(size.SectionMM[0], size.SectionMM[1]), math.Max(size.SectionMM[0], size.SectionMM[1])
		if math.Min(across, up) > thin*(1+eps) || math.Max(across, up) > wide*(1+eps) {
			return b, false
		}
		b.SizeMM[u], b.SizeMM[v] = thin, wide
		if across > up {
			b.SizeMM[u], b.SizeMM[v] = wide, thin
		}
	}
	b.PerBar = int((size.LengthMM + c.KerfMM) / (b.CutMM + c.KerfMM) * (1 + eps))
	if b.PerBar < 1 {
		return b, false
	}
	b.Bars = (c.Lot + b.PerBar - 1) / b.PerBar
	b.InLast = c.Lot - (b.Bars-1)*b.PerBar
	b.DropMM = math.Max(0, size.LengthMM-float64(b.InLast)*(b.CutMM+c.KerfMM))
	used := float64(c.Lot) / float64(b.PerBar)
	b.Paid = used + c.DropShare*(float64(b.Bars)-used)
	return b, true
}

// barPrice is what a whole bar costs: its own price, or by its weight.
func barPrice(size fettle.StockSize, m fettle.Material) fettle.Estimate {
	if size.PriceEach.Value > 0 {
		return size.PriceEach
	}
	kg := size.PricePerKg
	if kg.Value <= 0 {
		kg = m.PricePerKg
	}
	return kg.Scale(barKg(size, m))
}

// barKg is what a whole bar weighs.
func barKg(size fettle.StockSize, m fettle.Material) float64 {
	return size.AreaMM2() * size.LengthMM / 1e6 * m.Density
}
