package slide

import "math"

// sym is a symmetric matrix with up to six rows, in its upper left corner.
type sym [6][6]float64

// eigen are the eigenvalues of the first n rows of a symmetric matrix, smallest
// first, and their unit eigenvectors (vec[i] belongs to val[i]), by cyclic Jacobi
// rotations (Golub and Van Loan, Matrix Computations, §8.5).
func eigen(a sym, n int) (val [6]float64, vec [6][6]float64) {
	var v sym // columns are the vectors
	for i := range n {
		v[i][i] = 1
	}
	for range 40 {
		off, dia := 0.0, 0.0
		for i := range n {
			dia += a[i][i] * a[i][i]
			for j := range i {
				off += a[i][j] * a[i][j]
			}
		}
		if off <= 1e-34*dia || off == 0 {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				jacobi(&a, &v, n, p, q)
			}
		}
	}
	var order [6]int
	for i := range n {
		j := i
		for ; j > 0 && a[order[j-1]][order[j-1]] > a[i][i]; j-- {
			order[j] = order[j-1]
		}
		order[j] = i
	}
	for i := range n {
		k := order[i]
		val[i] = a[k][k]
		for r := range n {
			vec[i][r] = v[r][k]
		}
	}
	return val, vec
}

// jacobi makes a[p][q] zero.
func jacobi(a, v *sym, n, p, q int) {
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
	for k := range n {
		x, y := a[k][p], a[k][q]
		a[k][p], a[k][q] = c*x-s*y, s*x+c*y
	}
	for k := range n {
		x, y := a[p][k], a[q][k]
		a[p][k], a[q][k] = c*x-s*y, s*x+c*y
	}
	for k := range n {
		x, y := v[k][p], v[k][q]
		v[k][p], v[k][q] = c*x-s*y, s*x+c*y
	}
}

// quad is xᵀ a y.
func (a *sym) quad(x, y *[6]float64) float64 {
	s := 0.0
	for i := range 6 {
		r := 0.0
		for j := range 6 {
			r += a[i][j] * y[j]
		}
		s += x[i] * r
	}
	return s
}
