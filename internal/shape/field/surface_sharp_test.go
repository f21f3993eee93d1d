package field

import (
	"math"
	"math/rand/v2"
	"testing"

	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// block is a box of half sizes h, turned so that no edge runs along the grid.
type block struct {
	h    [3]float64
	axes [3]r3.Vec
	at   r3.Vec
}

func aBlock(seed uint64) block {
	rng := rand.New(rand.NewPCG(seed, 5))
	turn := r3.NewRotation(3*rng.Float64(), r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
	return block{
		h:    [3]float64{3.1, 2.2, 1.7},
		axes: [3]r3.Vec{turn.Rotate(r3.Vec{X: 1}), turn.Rotate(r3.Vec{Y: 1}), turn.Rotate(r3.Vec{Z: 1})},
		at:   r3.Vec{X: 0.2 * rng.Float64(), Y: 0.2 * rng.Float64(), Z: 0.2 * rng.Float64()},
	}
}

// distance is exact on both sides.
func (b block) distance(p r3.Vec) float64 {
	p = r3.Sub(p, b.at)
	most, out := math.Inf(-1), 0.0
	for a := range 3 {
		d := math.Abs(r3.Dot(p, b.axes[a])) - b.h[a]
		most = math.Max(most, d)
		if d > 0 {
			out += d * d
		}
	}
	if most > 0 {
		return math.Sqrt(out)
	}
	return most
}

// normal is that of the face nearest to p.
func (b block) normal(p r3.Vec) r3.Vec {
	p = r3.Sub(p, b.at)
	most, which := math.Inf(-1), 0
	for a := range 3 {
		if d := math.Abs(r3.Dot(p, b.axes[a])) - b.h[a]; d > most {
			most, which = d, a
		}
	}
	return r3.Scale(math.Copysign(1, r3.Dot(p, b.axes[which])), b.axes[which])
}

func (b block) corner(c int) r3.Vec {
	p := b.at
	for a := range 3 {
		p = r3.Add(p, r3.Scale(b.h[a]*float64(c>>a&1*2-1), b.axes[a]))
	}
	return p
}

// likeness is how far the vertices are from the block and the block's corners
// from the nearest vertex, at most, in mm.
func (b block) likeness(m *mesh.Mesh) (off, corners float64) {
	for _, p := range m.Pos {
		off = math.Max(off, math.Abs(b.distance(p)))
	}
	for c := range 8 {
		near := math.Inf(1)
		for _, p := range m.Pos {
			near = math.Min(near, r3.Norm(r3.Sub(p, b.corner(c))))
		}
		corners = math.Max(corners, near)
	}
	return off, corners
}

// A turned block keeps its edges and corners to a twentieth of a cell, and with
// them its volume and area, where the model gives its distances; by the field's
// own values it comes near; a plain net rounds them.
func TestSurfaceSharpBlock(t *testing.T) {
	for seed := range uint64(6) {
		b := aBlock(seed)
		f := filled(41, 0.25, b.distance)
		cells := func(x float64) float64 { return x / f.Cell }
		m := surface(t, f, 0, SurfaceOptions{Normals: b.normal, Distance: b.distance})
		manifold(t, "block", m)
		off, corners := b.likeness(m)
		if cells(off) > 0.05 || cells(corners) > 0.05 {
			t.Errorf("seed %d: off by %.4f cells, corners by %.4f", seed, cells(off), cells(corners))
		}
		got := mesh.Measure(m, nil)
		closeTo(t, "volume", got.Volume, 8*b.h[0]*b.h[1]*b.h[2], 1e-3)
		closeTo(t, "area", got.Area, 8*(b.h[0]*b.h[1]+b.h[1]*b.h[2]+b.h[2]*b.h[0]), 1e-3)

		without, plain := surface(t, f, 0, SurfaceOptions{Normals: b.normal}), surface(t, f, 0, SurfaceOptions{})
		manifold(t, "block", without)
		off, corners = b.likeness(without)
		offPlain, cornersPlain := b.likeness(plain)
		if cells(off) > 0.25 || cells(corners) > 0.4 || off > 0.6*offPlain || corners > 0.6*cornersPlain {
			t.Errorf("seed %d, by the field's values: off by %.4f cells, corners by %.4f; plain %.4f, %.4f", seed, cells(off), cells(corners), cells(offPlain), cells(cornersPlain))
		}
	}
}

// The surface 1 mm outside a block has round edges, by Steiner's formula for a
// convex body: volume V + Ad + πd²·(sum of edges)/4 + 4πd³/3.
func TestSurfaceAroundBlock(t *testing.T) {
	b := aBlock(7)
	f := filled(57, 0.25, b.distance)
	away := func(p r3.Vec) r3.Vec { // from the nearest point of the block
		q := r3.Sub(p, b.at)
		var out r3.Vec
		for a := range 3 {
			x := r3.Dot(q, b.axes[a])
			out = r3.Add(out, r3.Scale(x-math.Min(math.Max(x, -b.h[a]), b.h[a]), b.axes[a]))
		}
		return r3.Unit(out)
	}
	m := surface(t, f, 1, SurfaceOptions{Normals: away, Distance: b.distance})
	manifold(t, "offset block", m)
	x, y, z := 2*b.h[0], 2*b.h[1], 2*b.h[2]
	closeTo(t, "volume", mesh.Measure(m, nil).Volume, x*y*z+2*(x*y+y*z+z*x)+math.Pi*(x+y+z)+4*math.Pi/3, 0.002)
	if off, _ := b.likeness(m); math.Abs(off-1) > 0.1*f.Cell {
		t.Errorf("a vertex %.4f away", off)
	}
}

// A ball stays round, and its vertices on it.
func TestSurfaceSharpBall(t *testing.T) {
	f := filled(41, 0.25, ball(4))
	opt := SurfaceOptions{Normals: func(p r3.Vec) r3.Vec { return r3.Unit(p) }, Distance: ball(4)}
	for _, level := range []float64{0, -1} {
		m := surface(t, f, level, opt)
		manifold(t, "ball", m)
		r := 4 + level
		for _, p := range m.Pos {
			if math.Abs(r3.Norm(p)-r) > 0.03*f.Cell {
				t.Fatalf("a vertex %.4f from the middle, at level %g", r3.Norm(p), level)
			}
		}
		closeTo(t, "volume", mesh.Measure(m, nil).Volume, 4*math.Pi/3*r*r*r, 0.005)
		for i := range m.Tri {
			n, _ := m.Normal(i)
			a, b, c := m.Corners(i)
			if r3.Dot(n, r3.Unit(r3.Add(a, r3.Add(b, c)))) < 0.95 {
				t.Fatalf("facet %d looks aside", i)
			}
		}
	}
}
