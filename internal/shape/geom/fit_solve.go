package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxUnknowns is the most that a fit solves for (the torus: two tilts, three
// shifts and two radii).
const maxUnknowns = 7

// normalEq gathers JᵀJ and Jᵀr of a least-squares problem with few unknowns.
type normalEq struct {
	n int
	a [maxUnknowns][maxUnknowns]float64
	b [maxUnknowns]float64
}

// add takes one equation: the row of the Jacobian and the residual.
func (e *normalEq) add(row *[maxUnknowns]float64, r float64) {
	for i := 0; i < e.n; i++ {
		for j := 0; j <= i; j++ {
			e.a[i][j] += row[i] * row[j]
		}
		e.b[i] += row[i] * r
	}
}

// solve returns the step −(JᵀJ + λ diag)⁻¹ Jᵀr by Cholesky; ok is false where
// the matrix is not positive definite: the points do not determine the surface.
func (e *normalEq) solve(lambda float64) (x [maxUnknowns]float64, ok bool) {
	var l [maxUnknowns][maxUnknowns]float64
	for i := 0; i < e.n; i++ {
		for j := 0; j <= i; j++ {
			s := e.a[i][j]
			if i == j {
				s *= 1 + lambda
			}
			for k := 0; k < j; k++ {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if !(s > 1e-13*e.a[i][i]) {
				return x, false
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	for i := 0; i < e.n; i++ {
		s := -e.b[i]
		for k := 0; k < i; k++ {
			s -= l[i][k] * x[k]
		}
		x[i] = s / l[i][i]
	}
	for i := e.n - 1; i >= 0; i-- {
		s := x[i]
		for k := i + 1; k < e.n; k++ {
			s -= l[k][i] * x[k]
		}
		x[i] = s / l[i][i]
	}
	return x, true
}

// Eigen returns the eigenvalues of a symmetric 3×3 matrix, smallest first, and
// their unit eigenvectors, by cyclic Jacobi rotations (Golub and Van Loan,
// Matrix Computations, §8.5).
func Eigen(a [3][3]float64) (val [3]float64, vec [3]r3.Vec) {
	v := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for sweep := 0; sweep < 30; sweep++ {
		off := a[0][1]*a[0][1] + a[0][2]*a[0][2] + a[1][2]*a[1][2]
		dia := a[0][0]*a[0][0] + a[1][1]*a[1][1] + a[2][2]*a[2][2]
		if off <= 1e-34*dia || off == 0 {
			break
		}
		for _, pq := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
			rotate(&a, &v, pq[0], pq[1])
		}
	}
	order := [3]int{0, 1, 2}
	for i := 0; i < 2; i++ {
		for j := 0; j < 2-i; j++ {
			if a[order[j]][order[j]] > a[order[j+1]][order[j+1]] {
				order[j], order[j+1] = order[j+1], order[j]
			}
		}
	}
	for i, k := range order {
		val[i] = a[k][k]
		vec[i] = r3.Vec{X: v[0][k], Y: v[1][k], Z: v[2][k]}
	}
	return val, vec
}

// rotate makes a[p][q] zero.
func rotate(a, v *[3][3]float64, p, q int) {
	if a[p][q] == 0 {
		return
	}
	th := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := 1 / (math.Abs(th) + math.Sqrt(1+th*th))
	if th < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(1+t*t)
	s := t * c
	for k := 0; k < 3; k++ {
		x, y := a[k][p], a[k][q]
		a[k][p], a[k][q] = c*x-s*y, s*x+c*y
	}
	for k := 0; k < 3; k++ {
		x, y := a[p][k], a[q][k]
		a[p][k], a[q][k] = c*x-s*y, s*x+c*y
	}
	for k := 0; k < 3; k++ {
		x, y := v[k][p], v[k][q]
		v[k][p], v[k][q] = c*x-s*y, s*x+c*y
	}
}

// addOuter adds w·(x xᵀ).
func addOuter(m *[3][3]float64, x r3.Vec, w float64) {
	m[0][0] += w * x.X * x.X
	m[1][1] += w * x.Y * x.Y
	m[2][2] += w * x.Z * x.Z
	m[0][1] += w * x.X * x.Y
	m[0][2] += w * x.X * x.Z
	m[1][2] += w * x.Y * x.Z
	m[1][0], m[2][0], m[2][1] = m[0][1], m[0][2], m[1][2]
}
