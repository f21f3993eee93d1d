package bvh

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// torus about z, radii 30 and 10.
func torus(n, k int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		for j := range k {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			t, d := math.Sincos(2 * math.Pi * float64(j) / float64(k))
			r := 30 + 10*d
			m.Pos = append(m.Pos, r3.Vec{X: r * c, Y: r * s, Z: 10 * t})
		}
	}
	at := func(i, j int) uint32 { return uint32(i%n*k + j%k) }
	for i := range n {
		for j := range k {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			m.Tri = append(m.Tri, [3]uint32{a, b, c}, [3]uint32{a, c, d})
		}
	}
	return m
}

// The distance to a torus is |hypot(ρ − R, z) − r|; a tessellation of k
// segments is at most r (1 − cos π/k) plus the same of the large circle inside
// it.
func TestTorus(t *testing.T) {
	const n, k = 240, 96
	tree := Build(torus(n, k))
	sag := 10*(1-math.Cos(math.Pi/k)) + 40*(1-math.Cos(math.Pi/n))
	rng := rand.New(rand.NewPCG(5, 6))
	in := 0
	for range 20_000 {
		p := r3.Vec{X: 100 * (rng.Float64() - 0.5), Y: 100 * (rng.Float64() - 0.5), Z: 40 * (rng.Float64() - 0.5)}
		signed := math.Hypot(math.Hypot(p.X, p.Y)-30, p.Z) - 10
		_, _, d2 := tree.Nearest(p)
		if math.Abs(math.Sqrt(d2)-math.Abs(signed)) > sag {
			t.Fatalf("at %v: distance %g, torus %g, sag %g", p, math.Sqrt(d2), signed, sag)
		}
		if math.Abs(signed) < sag {
			continue
		}
		if tree.Inside(p) != (signed < 0) {
			t.Fatalf("at %v: inside %v, torus %g, winding %g", p, tree.Inside(p), signed, tree.Winding(p))
		}
		if signed < 0 {
			in++
		}
	}
	if in < 2000 {
		t.Errorf("only %d points were inside", in)
	}
}

// Against the sum over all triangles, for closed, holed, doubled and hollow
// shapes.
func TestWindingAgainstAll(t *testing.T) {
	ball := pebble(40)
	holed := &mesh.Mesh{Pos: ball.Pos, Tri: ball.Tri[:len(ball.Tri)*9/10]}
	doubled := &mesh.Mesh{Pos: ball.Pos, Tri: append(ball.Tri[:len(ball.Tri):len(ball.Tri)], ball.Tri...)}
	hollow := &mesh.Mesh{Pos: ball.Pos, Tri: ball.Tri[:len(ball.Tri):len(ball.Tri)]}
	for _, p := range ball.Pos {
		hollow.Pos = append(hollow.Pos, r3.Scale(0.5, p))
	}
	for _, v := range ball.Tri {
		k := uint32(len(ball.Pos))
		hollow.Tri = append(hollow.Tri, [3]uint32{v[0] + k, v[2] + k, v[1] + k})
	}
	rng := rand.New(rand.NewPCG(8, 9))
	for name, m := range map[string]*mesh.Mesh{"closed": ball, "holed": holed, "doubled": doubled, "hollow": hollow} {
		tree := Build(m)
		worst := 0.0
		for range 1000 {
			p := r3.Vec{X: 80 * (rng.Float64() - 0.5), Y: 80 * (rng.Float64() - 0.5), Z: 80 * (rng.Float64() - 0.5)}
			want := 0.0
			for i := range tree.tri {
				want += solidAngle(&tree.tri[i], [3]float64{p.X, p.Y, p.Z})
			}
			worst = max(worst, math.Abs(tree.Winding(p)-want/(4*math.Pi)))
		}
		t.Logf("%s: worst error of the winding number %.4f", name, worst)
		limit := 0.02
		if name == "doubled" {
			limit *= 2
		}
		if worst > limit {
			t.Errorf("%s: the winding number is off by %g", name, worst)
		}
	}
	tree := Build(hollow)
	if tree.Inside(r3.Vec{}) || !tree.Inside(r3.Vec{X: 22}) || tree.Inside(r3.Vec{X: 40}) {
		t.Error("a cavity counts as inside, or its wall as outside")
	}
}

// The whole sphere is 4π and an octant of it seen from the centre π/2.
func TestSolidAngle(t *testing.T) {
	oct := [3]corner{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	if got := solidAngle(&oct, [3]float64{}); math.Abs(got-math.Pi/2) > 1e-15 {
		t.Errorf("an octant is %.17g", got)
	}
}
