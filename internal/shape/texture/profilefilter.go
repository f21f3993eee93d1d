package texture

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Filter parts a profile of heights, dx mm apart, by the Gaussian filter of
// ISO 16610-21 into what is longer and what is shorter than the cut-off: low and
// high, of the same length as z, or with [Dropped] ends half a cut-off shorter
// at each. Missing points stay missing and lend no weight to others.
func Filter(z []float64, dxMM, cutoffMM float64, ends Ends) (low, high []float64, err error) {
	if !(cutoffMM > 0) || !(dxMM > 0) || math.IsInf(cutoffMM, 0) {
		return nil, nil, fmt.Errorf("texture: a cut-off of %g mm over points %g mm apart filters nothing: give lengths greater than 0", cutoffMM, dxMM)
	}
	drop := 0
	if ends == Dropped {
		drop = int(math.Round(cutoffMM / 2 / dxMM))
		if 2*drop >= len(z) {
			return nil, nil, fmt.Errorf("texture: a profile of %.4g mm is all run-in at a cut-off of %g mm: choose a shorter one or keep the ends",
				float64(len(z))*dxMM, cutoffMM)
		}
	}
	low = smoothLine(z, gaussian(cutoffMM/dxMM))
	high = make([]float64, len(z))
	for i := range z {
		high[i] = z[i] - low[i]
	}
	return low[drop : len(z)-drop], high[drop : len(z)-drop], nil
}

// ValleySuppressed is the roughness for the core of a profile with deep valleys
// (ISO 13565-1): the mean line is drawn, valleys below it are filled up to it,
// and the line drawn anew is what heights count from, so that the valleys do
// not pull it down.
func ValleySuppressed(z []float64, dxMM, cutoffMM float64, ends Ends) ([]float64, error) {
	low, _, err := Filter(z, dxMM, cutoffMM, Normalised)
	if err != nil {
		return nil, err
	}
	filled := make([]float64, len(z))
	for i := range z {
		filled[i] = z[i]
		if z[i] < low[i] {
			filled[i] = low[i]
		}
	}
	low, _, err = Filter(filled, dxMM, cutoffMM, ends)
	if err != nil {
		return nil, err
	}
	drop := (len(z) - len(low)) / 2
	for i := range low {
		low[i] = z[i+drop] - low[i]
	}
	return low, nil
}

// smoothLine is the mean of the present points under the kernel.
func smoothLine(z, k []float64) []float64 {
	k = k[:min(len(k), len(z))]
	base := 0.0
	for _, v := range z {
		if !math.IsNaN(v) {
			base = v
			break
		}
	}
	there, weight := make([]float64, len(z)), make([]float64, len(z))
	for i, v := range z {
		if !math.IsNaN(v) {
			there[i], weight[i] = v-base, 1
		}
	}
	convolve := direct
	if len(z)*len(k) > 1<<24 {
		convolve = spectral
	}
	there, weight = convolve(there, k), convolve(weight, k)
	for i, v := range z {
		there[i] = there[i]/weight[i] + base
		if math.IsNaN(v) {
			there[i] = v
		}
	}
	return there
}

func direct(z, k []float64) []float64 {
	out := make([]float64, len(z))
	for i := range z {
		s := k[0] * z[i]
		before, after := z[:i], z[i+1:]
		for j := 1; j < len(k) && (j <= len(before) || j <= len(after)); j++ {
			v := 0.0
			if j <= len(before) {
				v = before[len(before)-j]
			}
			if j <= len(after) {
				v += after[j-1]
			}
			s += k[j] * v
		}
		out[i] = s
	}
	return out
}

// spectral is the same through the Fourier transform, for long kernels.
func spectral(z, k []float64) []float64 {
	n := power2(len(z) + len(k))
	f := fourier.NewFFT(n)
	a, b := make([]float64, n), make([]float64, n)
	copy(a, z)
	b[0] = k[0]
	for j := 1; j < len(k); j++ {
		b[j], b[n-j] = k[j], k[j]
	}
	x, y := f.Coefficients(nil, a), f.Coefficients(nil, b)
	for i := range x {
		x[i] *= y[i]
	}
	f.Sequence(a, x)
	out := a[:len(z)]
	for i := range out {
		out[i] /= float64(n)
	}
	return out
}
