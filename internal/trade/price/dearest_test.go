package price

import (
	"math"
	"strings"
	"testing"

	"fettle"
)

// bench is example with an hour of sanding for each piece.
func bench(lot int) (Job, error) {
	j, err := example(lot)
	j.Route[1].Name = "Sand the show face with P400"
	j.Route[1].MinutesAttended = sure(60 * float64(lot))
	return j, err
}

// Worked by hand, for ten pieces of the first example with 60 minutes of sanding for
// each, 36.00 a piece:
//
//	cost, as there, with 360.00 by hand: 72 + 66 + 60 + 84 + 30 + 360 + 16 + 6 + 1.50;
//	scrap 551.50/24 = 22.98, samples 37.90 − 3.00 + 36.00 = 70.90           789.38
//	finishing   (30 + 360 + 16 + 1.50) × 25/24 + 6                         430.48
//	            and of the sample 3.00 + 36.00 + 16.00 + 1.50               56.50
//	share       486.98 / 789.38                                             61.7 %
//	sanding     360 × 25/24 + 36.00 = 411.00, which is 52.1 %; a piece
//	            41.10 / 0.8                                                  51.38
func TestDearestByHand(t *testing.T) {
	p, err := Of(10, bench)
	if err != nil {
		t.Fatal(err)
	}
	d := p.Dearest
	if p.Cost.Value.Minor != 78938 || d == nil {
		t.Fatalf("cost %s, dearest %v", p.Cost.Value, d)
	}
	if d.Step != "rub" || d.Each.Value.Minor != 5138 || math.Abs(d.Share-411.00/789.38) > 1e-9 || math.Abs(d.FinishShare-486.979166/789.38) > 1e-6 {
		t.Errorf("%+v", d)
	}
	if want := "finishing makes 62 % of the price, and the step of it that costs most is sand the show face with P400: USD 51.38 of the USD 98.67 a piece, 52 %"; d.Says != want {
		t.Errorf("it says %q", d.Says)
	}
	// Where finishing makes less than half there is nothing to tell.
	if p, err = Of(10, example); err != nil || p.Dearest != nil {
		t.Errorf("%v, %v", p.Dearest, err)
	}
}

// What a step uses up counts to it.
func TestDearestCountsWhatIsUsedUp(t *testing.T) {
	p, err := Of(10, func(lot int) (Job, error) {
		j, err := bench(lot)
		j.Wear = append(j.Wear, Wear{Key: fettle.LinePolish, Step: "inspect", Qty: sure(float64(lot)), Unit: "m²", Each: sure(100), Per: "a square metre"})
		return j, err
	})
	if err != nil || p.Dearest == nil || p.Dearest.Step != "inspect" || !strings.Contains(p.Dearest.Says, "inspect") {
		t.Errorf("%+v, %v", p.Dearest, err)
	}
}
