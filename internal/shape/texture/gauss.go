package texture

import (
	"context"
	"fmt"
	"math"

	"fettle/internal/shape/relief"
)

// Ends says what becomes of places so near the end of the data that part of the
// weighting function falls outside.
type Ends int

const (
	// Normalised keeps them and divides by the weight that did fall inside.
	Normalised Ends = iota
	// Dropped takes half a cut-off away at every end, after filtering: the
	// run-in and run-out of a stylus instrument.
	Dropped
)

// LowPass is the waviness of a map: the Gaussian filter of ISO 16610-61 with a
// cut-off in mm. Missing cells stay missing and lend no weight to others. It
// follows the exact filter within 3e-4 of a wave's amplitude; cut-offs under 26
// cells are filtered with the Gaussian itself.
func LowPass(ctx context.Context, m *relief.Map, cutoffMM float64, ends Ends) (*relief.Map, error) {
	return filter(ctx, m, cutoffMM, ends, false)
}

// HighPass is the roughness of a map: what [LowPass] with the same cut-off takes
// away.
func HighPass(ctx context.Context, m *relief.Map, cutoffMM float64, ends Ends) (*relief.Map, error) {
	return filter(ctx, m, cutoffMM, ends, true)
}

// filtering is one run of a filter over a map.
type filtering struct {
	ctx  context.Context
	m    *relief.Map
	base float32 // taken off every height, so that small ones keep their digits
	x, y *axis
	rest bool      // give what is left instead of what passes
	z, w []float32 // places: heights, and weights where cells are missing
}

func filter(ctx context.Context, m *relief.Map, cutoffMM float64, ends Ends, rest bool) (*relief.Map, error) {
	if !(cutoffMM > 0) || math.IsInf(cutoffMM, 0) {
		return nil, fmt.Errorf("texture: a cut-off of %g mm filters nothing: give one greater than 0", cutoffMM)
	}
	if m.Cells() == 0 || len(m.Z) != m.Cells() || !(m.DX > 0) || !(m.DY > 0) {
		return nil, errEmpty
	}
	f := &filtering{ctx: ctx, m: m, rest: rest,
		x: newAxis(m.W, cutoffMM/m.DX), y: newAxis(m.H, cutoffMM/m.DY)}
	some := false
	f.base, some = middle(m)
	if !some {
		return nil, errEmpty
	}
	out, err := f.run()
	if err != nil || ends != Dropped {
		return out, err
	}
	return crop(out, int(math.Round(cutoffMM/2/m.DX)), int(math.Round(cutoffMM/2/m.DY)))
}

var errEmpty = fmt.Errorf("texture: the map has no heights: give one with at least a few measured cells")

// middle is a rough mean of the present cells, and whether there are any.
func middle(m *relief.Map) (float32, bool) {
	for _, step := range []int{max(1, len(m.Z)/4099), 1} {
		sum, n := 0.0, 0
		for i := 0; i < len(m.Z); i += step {
			if v := float64(m.Z[i]); v == v {
				sum += v
				n++
			}
		}
		if n > 0 {
			return float32(sum / float64(n)), true
		}
	}
	return 0, false
}

func (f *filtering) run() (*relief.Map, error) {
	whole, err := f.down()
	if err == nil && !whole {
		err = f.downHoles()
	}
	if err == nil {
		err = f.across(f.z)
	}
	if err == nil && f.w != nil {
		err = f.across(f.w)
	}
	if err != nil {
		return nil, err
	}
	out := &relief.Map{Grid: f.m.Grid, Base: f.m.Base + float64(f.base)}
	if f.rest {
		out.Base = 0
	}
	if f.x.d == 1 && f.y.d == 1 {
		out.Z = f.z
	} else {
		out.Z = make([]float32, f.m.Cells())
	}
	return out, f.up(out.Z)
}

// down gathers all rows into places, and says whether no cell is missing. Where
// rows are gathered too, those are summed as they come.
func (f *filtering) down() (whole bool, err error) {
	x, y := f.x, f.y
	f.z = make([]float32, x.places*y.places)
	holes := make([]bool, (y.places+7)/8)
	err = bands(f.ctx, y.places, 8, func(piece, lo, hi int) {
		holes[piece] = !f.gatherRows(lo, hi, f.z, func(p []float32, row []float32) { x.down(p, row, f.base) })
	})
	for _, h := range holes {
		if h {
			return false, err
		}
	}
	return true, err
}

// downHoles gathers again with missing cells as zeros, and the weights beside.
func (f *filtering) downHoles() error {
	x, y := f.x, f.y
	f.w = make([]float32, x.places*y.places)
	return bands(f.ctx, y.places, 8, func(_, lo, hi int) {
		there := make([]float32, x.n)
		f.gatherRows(lo, hi, f.z, func(p, row []float32) {
			for i, v := range row {
				if v != v {
					there[i] = 0
				} else {
					there[i] = v - f.base
				}
			}
			x.down(p, there, 0)
		})
		f.gatherRows(lo, hi, f.w, func(p, row []float32) {
			for i, v := range row {
				there[i] = 1
				if v != v {
					there[i] = 0
				}
			}
			x.down(p, there, 0)
		})
	})
}

