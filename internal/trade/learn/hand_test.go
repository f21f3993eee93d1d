package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fettle"
	"fettle/internal/trade/rub"
	"fettle/internal/trade/stock"
)

// pieces are 59 pieces of cast alloy by form: diameter in inches and minutes of
// grinding and polishing. Open data set of the R package GLMsData (P. K. Dunn and
// G. K. Smyth), from a workshop in 1989.
var pieces = []struct {
	form string
	at   [][2]float64
}{
	{"Bowl", [][2]float64{{8, 34.88}, {10.4, 17.67}, {7.4, 16.41}, {5.4, 12.02}, {6, 23.21}, {9, 28.64}, {9, 44.95}, {7.5, 20.21}, {14, 32.62}, {7, 17.84}, {9, 22.82}, {12, 29.48}, {5.5, 15.61}, {6, 13.25}, {12, 45.78}, {14.2, 37.11}, {10, 23.74}, {13, 39.71}, {15.2, 22.55}, {11, 53.18}, {8, 21.34}, {9, 20.59}, {8.5, 30.2}}},
	{"CassDish", [][2]float64{{10.7, 47.65}, {14, 63.13}, {9, 58.76}, {10.5, 43.14}, {15.4, 49.48}, {12.4, 48.74}, {13.5, 68.63}, {13, 86.42}, {14, 33.7}, {12.4, 32.9}}},
	{"Dish", [][2]float64{{10, 55.53}, {6.5, 17.46}, {5, 21.04}, {11, 45.12}, {11.1, 33.71}, {9.8, 44.45}, {8.8, 27.76}}},
	{"Plate", [][2]float64{{12.4, 23.77}, {16, 26.09}, {11.7, 26.52}, {10, 31.86}, {6, 20.85}, {11, 26.25}, {11.1, 21.87}, {14.5, 23.88}, {5, 16.66}}},
	{"Tray", [][2]float64{{16, 54.86}, {15, 44.14}, {25, 109.38}, {5.5, 26.53}, {12.3, 33.89}, {19.5, 64.3}, {17.8, 74.48}, {11.5, 34.16}, {12.7, 31.46}, {7.5, 20.83}}},
}

func columns(t *testing.T) (diam, minutes []float64, design [][]float64) {
	for f, p := range pieces {
		for _, row := range p.at {
			x := make([]float64, 2+len(pieces)-1)
			x[0], x[1] = 1, row[0]
			if f > 0 { // the first form is the base
				x[1+f] = 1
			}
			diam, minutes, design = append(diam, row[0]), append(minutes, row[1]), append(design, x)
		}
	}
	if len(diam) != 59 {
		t.Fatalf("%d pieces", len(diam))
	}
	return diam, minutes, design
}

// The same fits made outside the project.
func TestTimesOf59Pieces(t *testing.T) {
	diam, minutes, design := columns(t)
	beta, err := GammaLog(design, minutes)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{2.54897304, 0.07670804, 0.47516260, 0.28939477, -0.18791121, 0.14472039} {
		close(t, fmt.Sprintf("Gamma number %d", i), beta[i], want, 1e-7)
	}
	l, err := StraightLine(diam, minutes)
	if err != nil {
		t.Fatal(err)
	}
	close(t, "intercept", l.Intercept, -1.95472, 1e-5)
	close(t, "slope", l.Slope, 3.45671, 1e-5)
	close(t, "R²", l.R2, 0.49046, 1e-5)
	var x, y []float64
	for i := range diam {
		x, y = append(x, math.Log(diam[i])), append(y, math.Log(minutes[i]))
	}
	if l, err = StraightLine(x, y); err != nil {
		t.Fatal(err)
	}
	close(t, "factor", math.Exp(l.Intercept), 3.47836, 1e-5)
	close(t, "power", l.Slope, 0.94972, 1e-5)
	close(t, "power as used", usualSizePower, l.Slope, 5e-4)
}

