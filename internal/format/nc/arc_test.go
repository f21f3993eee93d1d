package nc

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// In each plane an arc goes round its third axis right-handed (ISO 841): G3
// from the first axis of the plane towards the second. The quarter circles
// here start on the first axis at 10 mm from the zero, and everything about
// them is known beforehand.
func TestQuarters(t *testing.T) {
	for _, c := range []struct {
		name, from, word string
		plane            Plane
		turn             float64 // in quarters
	}{
		{"XY", "X10. Y0. Z1.", "G17 G3 X0. Y10. I-10. J0.", XY, 1},
		{"XY the other way", "X10. Y0. Z1.", "G17 G2 X0. Y10. I-10.", XY, -3},
		{"XY by radius", "X10. Y0. Z1.", "G17 G3 X0. Y10. R10.", XY, 1},
		{"XY the long way by radius", "X10. Y0. Z1.", "G17 G2 X0. Y10. R-10.", XY, -3},
		{"ZX", "Z10. X0. Y1.", "G18 G3 Z0. X10. K-10. I0.", ZX, 1},
		{"ZX the other way", "Z10. X0. Y1.", "G18 G2 Z0. X10. K-10.", ZX, -3},
		{"ZX by radius", "Z10. X0. Y1.", "G18 G3 Z0. X10. R10.", ZX, 1},
		{"ZX the long way by radius", "Z10. X0. Y1.", "G18 G2 Z0. X10. R-10.", ZX, -3},
		{"YZ", "Y10. Z0. X1.", "G19 G3 Y0. Z10. J-10. K0.", YZ, 1},
		{"YZ the other way", "Y10. Z0. X1.", "G19 G2 Y0. Z10. J-10.", YZ, -3},
		{"YZ by radius", "Y10. Z0. X1.", "G19 G3 Y0. Z10. R10.", YZ, 1},
		{"absolute centre", "X10. Y0. Z1.", "G17 G90.1 G3 X0. Y10. I0. J0.", XY, 1},
		{"full circle", "X10. Y0. Z1.", "G17 G3 I-10.", XY, 4},
		{"full circle the other way", "X10. Y0. Z1.", "G17 G2 X10. Y0. I-10. J0.", XY, -4},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := must(t, "G21 G90 G0 F100.\n"+c.from+"\n"+c.word)
			if len(p.Arcs) != 1 || len(p.Moves) != 2 {
				t.Fatalf("%d arcs, %d moves; notes %+v", len(p.Arcs), len(p.Moves), p.Notes)
			}
			a, m := p.Arcs[0], &p.Moves[1]
			want := [3]float64{}
			n := [3]int{2, 1, 0}[c.plane]
			want[n] = 1
			if a.Plane != c.plane || math.Abs(a.Radius-10) > 1e-12 || dist(a.Centre, want) > 1e-12 || a.MissMM > 1e-12 {
				t.Errorf("%+v, want centre %v, radius 10", a, want)
			}
			if math.Abs(a.Turn-c.turn*math.Pi/2) > 1e-12 {
				t.Errorf("turns %v, want %v quarters", a.Turn, c.turn)
			}
			if l := p.LengthMM(m); math.Abs(l-math.Abs(c.turn)*5*math.Pi) > 1e-9 {
				t.Errorf("length %v", l)
			}
		})
	}
}

// The chords of a helix stay within the tolerance of the true curve, on it at
// their ends, and turn the right way: cross products say so without angles.
func TestFlatten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(0.05, 500).Draw(t, "radius")
		from := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "from")
		turn := rapid.Float64Range(0.01, 2*math.Pi-0.01).Draw(t, "turn")
		tol := math.Pow(10, rapid.Float64Range(-4, -0.5).Draw(t, "tolerance"))
		ccw := rapid.Bool().Draw(t, "ccw")
		sign, word := -1.0, 2
		if ccw {
			sign, word = 1, 3
		}
		x0, y0 := r*math.Cos(from), r*math.Sin(from)
		x1, y1 := r*math.Cos(from+sign*turn), r*math.Sin(from+sign*turn)
		p := must(t, fmt.Sprintf("G21 G90 G17 F100.\nG0 X%.9f Y%.9f Z0.\nG%d X%.9f Y%.9f Z-5. I%.9f J%.9f", x0, y0, word, x1, y1, -x0, -y0))
		m := &p.Moves[1]
		if a := p.Arcs[0]; math.Abs(a.Turn-sign*turn) > 1e-6 || math.Abs(a.Radius-r) > 1e-7 {
			t.Fatalf("%+v, want radius %v, turn %v", a, r, sign*turn)
		}
		was, n := m.From, 0
		swept := 0.0
		p.Flatten(m, tol, func(a, b [3]float64) {
			if a != was {
				t.Fatalf("a gap from %v to %v", was, a)
			}
			mid := math.Hypot((a[0]+b[0])/2, (a[1]+b[1])/2)
			if math.Abs(math.Hypot(b[0], b[1])-r) > 1e-6 || r-mid > tol+1e-6 {
				t.Fatalf("chord from %v to %v strays %v, tolerance %v", a, b, r-mid, tol)
			}
			step := math.Atan2(a[0]*b[1]-a[1]*b[0], a[0]*b[0]+a[1]*b[1])
			swept += step
			if want := -5 * swept / (sign * turn); math.Abs(b[2]-want) > 1e-5 {
				t.Fatalf("at height %v, want %v", b[2], want)
			}
			was = b
			n++
		})
		if was != m.To || math.Abs(swept-sign*turn) > 1e-6 {
			t.Fatalf("ends at %v after %v, want %v after %v", was, swept, m.To, sign*turn)
		}
		// No more chords than the sagitta asks for, but for one to round up, and four
		// to a circle at the least.
		if most := turn/min(math.Pi/2, 2*math.Acos(max(0, 1-tol/r))) + 1; float64(n) > most+1e-6 {
			t.Fatalf("%d chords where %v do", n, most)
		}
	})
}