// gatherRows makes the rows [lo, hi) of places, filtered along x, and says
// whether all of them are numbers.
func (f *filtering) gatherRows(lo, hi int, places []float32, down func(p, row []float32)) bool {
	x, y := f.x, f.y
	w := x.places
	q := make([]float32, w+2*len(x.k))
	whole := true
	one := make([]float32, w)
	rows := places[lo*w : hi*w]
	clear(rows)
	if y.d == 1 {
		for j := lo; j < hi; j++ {
			p := places[j*w : (j+1)*w]
			down(p, f.m.Z[j*x.n:(j+1)*x.n])
			x.smooth(p, q)
			whole = whole && numbers(p)
		}
		return whole
	}
	// A block of rows feeds the places −1 … +2 about its own.
	first, last := max(0, (lo-y.pad-2)*y.d), min(y.n, (hi-y.pad+1)*y.d)
	for j := first; j < last; j++ {
		b, t := j/y.d, j%y.d
		at := b + y.pad // the place of this block
		down(one, f.m.Z[j*x.n:(j+1)*x.n])
		for i := range 4 { // places +2, +1, 0, −1
			r := at + 2 - i
			wt := y.gather[t][i]
			if r < lo || r >= hi || wt == 0 {
				continue
			}
			p := places[r*w : (r+1)*w]
			for c, v := range one {
				p[c] += wt * v
			}
		}
	}
	for r := lo; r < hi; r++ {
		p := places[r*w : (r+1)*w]
		x.smooth(p, q)
		whole = whole && numbers(p)
	}
	return whole
}

// numbers says whether a row holds no NaN.
func numbers(p []float32) bool {
	for _, v := range p {
		if v != v {
			return false
		}
	}
	return true
}

// across filters the columns in place, a strip at a time.
func (f *filtering) across(places []float32) error {
	const strip = 16
	w, h := f.x.places, f.y.places
	k := f.y.k
	r := len(k) - 1
	return bands(f.ctx, w, strip, func(_, lo, hi int) {
		buf := make([][strip]float32, h+2*r)
		for j := range h {
			copy(buf[r+j][:], places[j*w+lo:j*w+hi])
		}
		for j := range h {
			var acc [strip]float32
			c, w0 := &buf[r+j], k[0]
			for i := range acc {
				acc[i] = w0 * c[i]
			}
			for t := 1; t < len(k); t++ {
				a, b, wt := &buf[r+j-t], &buf[r+j+t], k[t]
				for i := range acc {
					acc[i] += wt * (a[i] + b[i])
				}
			}
			copy(places[j*w+lo:j*w+hi], acc[:])
		}
	})
}

// up brings places back to cells and writes what was asked for; out may be the
// places themselves where neither direction was gathered.
func (f *filtering) up(out []float32) error {
	x, y := f.x, f.y
	pw := x.places
	return bands(f.ctx, y.n, 32, func(_, lo, hi int) {
		mixed, wide := make([]float32, pw), make([]float32, x.n)
		for j := lo; j < hi; j++ {
			src := f.m.Z[j*x.n : (j+1)*x.n]
			dst := out[j*x.n : (j+1)*x.n]
			if f.w == nil {
				f.mix(mixed, f.z, j, y.norm[j])
				x.up(dst, mixed)
				for i := 0; i < x.margin; i++ {
					dst[i] *= x.norm[i]
				}
				for i := max(x.margin, x.n-x.margin); i < x.n; i++ {
					dst[i] *= x.norm[i]
				}
				if f.rest {
					for i, v := range src {
						dst[i] = v - f.base - dst[i]
					}
				}
				continue
			}
			f.mix(mixed, f.w, j, 1)
			x.up(wide, mixed)
			f.mix(mixed, f.z, j, 1)
			x.up(dst, mixed)
			for i, v := range src {
				low := dst[i] / wide[i]
				if v != v {
					low = v
				}
				if f.rest {
					low = v - f.base - low
				}
				dst[i] = low
			}
		}
	})
}

// mix blends four rows of places into the row of cells j, times s.
func (f *filtering) mix(into, places []float32, j int, s float32) {
	w, y := f.x.places, f.y
	if y.d == 1 {
		for i, v := range places[j*w : (j+1)*w] {
			into[i] = s * v
		}
		return
	}
	b, t := j/y.d+y.pad-1, j%y.d
	k := y.spread[t]
	k0, k1, k2, k3 := s*k[0], s*k[1], s*k[2], s*k[3]
	r0, r1 := places[b*w:(b+1)*w], places[(b+1)*w:(b+2)*w]
	r2, r3 := places[(b+2)*w:(b+3)*w], places[(b+3)*w:(b+4)*w]
	for i := range into {
		into[i] = (k0*r0[i] + k1*r1[i]) + (k2*r2[i] + k3*r3[i])
	}
}

// crop takes cells away at every side.
func crop(m *relief.Map, nx, ny int) (*relief.Map, error) {
	w, h := m.W-2*nx, m.H-2*ny
	if w < 1 || h < 1 {
		return nil, fmt.Errorf("texture: a map of %.3g by %.3g mm is all run-in at this cut-off: choose a shorter one or keep the ends",
			float64(m.W)*m.DX, float64(m.H)*m.DY)
	}
	out := &relief.Map{Grid: m.Grid, Base: m.Base, Z: make([]float32, w*h)}
	out.W, out.H = w, h
	out.X0, out.Y0 = m.X(nx), m.Y(ny)
	for j := range h {
		copy(out.Z[j*w:(j+1)*w], m.Z[(j+ny)*m.W+nx:])
	}
	return out, nil
}
