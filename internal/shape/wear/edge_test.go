package wear

import (
	"math"
	"testing"
)

// expander is the radius, by the same fit, of the corner that grows under pure
// curvature flow without changing its form: κ = K(θ)/√t with K″ = −K − 1/(2K),
// K = 0 on the faces, put into κ_t = κ²(κ″ + κ) (Gage and Hamilton, J. Differential
// Geometry 23 (1986) 69, for the flow by angle), for t = 1.
func expander(angleDeg float64) float64 {
	half := (180 - angleDeg) * math.Pi / 360
	const n = 20000
	d := half / n
	run := func(k0 float64, each func(theta, k float64)) float64 {
		k, v := k0, 0.0
		acc := func(k float64) float64 { return -k - 1/(2*k) }
		for i := range n {
			if k <= 1e-9 {
				return float64(i) * d
			}
			if each != nil {
				each(float64(i)*d, k)
			}
			v += d / 2 * acc(k)
			k += d * v
			if k > 1e-9 {
				v += d / 2 * acc(k)
			}
		}
		return half + k
	}
	lo, hi := 1e-3, 100.0
	for range 100 {
		mid := math.Sqrt(lo * hi)
		if run(mid, nil) < half {
			lo = mid
		} else {
			hi = mid
		}
	}
	var at [][2]float64
	var x, y float64
	run(hi, func(theta, k float64) {
		if theta > half/2 {
			return
		}
		at = append(at, [2]float64{x, y}, [2]float64{-x, y})
		x += d / k * math.Cos(theta+d/2)
		y -= d / k * math.Sin(theta+d/2)
	})
	return circle(at)
}

func TestSquareGrowth(t *testing.T) {
	within(t, "k", squareGrowth, expander(90), 0.001)
}

// At first the radius is that of the expanding corner, k·√(bh), whatever the
// angle, and so √(4hL) for the square edge under the starting guess.
func TestEdgeAtFirst(t *testing.T) {
	removals := []float64{1e-4, 2e-4, 5e-4, 1e-3}
	for _, angle := range []float64{45, 60, 90, 120, 150} {
		k := expander(angle)
		for i, r := range Edge(angle, 0, [2]float64{1, 1}, Default, removals) {
			// What the recession of the faces takes from it goes with √(h/b).
			within(t, "radius", r, k*math.Sqrt(Default.B*removals[i]), 0.015+math.Sqrt(removals[i]/Default.B))
		}
	}
}

// In the long run an edge moves on without changing its form, so that at every
// direction θ off the bisector the speed along it is the same: 1 + bκ =
// cosθ/cos(turn/2).
func TestEdgeInTheEnd(t *testing.T) {
	late := []float64{20, 50, 100}
	for k, angle := range []float64{60, 90, 120} {
		half := (180 - angle) * math.Pi / 360
		var at [][2]float64
		var x, y float64
		const n = 4000
		for i := range n {
			theta := (float64(i) + 0.5) / n * half / 2
			s, c := math.Sincos(theta)
			step := half / 2 / n * Default.B / (c/math.Cos(half) - 1)
			x, y = x+step*c, y-step*s
			at = append(at, [2]float64{x, y}, [2]float64{-x, y})
		}
		r := Edge(angle, 0, [2]float64{1, 1}, Default, []float64{1, late[k] * Default.B})
		within(t, "radius", r[1], circle(at), 0.02)
	}
}

var depths = []float64{0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2}

// An edge only grows, a sharper one goes back further, and the rim of a hole
// rounds more slowly than a straight edge and that more slowly than an outer rim,
// the more so the tighter they are.
func TestRims(t *testing.T) {
	for _, angle := range []float64{60, 75, 90, 105, 120} {
		var before []float64
		for _, rim := range []float64{-2, -3, -10, 0, 10, 3, 2} {
			r := Edge(angle, rim, [2]float64{1, 1}, Default, depths)
			for i := range r {
				if i > 0 && r[i] <= r[i-1] {
					t.Errorf("%g°, rim %g: radius %.4f after %.4f", angle, rim, r[i], r[i-1])
				}
				if before != nil && r[i] <= before[i] {
					t.Errorf("%g°, rim %g at %g: radius %.4f, a tighter hole or lesser spigot %.4f", angle, rim, depths[i], r[i], before[i])
				}
			}
			before = r
		}
	}
}

// A sharper edge is cut back faster: its tip stands further behind where it
// stood.
func TestSharperGoesFaster(t *testing.T) {
	var before []float64
	for _, angle := range []float64{150, 120, 90, 60, 45} {
		s, _ := edgeSection(angle*math.Pi/180, 0, [2]float64{1, 1}, Default, depths)
		var tip []float64
		for _, shape := range Flow(s, Default, depths) {
			least := math.Inf(1)
			for _, p := range shape.Points {
				least = math.Min(least, math.Hypot(p.X, p.Y))
			}
			tip = append(tip, least)
		}
		for i := range before {
			if tip[i] <= before[i] {
				t.Errorf("%g°: tip back by %.4f, of a blunter edge by %.4f", angle, tip[i], before[i])
			}
		}
		before = tip
	}
}

// Half the exposure on both faces is half the depth; a face that lies hidden
// slows its edge down but does not stop it.
func TestEdgeExposure(t *testing.T) {
	full := Edge(90, 0, [2]float64{1, 1}, Default, []float64{0.01, 0.05})
	half := Edge(90, 0, [2]float64{0.5, 0.5}, Default, []float64{0.02, 0.1})
	one := Edge(90, 0, [2]float64{1, 0.2}, Default, []float64{0.01, 0.05})
	other := Edge(90, 0, [2]float64{0.2, 1}, Default, []float64{0.01, 0.05})
	for i := range full {
		within(t, "half as exposed", half[i], full[i], 0.01)
		within(t, "either face", other[i], one[i], 0.01)
		if one[i] >= full[i] || one[i] < full[i]*math.Sqrt(0.2) {
			t.Errorf("radius %.4f with one face hidden, %.4f in the open", one[i], full[i])
		}
	}
	if r := Edge(90, 0, [2]float64{0, 0}, Default, []float64{0.1}); r[0] != 0 {
		t.Errorf("radius %g of an edge that nothing touches", r[0])
	}
}

func TestNoEdge(t *testing.T) {
	for _, angle := range []float64{0, 180, -90, 270, math.NaN()} {
		if r := Edge(angle, 0, [2]float64{1, 1}, Default, depths); r[3] != 0 {
			t.Errorf("%g°: %v", angle, r)
		}
	}
	if r := Edge(90, 0, [2]float64{1, 1}, Default, []float64{0, 0.1, math.NaN(), 0.01}); r[0] != 0 || r[2] != 0 || r[3] <= 0 || r[1] <= r[3] {
		t.Errorf("%v", r)
	}
}

func BenchmarkEdge(b *testing.B) {
	for b.Loop() {
		Edge(90, -1.5, [2]float64{1, 0.5}, Default, depths)
	}
}
