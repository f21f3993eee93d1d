package rub

import (
	"math"
	"testing"

	"fettle"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Diameter in inches and minutes of grinding and polishing of 59 pieces of cast
// alloy tableware: data set in the R package GLMsData, P. K. Dunn and G. K. Smyth,
// Generalized Linear Models With Examples in R (2018).
var handTime = [][2]float64{
	{10.7, 47.65}, {14, 63.13}, {9, 58.76}, {8, 34.88}, {10, 55.53}, {10.5, 43.14}, {16, 54.86}, {15, 44.14},
	{6.5, 17.46}, {5, 21.04}, {25, 109.38}, {10.4, 17.67}, {7.4, 16.41}, {5.4, 12.02}, {15.4, 49.48}, {12.4, 48.74},
	{6, 23.21}, {9, 28.64}, {9, 44.95}, {12.4, 23.77}, {7.5, 20.21}, {14, 32.62}, {7, 17.84}, {9, 22.82},
	{12, 29.48}, {5.5, 15.61}, {6, 13.25}, {12, 45.78}, {5.5, 26.53}, {14.2, 37.11}, {11, 45.12}, {16, 26.09},
	{13.5, 68.63}, {11.1, 33.71}, {9.8, 44.45}, {10, 23.74}, {13, 86.42}, {13, 39.71}, {11.7, 26.52}, {12.3, 33.89},
	{19.5, 64.3}, {15.2, 22.55}, {10, 31.86}, {11, 53.18}, {17.8, 74.48}, {11.5, 34.16}, {12.7, 31.46}, {8, 21.34},
	{7.5, 20.83}, {9, 20.59}, {14, 33.7}, {12.4, 32.9}, {8.8, 27.76}, {8.5, 30.2}, {6, 20.85}, {11, 26.25},
	{11.1, 21.87}, {14.5, 23.88}, {5, 16.66},
}

// The exponent of the law of size is the one that the pieces give, and work in
// proportion to area is not: it would be 2 on diameter.
func TestSizeAgainstFiftyNinePieces(t *testing.T) {
	if len(handTime) != 59 {
		t.Fatalf("%d pieces", len(handTime))
	}
	var x, y []float64
	for _, p := range handTime {
		x, y = append(x, math.Log(p[0])), append(y, math.Log(p[1]))
	}
	a, b := stat.LinearRegression(x, y, nil, false)
	if math.Abs(math.Exp(a)-3.47836) > 1e-4 || math.Abs(b-0.94972) > 1e-5 {
		t.Errorf("minutes = %.5f·d^%.5f, want 3.47836·d^0.94972", math.Exp(a), b)
	}
	// The law's own exponent, by its ratio over two sizes of face.
	small := Face{AreaMM2: 1e3, Class: fettle.ClassMildSteel}
	large := Face{AreaMM2: 1e5, Class: fettle.ClassMildSteel}
	g := grit(320, 46.2)
	own := math.Log(Minutes(large, g, StiffBlock, 1, 0.5)/Minutes(small, g, StiffBlock, 1, 0.5)) / math.Log(10)
	if math.Abs(own-b) > 0.001 {
		t.Errorf("the law goes with size to the %.4f, the pieces with %.4f", own, b)
	}

	var ss, inside float64
	pace := Pace()
	for i := range x {
		r := y[i] - a - b*x[i]
		ss += r * r
		if k := math.Exp(r); k >= pace.Low && k <= pace.High {
			inside++
		}
	}
	sd := math.Sqrt(ss / 57)
	se := sd / (stat.StdDev(x, nil) * math.Sqrt(58))
	far := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: 57}.Quantile(0.9995)
	if (2-b)/se < far {
		t.Errorf("the pieces do not refuse work in proportion to area: %.3f ± %.3f", b, se)
	}
	// Pieces of one shop scatter by less than the interval of the pace, which also
	// has to hold for another shop.
	if sd > pace.LogSD() || inside < 0.8*59 {
		t.Errorf("the pieces scatter by %.3f about their law, the pace by %.3f; %g of 59 inside", sd, pace.LogSD(), inside)
	}
	t.Logf("exponent %.5f ± %.5f, scatter %.3f, pace %.3f, %g of 59 inside its bounds", b, se, sd, pace.LogSD(), inside)
}

