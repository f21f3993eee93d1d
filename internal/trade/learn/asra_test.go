package learn

import (
	"math"
	"testing"

	"fettle"
)

// Grades double from N1 = 0.025 µm (ISO 1302:1992, annex: N6 is 0.8, N8 is 3.2).
func TestAsRa(t *testing.T) {
	for _, c := range []struct {
		kind        fettle.ReadingKind
		value, want float64
	}{
		{fettle.ReadRa, 0.52, 0.52}, {fettle.ReadGrade, 6, 0.8}, {fettle.ReadGrade, 8, 3.2}, {fettle.ReadRz, 6.3, 1}, {fettle.ReadSq, 1.27, 1},
	} {
		e, ok := AsRa(fettle.Reading{Kind: c.kind, Value: c.value})
		if !ok || math.Abs(e.Value-c.want) > 1e-9 || !e.Valid() || e.Low >= e.Value {
			t.Errorf("%s of %g is Ra %+v, want %g", c.kind, c.value, e, c.want)
		}
	}
	plate, _ := AsRa(fettle.Reading{Kind: fettle.ReadGrade, Value: 6})
	stylus, _ := AsRa(fettle.Reading{Kind: fettle.ReadRa, Value: 0.8})
	if plate.LogSD() <= stylus.LogSD() {
		t.Errorf("a comparison plate (%g) is surer than a stylus (%g)", plate.LogSD(), stylus.LogSD())
	}
	bright, ok := AsRa(fettle.Reading{Kind: fettle.ReadGloss, Value: gloss(0.1)})
	if !ok || math.Abs(bright.Value-0.1) > 1e-9 {
		t.Errorf("gloss of Ra 0.1 reads as %+v", bright)
	}
	for _, r := range []fettle.Reading{{Kind: fettle.ReadGrams, Value: 1}, {Kind: fettle.ReadRa}, {Kind: fettle.ReadRa, Value: math.NaN()}} {
		if e, ok := AsRa(r); ok {
			t.Errorf("%+v is Ra %+v", r, e)
		}
	}
}
