package slide

import (
	"math"

	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// slips are the slippage of one patch: of every rigid motion, how far its points
// stray from the surface against how far they travel.
//
// A twist (w, v) moves the place p at w×p + v, of which (w×p + v)·n = w·(p×n) + v·n
// is lost from the surface. Both mean squares are quadratic forms in the twist,
// and their ratio is squared slippage. Gelfand and Guibas take the eigenvalues of
// the first form alone, after the patch is scaled to a usual size; asking for the
// ratio instead makes all six values plain numbers, mm of stray per mm of travel,
// that do not depend on origin or scale. About the centroid the second form is the
// unit matrix for v and the tensor J = mean(p²I − ppᵀ) for w, so that with
// y = (J^½ w, v) the problem is that of one symmetric matrix.
type slips struct {
	c     r3.Vec        // centroid
	n     r3.Vec        // mean normal, not of unit length
	j     [3][3]float64 // J
	half  [3][3]float64 // J^−½
	ahead [3]r3.Vec     // the directions in which the patch is longest, next and least
	reach [3]float64    // rms extent in them
	a     sym           // of y
	val   [6]float64    // slippage, smallest first
	vec   [6][6]float64
	noise float64 // rms error of the normals
	size  float64 // rms distance of points from the centroid
	nn    [3][3]float64
}

func newSlips(s *moments, origin r3.Vec) *slips {
	z := &slips{}
	if s.area <= 0 {
		return z
	}
	k := 1 / s.area
	c := scale(k, s.p)
	z.c, z.n = add(origin, c), scale(k, s.n)
	z.noise = math.Sqrt(k * s.noise)

	pp := full(&s.pp)
	cc := [3]float64{c.X, c.Y, c.Z}
	for i := range 3 {
		for l := range 3 {
			pp[i][l] = k*pp[i][l] - cc[i]*cc[l]
		}
	}
	tr := pp[0][0] + pp[1][1] + pp[2][2]
	z.size = math.Sqrt(max(0, tr))
	for i := range 3 {
		for l := range 3 {
			z.j[i][l] = -pp[i][l]
		}
		z.j[i][i] += tr
	}
	// The tensor's axes are those of spread, its values the sums of the two others.
	spread, axes := geom.Eigen(pp)
	for i := range 3 {
		z.ahead[i], z.reach[i] = axes[2-i], math.Sqrt(max(0, spread[2-i]))
		j := max(tr-spread[i], 1e-12*tr, 1e-300)
		h := 1 / math.Sqrt(j)
		e := [3]float64{axes[i].X, axes[i].Y, axes[i].Z}
		for r := range 3 {
			for l := range 3 {
				z.half[r][l] += h * e[r] * e[l]
			}
		}
	}

	// From the origin to the centroid: m becomes m − c×n.
	x := [3][3]float64{{0, -c.Z, c.Y}, {c.Z, 0, -c.X}, {-c.Y, c.X, 0}}
	nn, mn, mm := full(&s.nn), s.mn, full(&s.mm)
	xn := product(x, nn)
	xmn := product(x, transposed(mn))
	xnx := product(xn, transposed(x))
	for i := range 3 {
		for l := range 3 {
			mm[i][l] = k * (mm[i][l] - xmn[i][l] - xmn[l][i] + xnx[i][l])
			mn[i][l] = k * (mn[i][l] - xn[i][l])
			nn[i][l] *= k
		}
	}
	z.nn = nn
	ww := product(product(z.half, mm), z.half)
	wv := product(z.half, mn)
	for i := range 3 {
		for l := range 3 {
			z.a[i][l] = (ww[i][l] + ww[l][i]) / 2
			z.a[i][l+3] = wv[i][l]
			z.a[l+3][i] = wv[i][l]
			z.a[i+3][l+3] = nn[i][l]
		}
	}
	z.val, z.vec = eigen(z.a, 6)
	for i, v := range z.val {
		z.val[i] = math.Sqrt(max(0, v))
	}
	return z
}

func product(a, b [3][3]float64) (c [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			c[i][j] = a[i][0]*b[0][j] + a[i][1]*b[1][j] + a[i][2]*b[2][j]
		}
	}
	return c
}

func transposed(a [3][3]float64) [3][3]float64 {
	return [3][3]float64{{a[0][0], a[1][0], a[2][0]}, {a[0][1], a[1][1], a[2][1]}, {a[0][2], a[1][2], a[2][2]}}
}

func times(a *[3][3]float64, v r3.Vec) r3.Vec {
	return r3.Vec{
		X: a[0][0]*v.X + a[0][1]*v.Y + a[0][2]*v.Z,
		Y: a[1][0]*v.X + a[1][1]*v.Y + a[1][2]*v.Z,
		Z: a[2][0]*v.X + a[2][1]*v.Y + a[2][2]*v.Z,
	}
}

// twist is that of coordinates y.
func (z *slips) twist(y *[6]float64) twist {
	return twist{times(&z.half, r3.Vec{X: y[0], Y: y[1], Z: y[2]}), r3.Vec{X: y[3], Y: y[4], Z: y[5]}}
}

// y are the coordinates of a twist at the centroid: J^½ = J J^−½.
func (z *slips) y(t twist) [6]float64 {
	w := times(&z.j, times(&z.half, t.W))
	return [6]float64{w.X, w.Y, w.Z, t.V.X, t.V.Y, t.V.Z}
}

// slip is the slippage of a twist.
func (z *slips) slip(t twist) float64 {
	y := z.y(t)
	d := 0.0
	for _, v := range y {
		d += v * v
	}
	if d == 0 {
		return 1
	}
	return math.Sqrt(max(0, z.a.quad(&y, &y)) / d)
}

// of is the slippage of a motion.
func (z *slips) of(m Motion) float64 { return z.slip(m.twist(z.c)) }

// count is how many motions slide within a limit.
func (z *slips) count(limit float64) int {
	n := 0
	for n < 6 && z.val[n] <= limit {
		n++
	}
	return n
}

// paced sets the pace of a turn or screw, so that the centroid travels 1 mm; where
// it lies near the axis, as for whole rounds and for a turn about the normal of a
// plane, a typical point in its stead: one at the root-mean-square distance.
func (z *slips) paced(m Motion) Motion {
	if !m.Turns {
		m.PerMM, m.Pitch, m.At = 0, 0, r3.Vec{}
		return m
	}
	mid := norm2(r3.Cross(m.Axis, sub(z.c, m.At)))
	typical := mid + r3.Dot(m.Axis, times(&z.j, m.Axis))
	if mid < typical/4 {
		mid = typical
	}
	h := m.Pitch / (2 * math.Pi)
	if v := mid + h*h; v > 0 {
		m.PerMM = 1 / math.Sqrt(v)
	}
	return m
}
