package texture

import (
	"context"
	"math"

	"fettle/internal/shape/relief"
)

// correlation is the autocorrelation function of a map (ISO 25178-2): for every
// shift the mean product of the heights, from their mean, over all pairs of
// present cells that lie so far apart, as a share of their variance. Cells are
// gathered q by q first; a large map is looked at in four tiles, each weighted
// less and less towards its ends.
type correlation struct {
	plane          // real parts; shift (i, j) at (i mod w, j mod h)
	maxX, maxY int // greatest shifts that are known, in gathered cells
	dx, dy     float64
	q          int
	variance   float64 // of the gathered cells, mm²
}

// tileCells is the side of a tile: with half of it as the greatest shift it
// fills a transform of 1024 points. Tests make it smaller.
var tileCells = 680

// correlate gathers q by q cells and correlates them.
func correlate(ctx context.Context, m *relief.Map, mean float64, q int) (*correlation, error) {
	w, h := m.W/q, m.H/q
	tw, th := min(w, tileCells), min(h, tileCells)
	c := &correlation{maxX: tw / 2, maxY: th / 2, dx: m.DX * float64(q), dy: m.DY * float64(q), q: q}
	pw, ph := power2(tw+c.maxX), power2(th+c.maxY)
	taperX, taperY := taper(tw), taper(th)
	var at [][2]int
	for _, y := range starts(h, th) {
		for _, x := range starts(w, tw) {
			at = append(at, [2]int{x, y})
		}
	}
	sum := newPlane(pw, ph) // |Z|² in the real part, |W|² of the weights in the other
	tile := newPlane(pw, ph)
	for _, o := range at {
		clear(tile.x)
		err := bands(ctx, th, 8, func(_, lo, hi int) {
			gatherTile(tile, m, mean, q, o, taperX, taperY, lo, hi)
		})
		if err == nil {
			err = tile.transform(ctx, th)
		}
		if err != nil {
			return nil, err
		}
		// One transform of z + iw holds those of z and of w: the parts of F(k) that
		// go with and against the mirrored F(−k).
		err = bands(ctx, ph, 16, func(_, lo, hi int) {
			for j := lo; j < hi; j++ {
				row, mirror := tile.x[j*pw:(j+1)*pw], tile.x[(ph-j)%ph*pw:][:pw]
				for i, f := range row {
					g := mirror[(pw-i)&(pw-1)]
					zr, zi := real(f)+real(g), imag(f)-imag(g)
					wr, wi := imag(f)+imag(g), real(g)-real(f)
					sum.x[j*pw+i] += complex((zr*zr+zi*zi)/4, (wr*wr+wi*wi)/4)
				}
			}
		})
		if err != nil {
			return nil, err
		}
	}
	// Both spectra are even, so one transform brings both back, apart.
	if err := sum.transform(ctx, ph); err != nil {
		return nil, err
	}
	first := sum.x[0]
	if !(imag(first) > 0) || !(real(first) > 0) {
		return nil, nil
	}
	c.variance = real(first) / imag(first)
	for i, v := range sum.x {
		if imag(v) < 1e-7*imag(first) { // no pair, but for rounding
			sum.x[i] = 0
			continue
		}
		sum.x[i] = complex(real(v)/imag(v)/c.variance, 0)
	}
	c.plane = *sum
	return c, nil
}

// starts places one tile, or two at the ends.
func starts(n, tile int) []int {
	if n == tile {
		return []int{0}
	}
	return []int{0, n - tile}
}

// taper is a Hann window. Without it, the shares of a wave that the ends of a
// tile cut off would show as waves of their own.
func taper(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		s := math.Sin(math.Pi * (float64(i) + 0.5) / float64(n))
		w[i] = s * s
	}
	return w
}

