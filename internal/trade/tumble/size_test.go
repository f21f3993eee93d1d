package tumble

import (
	"testing"

	"fettle"
	"fettle/internal/trade/stock"

	"pgregory.net/rapid"
)

// The larger of two pieces of one kind removes more and leaves a rougher surface,
// and media that have run are both finer and slower than new ones: the order that
// a barrel with six ceramics showed (Wear 255 (2003) 1369, abstract), and common
// practice.
func TestALargerPieceRemovesMoreAndLeavesRougher(t *testing.T) {
	shelf := stock.Shelf()
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom(shelf.Media).Draw(t, "media")
		v := rapid.SampledFrom(shelf.Vessels).Draw(t, "vessel")
		mat := rapid.SampledFrom(shelf.Materials).Draw(t, "material")
		by := rapid.Float64Range(1.05, 4).Draw(t, "larger by")
		large := m
		large.SizeMM[0] *= by
		large.SizeMM[1] *= by
		a, b := ProcessOf(m, v, mat), ProcessOf(large, v, mat)
		if !(b.LimitRaUM.Value > a.LimitRaUM.Value) || !(b.RemovalUMH.Value > a.RemovalUMH.Value) {
			t.Fatalf("%s × %.2g: limit %.3g to %.3g µm, removal %.3g to %.3g µm/h", m.Name, by, a.LimitRaUM.Value, b.LimitRaUM.Value, a.RemovalUMH.Value, b.RemovalUMH.Value)
		}
		if !b.LimitRaUM.Valid() || !b.RemovalUMH.Valid() {
			t.Fatalf("%+v is out of order", b)
		}
		used := m
		used.HoursRun = rapid.Float64Range(1, 5000).Draw(t, "hours")
		c := ProcessOf(used, v, mat)
		if !(c.LimitRaUM.Value < a.LimitRaUM.Value) || !(c.RemovalUMH.Value < a.RemovalUMH.Value) {
			t.Fatalf("%s after %.0f h: limit %.3g to %.3g µm, removal %.3g to %.3g µm/h", m.Name, used.HoursRun, a.LimitRaUM.Value, c.LimitRaUM.Value, a.RemovalUMH.Value, c.RemovalUMH.Value)
		}
	})
	// A kind without a usual size is taken as it is.
	if f := sizeFactor(fettle.Media{Kind: "pebbles", Shape: fettle.Sphere, SizeMM: [2]float64{9, 9}}); f != 1 {
		t.Errorf("unknown media count %g of their size", f)
	}
}