// Preston's law: time in proportion to what comes off, and twice the grain twice
// as fast, where nothing packs and no furrows of its own are counted.
func TestMinutesAreLinear(t *testing.T) {
	f := Face{AreaMM2: 4e3, Class: fettle.ClassStainless, Curved: true, CornerShare: 0.1}
	g := grit(240, 58.5)
	g.RzUM = fettle.Exactly(0, "none")
	one := Minutes(f, g, FormedBlock, 1, 0.4)
	if three := Minutes(f, g, FormedBlock, 1, 1.2); math.Abs(three/one-3) > 1e-12 {
		t.Errorf("three times the depth takes %.6f times as long", three/one)
	}
	half := g
	half.GrainUM /= 2
	if two := Minutes(f, half, FormedBlock, 1, 0.4); math.Abs(two/one-2) > 1e-12 {
		t.Errorf("half the grain takes %.6f times as long", two/one)
	}
	// 11.7 µm is twice a tenth of the grain: the paper packs, at half its pace.
	if deep := Minutes(f, g, FormedBlock, 11.7, 0.4); math.Abs(deep/one-2) > 1e-12 {
		t.Errorf("past its depth it takes %.6f times as long, want 2", deep/one)
	}
}

func TestHoldsAreInOrder(t *testing.T) {
	f, g := Face{AreaMM2: 1e4, Class: fettle.ClassMildSteel}, grit(400, 35)
	holds := []Hold{StiffBlock, FormedBlock, SoftPad, FreeHand}
	for i, h := range holds {
		if e := h.Edge(); !e.Valid() || e.Low <= 0 || h.ContactMM() <= 0 {
			t.Errorf("%s: %+v, %g mm", h, e, h.ContactMM())
		}
		if i == 0 {
			continue
		}
		was := holds[i-1]
		if h.ContactMM() > was.ContactMM() || h.Edge().Value <= was.Edge().Value || Minutes(f, g, h, 1, 1) < Minutes(f, g, was, 1, 1) {
			t.Errorf("a %s keeps shape better than a %s", h, was)
		}
	}
}

// A metre of edge in mild steel takes 8 minutes and the picking up, half of that in
// brass; nothing to break costs only the picking up.
func TestDeburr(t *testing.T) {
	steel, radius := Deburr(1000, fettle.ClassMildSteel)
	brass, _ := Deburr(1000, fettle.ClassBrass)
	none, _ := Deburr(0, fettle.ClassBrass)
	if math.Abs(steel.Value-8.7) > 1e-9 || math.Abs(brass.Value-4.7) > 1e-9 || math.Abs(none.Value-0.7) > 1e-9 {
		t.Errorf("steel %v, brass %v, none %v", steel, brass, none)
	}
	for _, e := range []fettle.Estimate{steel, brass, none, radius, Pace(), Change(), Drying(), Paper(Face{AreaMM2: 100})} {
		if !e.Valid() || e.Low <= 0 {
			t.Errorf("%+v", e)
		}
	}
	wet, dry := Paper(Face{AreaMM2: 100, Wet: true}), Paper(Face{AreaMM2: 100})
	if math.Abs(wet.Value-0.6) > 1e-9 || math.Abs(dry.Value/wet.Value-2.5) > 1e-9 {
		t.Errorf("wet %v, dry %v", wet, dry)
	}
}

func BenchmarkMinutes(b *testing.B) {
	f, g := Face{AreaMM2: 4e3, Class: fettle.ClassBrass, Curved: true}, grit(400, 35)
	b.ReportAllocs()
	for b.Loop() {
		Minutes(f, g, FormedBlock, 2, 0.7)
	}
}