// gatherTile averages q by q cells, for the rows [lo, hi) of a tile: heights
// from the mean in the real part, the weight of a present one in the other.
func gatherTile(tile *plane, m *relief.Map, mean float64, q int, at [2]int, taperX, taperY []float64, lo, hi int) {
	tw := len(taperX)
	for j := lo; j < hi; j++ {
		row := tile.x[j*tile.w : j*tile.w+tw]
		ty := taperY[j]
		for i := range row {
			sum, n := 0.0, 0
			for y := (at[1] + j) * q; y < (at[1]+j+1)*q; y++ {
				for _, v := range m.Z[y*m.W+(at[0]+i)*q:][:q] {
					if v == v {
						sum += float64(v)
						n++
					}
				}
			}
			if 2*n >= q*q {
				t := taperX[i] * ty
				row[i] = complex((sum/float64(n)-mean)*t, t)
			}
		}
	}
}

// at is the correlation for a shift in gathered cells, between the known ones
// by their straight lines; ok is false past the greatest shift.
func (c *correlation) at(x, y float64) (v float64, ok bool) {
	if math.Abs(x) > float64(c.maxX) || math.Abs(y) > float64(c.maxY) {
		return 0, false
	}
	fx, fy := math.Floor(x), math.Floor(y)
	i, j := int(fx)&(c.w-1), int(fy)&(c.h-1)
	i1, j1 := (i+1)&(c.w-1), (j+1)&(c.h-1)
	u, t := x-fx, y-fy
	v00, v10 := real(c.x[j*c.w+i]), real(c.x[j*c.w+i1])
	v01, v11 := real(c.x[j1*c.w+i]), real(c.x[j1*c.w+i1])
	return (1-t)*((1-u)*v00+u*v10) + t*((1-u)*v01+u*v11), true
}

// decay is how far the correlation stays at or above a level from the middle
// outward in a direction, mm; past is true where it still does at the greatest
// shift.
func (c *correlation) decay(angle, level float64) (mm float64, past bool) {
	s, co := math.Sincos(angle)
	step := 0.5 * min(c.dx, c.dy)
	was, r := 1.0, 0.0
	for {
		next := r + step
		v, ok := c.at(next*co/c.dx, next*s/c.dy)
		if !ok {
			return r, true
		}
		if v < level {
			return r + step*(was-level)/(was-v), false
		}
		was, r = v, next
	}
}

// gathering is how many cells may be gathered into one, to a side, such that
// hardly any of the variance is lost: 1 % at most, told from bands of rows all
// over the map.
func gathering(m *relief.Map, mean float64) int {
	const rows, most = 32, 16
	var of [6]float64 // sums of squares by level, as shares of their cells
	var n [6]float64
	buf := make([]float32, m.W*rows)
	for b := range most {
		top := 0
		if m.H > rows {
			top = b * (m.H - rows) / (most - 1)
		} else if b > 0 {
			break
		}
		w, h := m.W, min(rows, m.H)
		for i, v := range m.Z[top*m.W : (top+h)*m.W] {
			buf[i] = float32(float64(v) - mean)
		}
		for level := 0; ; level++ {
			for _, v := range buf[:w*h] {
				if v == v {
					of[level] += float64(v) * float64(v)
					n[level]++
				}
			}
			if level+1 == len(of) || w < 2 || h < 2 {
				break
			}
			for j := range h / 2 {
				a, c := buf[2*j*w:(2*j+1)*w], buf[(2*j+1)*w:(2*j+2)*w]
				for i := range w / 2 {
					buf[j*(w/2)+i] = (a[2*i] + a[2*i+1] + c[2*i] + c[2*i+1]) / 4
				}
			}
			w, h = w/2, h/2
		}
	}
	q := 1
	for level := 1; level < len(of); level++ {
		small := min(m.W, m.H) >> level
		if n[level] == 0 || small < 128 || of[level]/n[level] < 0.99*of[0]/n[0] {
			break
		}
		q = 1 << level
	}
	return q
}

// fitting is how many cells must be gathered for a map to fit into one tile.
func fitting(m *relief.Map) int {
	q := 1
	for m.W/q > tileCells || m.H/q > tileCells {
		q++
	}
	return min(q, m.W, m.H)
}
