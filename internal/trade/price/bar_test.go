package price

import (
	"math"
	"strings"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// sawn is how many blanks come off a bar, and what is left, cut by cut.
func sawn(length, cut, kerf float64, most int) (n int, rest float64) {
	rest = length
	for n < most && rest > cut*(1-1e-9) {
		n++
		rest = math.Max(0, rest-cut-kerf)
	}
	return n, rest
}

func drawBars(t *rapid.T) (Cut, fettle.Material) {
	mm := func(label string, lo, hi int) float64 { return float64(rapid.IntRange(lo, hi).Draw(t, label)) }
	c := Cut{
		Blank: [3]float64{mm("x", 2, 60), mm("y", 2, 60), mm("z", 2, 60)}, Lot: rapid.IntRange(1, 300).Draw(t, "lot"),
		KerfMM: mm("kerf", 0, 4), DropShare: rapid.Float64Range(0, 1).Draw(t, "drop"), PerMM3: rapid.Float64Range(0, 1e-3).Draw(t, "milling"),
	}
	m := fettle.Material{Density: rapid.Float64Range(1, 9).Draw(t, "density"), PricePerKg: sure(rapid.Float64Range(1, 90).Draw(t, "kg"))}
	for range rapid.IntRange(0, 6).Draw(t, "sizes") {
		z := fettle.StockSize{SectionMM: [2]float64{mm("thick", 2, 60), mm("wide", 2, 90)}, LengthMM: mm("length", 20, 1200)}
		if rapid.Bool().Draw(t, "round") {
			z.Round, z.SectionMM[1] = true, z.SectionMM[0]
		}
		switch rapid.IntRange(0, 2).Draw(t, "sold by") {
		case 1:
			z.PriceEach = sure(rapid.Float64Range(1, 500).Draw(t, "each"))
		case 2:
			z.PricePerKg = sure(rapid.Float64Range(1, 90).Draw(t, "own kg"))
		}
		m.Sold = append(m.Sold, z)
	}
	return c, m
}

// The bar that is chosen is the best of all sizes and all six ways to lay the blank in
// them, sawn cut by cut.
func TestBarsEqualBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, m := drawBars(t)
		best := math.Inf(1)
		for _, z := range m.Sold {
			for _, o := range [][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
				a, b, cut := c.Blank[o[0]], c.Blank[o[1]], c.Blank[o[2]]
				area := z.SectionMM[0] * z.SectionMM[1]
				if z.Round {
					area = math.Pi * z.SectionMM[0] * z.SectionMM[0] / 4
					if a*a+b*b > z.SectionMM[0]*z.SectionMM[0]*(1+1e-12) {
						continue
					}
				} else if a > z.SectionMM[0] || b > z.SectionMM[1] {
					continue
				}
				per, _ := sawn(z.LengthMM, cut, c.KerfMM, 1<<30)
				if per == 0 {
					continue
				}
				price := z.PriceEach.Value
				if price == 0 {
					kg := z.PricePerKg.Value
					if kg == 0 {
						kg = m.PricePerKg.Value
					}
					price = kg * area * z.LengthMM * m.Density / 1e6
				}
				// Whole bars, and of the last one the blanks taken and a share of those not.
				full, last := c.Lot/per, c.Lot%per
				paid := float64(full)
				if last > 0 {
					taken := float64(last) / float64(per)
					paid += taken + c.DropShare*(1-taken)
				}
				best = math.Min(best, paid*price+float64(c.Lot)*area*cut*c.PerMM3)
			}
		}
		b, ok := ChooseBar(c, m)
		if ok != !math.IsInf(best, 1) {
			t.Fatalf("a bar is found: %v, by trying all: %g", ok, best)
		}
		if !ok {
			return
		}
		if got := b.Paid*b.Each.Value + float64(c.Lot)*b.VolumeMM3()*c.PerMM3; math.Abs(got-best) > 1e-9*best {
			t.Fatalf("%+v costs %g, the best %g", b, got, best)
		}
		n, rest := sawn(b.Size.LengthMM, b.CutMM, c.KerfMM, b.InLast)
		if n != b.InLast || math.Abs(rest-b.DropMM) > 1e-9 || (b.Bars-1)*b.PerBar+b.InLast != c.Lot || b.InLast < 1 || b.InLast > b.PerBar {
			t.Fatalf("%+v: the last bar gives %d and leaves %g", b, n, rest)
		}
		for i, x := range c.Blank {
			if b.SizeMM[i] < x*(1-1e-9) {
				t.Fatalf("%+v does not cover %v", b, c.Blank)
			}
		}
		if b.Paid > float64(b.Bars)*(1+1e-12) || b.Paid < float64(c.Lot)/float64(b.PerBar)*(1-1e-12) {
			t.Fatalf("%g of %d bars are paid", b.Paid, b.Bars)
		}
	})
}

// Whole bars are paid in full with a drop share of 1, and by the blanks with 0.
func TestDropIsPaidByItsShare(t *testing.T) {
	m := fettle.Material{Density: 8, PricePerKg: sure(10), Sold: []fettle.StockSize{{SectionMM: [2]float64{10, 20}, LengthMM: 1000}}}
	for _, x := range []struct {
		share, paid float64
	}{{0, 2.5}, {1, 3}, {0.5, 2.75}} {
		b, ok := ChooseBar(Cut{Blank: [3]float64{10, 20, 98}, Lot: 25, KerfMM: 2, DropShare: x.share}, m)
		if !ok || b.PerBar != 10 || b.Bars != 3 || math.Abs(b.Paid-x.paid) > 1e-12 || b.DropMM != 500 || b.Each.Value != 16 {
			t.Errorf("with a share of %g: %+v, want %g bars paid", x.share, b, x.paid)
		}
	}
}

// Where no size covers the blank it is bought by its own weight, and both the sheet and
// the price say so.
func TestBlanksThatNoBarCovers(t *testing.T) {
	j, _ := learned(3)
	j.Material.Sold = j.Material.Sold[2:] // 8 mm thick
	s := base(j)
	st := j.Stock()
	if st.Bar != nil || st.Bars != 0 || math.Abs(st.Kg-44*70*10*8e-6) > 1e-12 || !strings.Contains(st.Says, "no size on the list of bars covers it") {
		t.Errorf("the stock is %+v", st)
	}
	for _, l := range s.lines {
		if l.Key == fettle.LineSaw {
			t.Errorf("a blank that comes sawn is sawn: %s", l.Says)
		}
		if l.Key == fettle.LineStock && !strings.Contains(l.Says, "no size on the list covers the blank") {
			t.Errorf("the line says %q", l.Says)
		}
	}
	j.Material.Sold = nil
	if says := j.Stock().Says; strings.Contains(says, "no size") {
		t.Errorf("without any sizes the stock says %q", says)
	}
}

// A shop that reads inches reads its bars in inches.
func TestStockInInches(t *testing.T) {
	j, _ := learned(8)
	j.System = fettle.Inch
	if says := j.Stock().Says; strings.Contains(says, "mm") || !strings.Contains(says, "cuts of 2.756 in with a kerf of 0.079 in; 14.016 in left over") {
		t.Errorf("the stock says %q", says)
	}
}