// An arc by radius is the arc by centre.
func TestRadius(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(1, 100).Draw(t, "radius")
		from := rapid.Float64Range(-3, 3).Draw(t, "from")
		// At half a circle the two arcs of one radius are one.
		turn := rapid.OneOf(rapid.Float64Range(0.1, 3.09), rapid.Float64Range(3.19, 6.1)).Draw(t, "turn")
		plane := rapid.IntRange(0, 2).Draw(t, "plane")
		word := rapid.IntRange(2, 3).Draw(t, "word")
		ax := planeAxes[plane]
		i, j := ax[0], ax[1]
		end := from + turn*float64(2*word-5)
		long := ""
		if turn > math.Pi {
			long = "-"
		}
		head := fmt.Sprintf("G21 G90 G%d F100.\nG0 X0. Y0. Z0.\n%c%.9f %c%.9f\nG%d %c%.9f %c%.9f ", 17+plane,
			'X'+i, r*math.Cos(from), 'X'+j, r*math.Sin(from), word, 'X'+i, r*math.Cos(end), 'X'+j, r*math.Sin(end))
		a := must(t, head+fmt.Sprintf("R%s%.9f", long, r)).Arcs[0]
		b := must(t, head+fmt.Sprintf("%c%.9f %c%.9f", 'I'+i, -r*math.Cos(from), 'I'+j, -r*math.Sin(from))).Arcs[0]
		if dist(a.Centre, b.Centre) > 1e-5 || math.Abs(a.Radius-b.Radius) > 1e-5 || math.Abs(a.Turn-b.Turn) > 1e-5 || a.Plane != b.Plane {
			t.Fatalf("%+v\n%+v", a, b)
		}
	})
}

// What is wrong with an arc is said, and the arc is still somewhere.
func TestBadArcs(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"ends off its circle", "G3 X0. Y11. I-10.", "1.000 mm off the circle"},
		{"no centre", "G3 X0. Y10.", "no centre that fits"},
		{"centre on the start", "G3 X0. Y10. I0. J0.", "no centre that fits"},
		{"circle by radius", "G3 X10. Y0. R10.", "no centre that fits"},
		{"radius too short", "G3 X-10. Y0. R9.", "1.000 mm too short"},
		{"from nowhere", "G55\nG3 X0. Y10. R10.", "no word has set"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := must(t, "G21 G90 G17 G0 X10. Y0. Z0. F100.\n"+c.text)
			if !heard(p, Broken, "G3", c.says) {
				t.Errorf("no note says %q: %+v", c.says, p.Notes)
			}
			if len(p.Moves) != 2 {
				t.Errorf("%d moves, want 2", len(p.Moves))
			}
		})
	}
	// A helix, a spiral and an arc with unknown ends all come out whole.
	p := must(t, "G21 G90 G17 G0 X10. Y0. Z0. F100.\nG3 X0. Y12. Z3. I-10.")
	last := [3]float64{}
	p.Flatten(&p.Moves[1], 0.01, func(_, to [3]float64) { last = to })
	if last != [3]float64{0, 12, 3} {
		t.Errorf("a spiral ends at %v", last)
	}
	for _, tol := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		n := 0
		p.Flatten(&p.Moves[1], tol, func(_, _ [3]float64) { n++ })
		if n < 1 || n > maxChords {
			t.Errorf("%d chords for a tolerance of %v", n, tol)
		}
	}
}
