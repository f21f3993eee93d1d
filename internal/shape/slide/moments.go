package slide

import "gonum.org/v1/gonum/spatial/r3"

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
