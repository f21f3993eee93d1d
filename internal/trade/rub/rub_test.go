package rub

import (
	"math"
	"testing"

	"fettle"

	"pgregory.net/rapid"
)

// grit makes a paper with the roughness fitted to ground austenitic stainless
// steel, across the lay (Lexikon der Pharmatechnologie, 2013: Ra from 4.5 µm at
// K30 to 0.20 µm at K360), with the grain of its P number after ISO 6344.
func grit(number int, grain float64) fettle.Grit {
	return fettle.Grit{
		Name: "P" + itoa(number), Scale: fettle.ScaleP, Number: number, GrainUM: grain,
		RaUM: fettle.Exactly(0.00407*math.Pow(grain, 1.116), "fit"),
		RzUM: fettle.Exactly(0.00523*math.Pow(grain, 1.335), "fit"),
	}
}

func itoa(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return itoa(n/10) + string(rune('0'+n%10))
}

func shelf() []fettle.Grit {
	return []fettle.Grit{
		grit(80, 201), grit(120, 125), grit(180, 82), grit(240, 58.5), grit(320, 46.2), grit(400, 35),
		grit(600, 25.8), grit(800, 21.8), grit(1000, 18.3), grit(1200, 15.3), grit(1500, 12.6), grit(2000, 10.3),
	}
}

func exact(h float64) Left { return Cusps(fettle.Exactly(h, fettle.BasisGeometry)) }

func total(rs []Rung) (t float64) {
	for _, r := range rs {
		t += r.Minutes.Value
	}
	return t
}

// The base time is a starting guess, but the ratios between grits are what the
// laws must bring out: a finer pair takes about 0.8 of it, a first grit on
// cusps about twice as long, soft metals half.
func TestTimesAgainstCommonPractice(t *testing.T) {
	flat := Face{AreaMM2: 1e4, Class: fettle.ClassMildSteel, Wet: true}
	work := func(f Face, g fettle.Grit, l Left) float64 { return rung(f, g, l).Minutes.Value - changeMinutes }
	base := work(flat, grit(320, 46.2), Furrows(grit(240, 58.5), flat.Class))
	if base < 5.4 || base > 8 {
		t.Errorf("P320 on the scratches of P240, 100 cm² of steel: %.1f min, want about 6", base)
	}
	finer := work(flat, grit(600, 25.8), Furrows(grit(400, 35), flat.Class))
	if r := finer / base; r < 0.65 || r > 1 {
		t.Errorf("P600 after P400 takes %.2f of the base time, want about 0.8", r)
	}
	cusps := work(flat, grit(240, 58.5), exact(5))
	if r := cusps / base; r < 1.5 || r > 2.6 {
		t.Errorf("P240 on 5 µm cusps takes %.2f of the base time, want about 2", r)
	}
	brass := flat
	brass.Class = fettle.ClassBrass
	if r := work(brass, grit(240, 58.5), exact(5)) / cusps; math.Abs(r-0.5) > 0.05 {
		t.Errorf("brass takes %.2f of steel's time, want 0.5", r)
	}
}

// Parabolic cusps of height h lose h/3 of mean thickness before they are gone:
// the integral of their material above the valley.
func TestMeanOfCuspsIsTheirIntegral(t *testing.T) {
	const n = 100000
	var sum float64
	for i := range n {
		x := (float64(i)+0.5)/n*2 - 1 // one cusp, valley in the middle
		sum += x * x / n
	}
	if math.Abs(sum-meanOfCusps) > 1e-9 {
		t.Errorf("mean of a parabolic cusp %.9f of its height, taken as %.9f", sum, meanOfCusps)
	}
}

