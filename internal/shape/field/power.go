package field

import (
	"context"

	"fettle/internal/shape/cores"
)

// NoCentre stands for the height of a point that is no centre.
const NoCentre = float32(1e30)

// Power replaces the height h of each point, mm², by the least of h(c) + |x − c|²
// over all points c: with h = −r² the power distance to spheres of radius r, which
// is below 0 within them. [NoCentre] marks points that are no centre; it stays
// everywhere where all are. It is found axis by axis as the lower envelope of
// parabolas (Felzenszwalb and Huttenlocher, see [Squares], for heights that are no
// whole numbers). The only error is the context's.
func Power(ctx context.Context, height []float32, g Grid) error {
	stride := 1
	for axis := range 3 {
		if err := powerAlong(ctx, height, g, g.N[axis], stride); err != nil {
			return err
		}
		stride *= g.N[axis]
	}
	return nil
}

// powerAlong does lines of n points that lie a stride apart.
func powerAlong(ctx context.Context, v []float32, g Grid, n, stride int) error {
	return cores.Batches(ctx, g.Len()/n, 64, func(lo, hi int) {
		line, out := make([]float64, n), make([]float64, n)
		where, cross := make([]int, n), make([]float64, n+1)
		for l := lo; l < hi; l++ {
			start := l/stride*stride*n + l%stride
			any := false
			for i := range line {
				line[i] = float64(v[start+i*stride])
				any = any || v[start+i*stride] < NoCentre
			}
			if !any {
				continue
			}
			parabolas(line, out, where, cross, g.Cell*g.Cell)
			for i, x := range out {
				v[start+i*stride] = float32(x)
			}
		}
	})
}

// parabolas is the lower envelope of the parabolas on the given heights, of which
// one at least is a centre's.
func parabolas(height, out []float64, where []int, cross []float64, h2 float64) {
	m := 0
	for q, fq := range height {
		if fq >= float64(NoCentre) {
			continue
		}
		for m > 0 {
			p := where[m-1]
			x := ((fq-height[p])/h2 + float64(q*q-p*p)) / float64(2*(q-p))
			if m == 1 || x > cross[m-1] {
				cross[m] = x
				break
			}
			m--
		}
		where[m] = q
		m++
	}
	k := 0
	for i := range out {
		for k+1 < m && cross[k+1] < float64(i) {
			k++
		}
		d := float64(i - where[k])
		out[i] = height[where[k]] + h2*d*d
	}
}
