package learn

import (
	"math"

	"fettle"

	"gonum.org/v1/gonum/mat"
)

// Line is a straight line fitted by least squares, with the standard errors of
// its two numbers and the share of the variance that it explains.
type Line struct {
	Intercept, Slope     float64
	InterceptSE, SlopeSE float64
	R2                   float64
	Residual             float64 // standard deviation of what is left
}

// StraightLine fits y by x by ordinary least squares. It fails with Invalid on
// fewer than three points, on numbers that are none, and where all x are alike.
func StraightLine(x, y []float64) (Line, error) {
	if len(x) != len(y) || len(x) < 3 {
		return Line{}, fettle.Errorf(fettle.Invalid, "a line needs three points at least, and as many x as y")
	}
	n := float64(len(x))
	var mx, my float64
	for i := range x {
		mx += x[i] / n
		my += y[i] / n
	}
	var xx, xy, yy float64
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		xy += (x[i] - mx) * (y[i] - my)
		yy += (y[i] - my) * (y[i] - my)
	}
	if !(xx > 1e-12*n*(1+mx*mx)) || math.IsInf(xx, 0) || math.IsNaN(xy) || math.IsInf(yy, 0) {
		return Line{}, fettle.Errorf(fettle.Invalid, "a line needs sizes that differ")
	}
	l := Line{Slope: xy / xx}
	l.Intercept = my - l.Slope*mx
	left := math.Max(0, yy-l.Slope*xy)
	l.Residual = math.Sqrt(left / (n - 2))
	l.SlopeSE = l.Residual / math.Sqrt(xx)
	l.InterceptSE = l.Residual * math.Sqrt(1/n+mx*mx/xx)
	if yy > 0 {
		l.R2 = 1 - left/yy
	}
	return l, nil
}

// GammaLog fits positive times y as Gamma distributed about the exponential of a
// straight combination of the columns of x (a generalised linear model with a
// logarithmic link; Nelder and Wedderburn, J. R. Stat. Soc. A 135 (1972) 370), by
// iteratively reweighted least squares, whose weights are all alike for this pair.
// Rows of x are pieces, and a column of ones is its intercept. It fails with
// Invalid on times that are not above zero and on columns that do not differ.
func GammaLog(x [][]float64, y []float64) ([]float64, error) {
	if len(x) != len(y) || len(x) == 0 || len(x[0]) == 0 || len(x) < len(x[0]) {
		return nil, fettle.Errorf(fettle.Invalid, "there are more numbers to fit than pieces")
	}
	n, k := len(x), len(x[0])
	a := mat.NewDense(n, k, nil)
	eta := make([]float64, n)
	for i, row := range x {
		if len(row) != k || !(y[i] > 0) || math.IsInf(y[i], 0) {
			return nil, fettle.Errorf(fettle.Invalid, "piece %d has no time above zero, or a column too few", i+1)
		}
		a.SetRow(i, row)
		eta[i] = math.Log(y[i])
	}
	var qr mat.QR
	qr.Factorize(a)
	beta := make([]float64, k)
	for range 50 {
		z := mat.NewVecDense(n, nil)
		for i := range n {
			mu := math.Exp(eta[i])
			z.SetVec(i, eta[i]+(y[i]-mu)/mu)
		}
		var next mat.VecDense
		if err := qr.SolveVecTo(&next, false, z); err != nil {
			return nil, fettle.Errorf(fettle.Invalid, "what is to be fitted cannot be told apart on these pieces")
		}
		moved := 0.0
		for j := range k {
			moved = math.Max(moved, math.Abs(next.AtVec(j)-beta[j]))
			beta[j] = next.AtVec(j)
		}
		var e mat.VecDense
		e.MulVec(a, &next)
		for i := range n {
			eta[i] = math.Max(-50, math.Min(50, e.AtVec(i)))
		}
		if moved < 1e-12 {
			break
		}
	}
	return beta, nil
}
