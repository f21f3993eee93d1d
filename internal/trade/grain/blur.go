package grain

import "math"

// blur smooths lines of a grid by a Gaussian of so many cells, around the corner: the
// grid is taken to repeat.
func blur(z []float64, w, h int, sigma float64, rows bool) {
	if sigma < 0.2 {
		return
	}
	lines, n, step, next := h, w, 1, w
	if !rows {
		lines, n, step, next = w, h, w, 1
	}
	line, out := make([]float64, n), make([]float64, n)
	var taps []float64
	if sigma < 6 {
		taps = gaussian(sigma)
	}
	for l := range lines {
		at := l * next
		for i := range n {
			line[i] = z[at+i*step]
		}
		if taps != nil {
			convolve(out, line, taps)
		} else {
			boxes(out, line, sigma)
		}
		for i := range n {
			z[at+i*step] = out[i]
		}
	}
}

// gaussian is half a Gaussian window, from its middle outwards, its sum 1.
func gaussian(sigma float64) []float64 {
	taps := make([]float64, int(math.Ceil(4*sigma))+1)
	sum := 0.0
	for i := range taps {
		taps[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += taps[i]
		if i > 0 {
			sum += taps[i]
		}
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

func convolve(out, in, taps []float64) {
	n := len(in)
	for i := range out {
		s := taps[0] * in[i]
		for k := 1; k < len(taps); k++ {
			s += taps[k] * (in[((i-k)%n+n)%n] + in[(i+k)%n])
		}
		out[i] = s
	}
}

// boxes are three moving means, which come close to a Gaussian of the same variance
// (W. M. Wells, "Efficient synthesis of Gaussian filters by cascaded uniform filters",
// IEEE Trans. PAMI 8 (1986) 234).
func boxes(out, in []float64, sigma float64) {
	n := len(in)
	r := int(math.Round((math.Sqrt(4*sigma*sigma+1) - 1) / 2)) // three of width 2r+1: variance ((2r+1)² − 1)/4
	r = min(max(r, 1), (n-1)/2)
	a, b := append([]float64(nil), in...), make([]float64, n)
	for range 3 {
		sum := 0.0
		for k := -r; k <= r; k++ {
			sum += a[(k+n)%n]
		}
		for i := range n {
			b[i] = sum / float64(2*r+1)
			sum += a[(i+r+1)%n] - a[((i-r)%n+n)%n]
		}
		a, b = b, a
	}
	copy(out, a)
}