func TestFitsThatCannotBeAreRefused(t *testing.T) {
	for name, err := range map[string]error{
		"no size":    second(StraightLine([]float64{1, 1, 1}, []float64{1, 2, 3})),
		"two points": second(StraightLine([]float64{1, 2}, []float64{1, 2})),
		"NaN":        second(StraightLine([]float64{1, 2, 3}, []float64{1, math.NaN(), 3})),
		"time 0":     second(GammaLog([][]float64{{1}, {1}}, []float64{1, 0})),
		"too few":    second(GammaLog([][]float64{{1, 2}}, []float64{1})),
		"alike":      second(GammaLog([][]float64{{1, 1}, {1, 1}, {1, 1}}, []float64{1, 2, 3})),
	} {
		if fettle.CodeOf(err) != fettle.Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

// byHand are runs of one grit on one metal by a hand of a pace, whose minutes go
// with a power of size.
func byHand(n int, pace, power float64, rng *rand.Rand) (runs []fettle.Run) {
	s := stock.Shelf()
	for i := range n {
		size := 30 * math.Pow(8, float64(i)/math.Max(1, float64(n-1)))
		r := fettle.Run{ID: fmt.Sprint("hand", i), Kind: fettle.StepRub, Material: "1018", Grit: "P400", AreaMM2: size * size, SizeMM: size}
		j, err := join(r, s)
		if err != nil {
			panic(err)
		}
		mid := 30 * math.Sqrt(8)
		min := pace * expected(j, s) * math.Pow(size/mid, power-usualSizePower) * math.Exp(0.15*rng.NormFloat64())
		r.Readings = []fettle.Reading{{Kind: fettle.ReadMinutes, Value: min + rub.Change().Value}}
		runs = append(runs, r)
	}
	return runs
}

func TestPaceIsLearned(t *testing.T) {
	s := stock.Shelf()
	grit := func(name string) fettle.Grit {
		for _, g := range s.Grits {
			if g.Name == name {
				return g
			}
		}
		t.Fatalf("no %s", name)
		return fettle.Grit{}
	}
	_, _, steel := things(t, general)
	_, _, brass := things(t, fine5)
	if _, ok := read(t).Pace(grit("P400"), steel); ok {
		t.Error("a pace without a log")
	}
	if _, ok := (*Book)(nil).Pace(grit("P400"), steel); ok {
		t.Error("a pace without a book")
	}
	rng := rand.New(rand.NewPCG(4, 4))
	b := read(t, byHand(12, 1.8, 1.3, rng)...)
	own, _ := b.Pace(grit("P400"), steel)
	kin, _ := b.Pace(grit("P240"), brass)
	prior := rub.Pace()
	if own.Low > 1.8 || own.High < 1.8 || own.LogSD() > 0.7*prior.LogSD() || own.Basis != "shop log (n = 12)" {
		t.Errorf("pace %+v for 1.8", own)
	}
	if !(kin.Value > 1.1 && kin.Value < own.Value && kin.LogSD() > own.LogSD()) || !strings.Contains(kin.Basis, "kin (n = 12)") {
		t.Errorf("kin's pace %+v", kin)
	}
	// With eight pieces and more the power of size is the shop's own.
	if p := b.hands.power; p.Low > 1.3 || p.High < 1.3-0.1 || p.Basis != "shop log (n = 12)" {
		t.Errorf("power %+v for 1.3", p)
	}
	small, _ := b.PaceAt(grit("P400"), steel, 900)
	large, _ := b.PaceAt(grit("P400"), steel, 57600)
	close(t, "size", math.Log(large.Value/small.Value), (b.hands.power.Value-usualSizePower)*math.Log(8), 1e-9)
	few := read(t, byHand(7, 1.8, 1.3, rng)...)
	if few.hands.power.Value != usualSizePower || few.hands.powerN != 0 {
		t.Errorf("seven pieces made a power of %+v", few.hands.power)
	}
}
