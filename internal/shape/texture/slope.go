package texture

import (
	"math"

	"fettle/internal/shape/relief"
)

// Slope is the slope at a point from three neighbours on either side, spacing
// apart: the formula that ISO 4287 gives for RΔq. It is within 0.2 % for waves of
// eight spacings and more, where the difference of the two nearest neighbours
// would be 10 % short.
func Slope(before3, before2, before, after, after2, after3, spacing float64) float64 {
	return (after3 - before3 - 9*(after2-before2) + 45*(after-before)) / (60 * spacing)
}

// slopesOf adds up the squared gradients and the area in excess of the
// projected one over the rows [lo, hi), by the seven-point formula in both
// directions. A cell counts where all its twelve neighbours are there; in a
// map of fewer than seven cells to a side, where the two next ones are, by the
// difference of those.
func (h *heights) slopesOf(m *relief.Map, lo, hi int) {
	w := m.W
	if m.W < 7 || m.H < 7 {
		h.fewSlopes(m, lo, hi)
		return
	}
	kx, ky := float32(1/(60*m.DX)), float32(1/(60*m.DY))
	for j := max(3, lo); j < min(m.H-3, hi); j++ {
		n := w - 6
		row := m.Z[j*w : j*w+w]
		a3, a2, a1 := m.Z[(j-3)*w+3:][:n], m.Z[(j-2)*w+3:][:n], m.Z[(j-1)*w+3:][:n]
		b1, b2, b3 := m.Z[(j+1)*w+3:][:n], m.Z[(j+2)*w+3:][:n], m.Z[(j+3)*w+3:][:n]
		// The seven of the row are handed from cell to cell.
		r0, r1, r2, r3, r4, r5 := row[0], row[1], row[2], row[3], row[4], row[5]
		ahead := row[6:][:n]
		var grad2, area float64
		count := 0
		for from := 0; from < n; from += 32 {
			var g, e float32 // over a few cells in single precision, as for the heights
			to := min(n, from+32)
			up3, up2, up1, right := a3[from:to], a2[from:to], a1[from:to], ahead[from:to]
			up2, up1, right = up2[:len(up3)], up1[:len(up3)], right[:len(up3)]
			dn1, dn2, dn3 := b1[from:to][:len(up3)], b2[from:to][:len(up3)], b3[from:to][:len(up3)]
			for i := range up3 {
				r6 := right[i]
				p := kx * ((r6 - r0) - 9*(r5-r1) + 45*(r4-r2))
				q := ky * ((dn3[i] - up3[i]) - 9*(dn2[i]-up2[i]) + 45*(dn1[i]-up1[i]))
				s := p*p + q*q
				if s+r3 == s+r3 {
					count++
					g += s
					if s < 1e-2 {
						// √(1+s) − 1 by its series: the root would lose the digits.
						e += s * (0.5 - s*(0.125-s*(0.0625-s*0.0390625)))
					} else {
						e += float32(math.Sqrt(1+float64(s)) - 1)
					}
				}
				r0, r1, r2, r3, r4, r5 = r1, r2, r3, r4, r5, r6
			}
			grad2 += float64(g)
			area += float64(e)
		}
		h.slopes += uint64(count)
		h.grad2, h.area = h.grad2+grad2, h.area+area
	}
}

func (h *heights) fewSlopes(m *relief.Map, lo, hi int) {
	for j := max(1, lo); j < min(m.H-1, hi); j++ {
		for i := 1; i < m.W-1; i++ {
			at := j*m.W + i
			p := float64(m.Z[at+1]-m.Z[at-1]) / (2 * m.DX)
			q := float64(m.Z[at+m.W]-m.Z[at-m.W]) / (2 * m.DY)
			s := p*p + q*q
			if s != s || m.Z[at] != m.Z[at] {
				continue
			}
			h.slopes++
			h.grad2 += s
			h.area += math.Sqrt(1+s) - 1
		}
	}
}