func TestLadderEqualsBruteForce(t *testing.T) {
	all := shelf()
	rapid.Check(t, func(t *rapid.T) {
		var some []fettle.Grit
		for _, g := range all {
			if rapid.Bool().Draw(t, g.Name) {
				some = append(some, g)
			}
		}
		last := all[rapid.IntRange(0, len(all)-1).Draw(t, "last")]
		if !contains(some, last.Name) {
			some = append(some, last)
		}
		f := Face{
			AreaMM2: rapid.Float64Range(100, 20000).Draw(t, "area"),
			Class:   rapid.SampledFrom([]fettle.HardnessClass{fettle.ClassBrass, fettle.ClassTitanium, fettle.ClassMildSteel}).Draw(t, "class"),
			Wet:     rapid.Bool().Draw(t, "wet"), Curved: rapid.Bool().Draw(t, "curved"),
		}
		from := exact(rapid.Float64Range(0.2, 30).Draw(t, "cusp"))
		want := bruteForce(f, some, from, last.Name)
		got, err := Ladder(f, some, from, last.Name)
		switch {
		case err != nil && !math.IsInf(want, 1):
			t.Fatalf("no ladder found, brute force has one of %.3f min: %v", want, err)
		case err == nil && math.Abs(total(got)-want) > 1e-9*want:
			t.Fatalf("ladder takes %.6f min, the best %.6f", total(got), want)
		}
	})
}

func contains(gs []fettle.Grit, name string) bool {
	for _, g := range gs {
		if g.Name == name {
			return true
		}
	}
	return false
}

// bruteForce tries every subset of the grits as a ladder.
func bruteForce(f Face, gs []fettle.Grit, from Left, last string) float64 {
	best := math.Inf(1)
	for mask := 1; mask < 1<<len(gs); mask++ {
		var l []fettle.Grit
		for i, g := range gs {
			if mask>>i&1 == 1 {
				l = append(l, g)
			}
		}
		for i := range l { // coarse to fine, by exchange: the sets are small
			for j := i + 1; j < len(l); j++ {
				if l[j].GrainUM > l[i].GrainUM {
					l[i], l[j] = l[j], l[i]
				}
			}
		}
		if l[len(l)-1].Name != last {
			continue
		}
		cost, left, ok := 0.0, from, true
		for i, g := range l {
			if i == 0 && g.Name != last && g.RzUM.Value*Depth(f.Class) > coarsest*from.DepthUM.Value {
				ok = false
			}
			if i > 0 && l[i-1].GrainUM > widest*g.GrainUM {
				ok = false
			}
			cost += rung(f, g, left).Minutes.Value
			left = Furrows(g, f.Class)
		}
		if ok && cost < best {
			best = cost
		}
	}
	return best
}

func TestLadderIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := Face{AreaMM2: 3000, Class: fettle.ClassBrass, Wet: true}
		h := rapid.Float64Range(0.5, 20).Draw(t, "cusp")
		more := h * rapid.Float64Range(1, 3).Draw(t, "times")
		last := rapid.SampledFrom(shelf()).Draw(t, "last").Name
		a, err1 := Ladder(f, shelf(), exact(h), last)
		b, err2 := Ladder(f, shelf(), exact(more), last)
		if err1 != nil || err2 != nil {
			t.Fatalf("the last grit alone is always a ladder: %v, %v", err1, err2)
		}
		for i := 1; i < len(a); i++ {
			if a[i].Grit.GrainUM >= a[i-1].Grit.GrainUM {
				t.Fatalf("%s after %s", a[i].Grit.Name, a[i-1].Grit.Name)
			}
		}
		// Higher cusps allow a coarser first grit, which can save time, but never
		// below what the lower cusps cost with all grits open to both.
		if a[0].Grit.Name == b[0].Grit.Name && total(b) < total(a)-1e-9 {
			t.Fatalf("%.1f µm takes %.3f min, %.1f µm only %.3f", h, total(a), more, total(b))
		}
	})
}

func TestLadderRefuses(t *testing.T) {
	if _, err := Ladder(Face{AreaMM2: 1000}, shelf(), exact(3), "P7"); fettle.CodeOf(err) != fettle.Invalid {
		t.Errorf("a grit that is not there: %v", err)
	}
	two := []fettle.Grit{grit(80, 201), grit(2000, 10.3)}
	rs, err := Ladder(Face{AreaMM2: 1000}, two, exact(2), "P2000")
	if err != nil || len(rs) != 1 {
		t.Errorf("only the last grit fits under 2 µm cusps: %v, %v", rs, err)
	}
}
