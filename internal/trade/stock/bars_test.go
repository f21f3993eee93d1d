package stock

import (
	"testing"

	"fettle"
)

// Sizes sold are sizes that a shelf may hold, each once, the thin side first, and cover
// what this shop makes; none has a price of its own that nobody was asked for.
func TestBarsAreOnTheShelf(t *testing.T) {
	s := Shelf()
	if err := s.Validate(); err != nil {
		t.Fatal(err)
	}
	for _, m := range s.Materials {
		seen := map[fettle.StockSize]bool{}
		flat := false
		for _, z := range m.Sold {
			if seen[z] || z.SectionMM[0] > z.SectionMM[1] || z.PriceEach != (fettle.Estimate{}) || z.PricePerKg != (fettle.Estimate{}) {
				t.Errorf("%s: %+v", m.Name, z)
			}
			seen[z] = true
			// The blank of a plate of 42 × 68 × 7 mm with 2 mm on each side.
			flat = flat || !z.Round && z.SectionMM[0] >= 11 && z.SectionMM[1] >= 46
		}
		if want := m.Name != "AZ31" && m.Name != "bearing bronze"; flat != want {
			t.Errorf("%s is sold in flats that cover a plate: %v", m.Name, flat)
		}
	}
}
