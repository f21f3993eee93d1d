package slide

import (
	"fettle/internal/shape/geom"

	"gonum.org/v1/gonum/spatial/r3"
)

// moments are what slippage needs to know of a surface: sums over area-weighted
// samples p with normals n, all from one origin. They add, so that the union of
// two patches costs nothing to ask (Gelfand and Guibas 2004, §3).
type moments struct {
	area  float64
	p     r3.Vec
	pp    [6]float64 // xx xy xz yy yz zz
	n     r3.Vec
	mm    [6]float64    // (p×n)(p×n)ᵀ
	mn    [3][3]float64 // (p×n)nᵀ
	nn    [6]float64    // nnᵀ
	noise float64       // of the normals, squared, rad²
}

func addSym(s *[6]float64, v r3.Vec, w float64) {
	x, y, z := w*v.X, w*v.Y, w*v.Z
	s[0] += x * v.X
	s[1] += x * v.Y
	s[2] += x * v.Z
	s[3] += y * v.Y
	s[4] += y * v.Z
	s[5] += z * v.Z
}

// sample adds a place p, from the origin, with its normal, area and the error of
// the normal in radians.
func (s *moments) sample(p, n r3.Vec, w, err float64) {
	m := r3.Cross(p, n)
	s.area += w
	s.p = add(s.p, scale(w, p))
	addSym(&s.pp, p, w)
	s.n = add(s.n, scale(w, n))
	addSym(&s.mm, m, w)
	for i, a := range [3]float64{w * m.X, w * m.Y, w * m.Z} {
		s.mn[i][0] += a * n.X
		s.mn[i][1] += a * n.Y
		s.mn[i][2] += a * n.Z
	}
	addSym(&s.nn, n, w)
	s.noise += w * err * err
}

func (s *moments) add(o *moments) {
	s.area += o.area
	s.p = add(s.p, o.p)
	s.n = add(s.n, o.n)
	for i := range 6 {
		s.pp[i] += o.pp[i]
		s.mm[i] += o.mm[i]
		s.nn[i] += o.nn[i]
	}
	for i := range 3 {
		for j := range 3 {
			s.mn[i][j] += o.mn[i][j]
		}
	}
	s.noise += o.noise
}

func full(s *[6]float64) [3][3]float64 {
	return [3][3]float64{{s[0], s[1], s[2]}, {s[1], s[3], s[4]}, {s[2], s[4], s[5]}}
}

// The rule with six points that is exact for polynomials of the fourth degree on
// a triangle: twice three points, each with its weight (D. A. Dunavant, "High
// degree efficient symmetrical Gaussian quadrature rules for the triangle", Int.
// J. Numer. Meth. Engng 21, 1985). (p×n)² is of the fourth degree where the
// normal turns evenly.
var quadrature = [2]struct{ near, off, weight float64 }{
	{0.108103018168070, 0.445948490915965, 0.223381589678011},
	{0.816847572980459, 0.091576213509771, 0.109951743655322},
}

// gather adds a facet that lies on an elementary face. Where its points stand off
// the surface they do so along the normal, which p×n does not feel.
func (s *moments) gather(f *geom.Surface, hollow bool, a, b, c, origin r3.Vec, area, err float64) {
	sense := 1.0
	if hollow && f.Kind != geom.Plane {
		sense = -1
	}
	for _, q := range quadrature {
		for k := range 3 {
			wa, wb, wc := q.off, q.off, q.off
			switch k {
			case 0:
				wa = q.near
			case 1:
				wb = q.near
			default:
				wc = q.near
			}
			p := add(scale(wa, a), add(scale(wb, b), scale(wc, c)))
			s.sample(sub(p, origin), scale(sense, f.Normal(p)), q.weight*area, err)
		}
	}
}
