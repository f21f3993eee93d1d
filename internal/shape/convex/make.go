package convex

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"
)

// Sphere is a ball of diameter d.
func Sphere(d float64) *Body { return (&Body{ball: d / 2, endAlike: true}).measure() }

// Cylinder is a straight cylinder of diameter d and length l.
func Cylinder(d, l float64) *Body {
	r, h := d/2, l/2
	return (&Body{meridian: [][2]float64{{0, -h}, {r, -h}, {r, h}, {0, h}}, endAlike: true}).measure()
}

// Cone has a base of diameter d and height h; its centre lies a quarter of the
// height above the base.
func Cone(d, h float64) *Body {
	return (&Body{meridian: [][2]float64{{0, -h / 4}, {d / 2, -h / 4}, {0, 3 * h / 4}}}).measure()
}

// CutDeg is the angle between the ends of an angle-cut cylinder and its axis.
// Makers cut at 45 to 60° from the axis; 60° is the blunter, with the shorter
// overall length for the same name. A guess.
const CutDeg = 60.0

// sidesOfCut is how many flats stand for the round of an angle-cut cylinder. They
// are set so that the width across flats is the diameter; across the corners it
// is 0.9 % more.
const sidesOfCut = 24

// AngleCut is a cylinder of diameter d whose parallel ends are slanted; l is its
// length along the axis, which is that of every line on its side.
func AngleCut(d, l float64) *Body {
	r := d / 2 / math.Cos(math.Pi/sidesOfCut)
	slope := 1 / math.Tan(CutDeg*math.Pi/180)
	loop := make([]r3.Vec, sidesOfCut)
	for i := range loop {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / sidesOfCut)
		loop[i] = r3.Vec{X: r * cos, Y: r * sin, Z: r * cos * slope}
	}
	return prism(loop, l, []quat{{1, 0, 0, 0}, {0, 0, 1, 0}})
}

// Triangle is a flat piece with three equal sides.
func Triangle(side, thickness float64) *Body {
	loop := make([]r3.Vec, 3)
	for i := range loop {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 3)
		loop[i] = r3.Vec{X: side / math.Sqrt(3) * cos, Y: side / math.Sqrt(3) * sin}
	}
	var sym []quat
	for i := range 3 {
		sin, cos := math.Sincos(math.Pi * float64(i) / 3)
		sym = append(sym, quat{cos, 0, 0, sin})
	}
	for i := range 3 { // half turns about the heights
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 3)
		sym = append(sym, quat{0, cos, sin, 0})
	}
	return prism(loop, thickness, sym)
}

// prism runs a loop, counter-clockwise from above and centred, along Z.
func prism(loop []r3.Vec, height float64, sym []quat) *Body {
	n := len(loop)
	b := &Body{symmetry: sym}
	for _, s := range []float64{-0.5, 0.5} {
		for _, v := range loop {
			b.verts = append(b.verts, r3.Add(v, r3.Vec{Z: s * height}))
		}
	}
	top, bottom := make([]int, n), make([]int, n)
	for i := range n {
		top[i], bottom[i] = n+i, n-1-i
	}
	b.face(top)
	b.face(bottom)
	for i := range n {
		j := (i + 1) % n
		b.face([]int{i, j, n + j, n + i})
	}
	return b.measure()
}

// face adds a side.
func (b *Body) face(loop []int) {
	v := b.verts
	n := r3.Unit(r3.Cross(r3.Sub(v[loop[1]], v[loop[0]]), r3.Sub(v[loop[2]], v[loop[0]])))
	b.faces = append(b.faces, face{loop, n, r3.Dot(n, v[loop[0]])})
}

// Tetra is a regular tetrahedron.
func Tetra(edge float64) *Body {
	k := edge / math.Sqrt(8)
	b := &Body{verts: []r3.Vec{{X: k, Y: k, Z: k}, {X: k, Y: -k, Z: -k}, {X: -k, Y: k, Z: -k}, {X: -k, Y: -k, Z: k}}}
	for _, f := range [][]int{{1, 3, 2}, {0, 2, 3}, {0, 3, 1}, {0, 1, 2}} {
		b.face(f)
	}
	b.symmetry = []quat{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}, {0, 0, 0, 1}}
	for _, s := range [][3]float64{{1, 1, 1}, {1, -1, -1}, {-1, 1, -1}, {-1, -1, 1}} {
		for _, w := range []float64{0.5, -0.5} {
			b.symmetry = append(b.symmetry, quat{w, s[0] / 2, s[1] / 2, s[2] / 2})
		}
	}
	return b.measure()
}

// Grain is an irregular crumb whose middle caliper lies between two sieves, as
// it does for what one of them lets through and the other holds back. Its
// corners are two dozen points spread over an ellipsoid of 1 : 1.25 : 1.55 and
// drawn in by up to a fifth, at random: the look of broken cob and shell, a
// guess. The same seed gives the same grain.
func Grain(smallest, largest float64, seed uint64) *Body {
	rng := rand.New(rand.NewPCG(seed, 0x67e55))
	const n = 24
	points := make([]r3.Vec, n)
	for i := range points {
		z := 1 - (2*float64(i)+1)/n
		sin, cos := math.Sincos(float64(i)*goldenAngle + 0.6*rng.Float64())
		r := 1 - 0.2*rng.Float64()
		side := math.Sqrt(1 - z*z)
		points[i] = r3.Vec{X: r * side * cos, Y: 1.25 * r * side * sin, Z: 1.55 * r * z}
	}
	b := hull(points)
	b.symmetry = []quat{{1, 0, 0, 0}}
	want := smallest + (largest-smallest)*rng.Float64()
	return b.measure().Scaled(want / b.Calipers()[1])
}
