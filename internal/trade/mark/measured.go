package mark

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/relief"
)

const (
	// outside is the share of the cells that stand over a measured pattern's peak,
	// and as many under its valley. Peak to valley of all cells hangs on the single
	// highest and lowest: a grain of dust, or a corner where the form was fitted
	// badly. A cell in a thousand costs parabolic cusps 0.2 % of their height.
	outside = 0.001
	classes = 1 << 14 // to find the bounds
	levels  = 2048    // of the material ratio curve
	rows    = 32      // to a batch
)

// Measured is the curve of a surface that was simulated or scanned: a map in mm
// with its form taken off, in which a cell without a height is left out. heightUM
// is the height of the pattern, between the levels that 0.1 % of the cells stand
// above and 0.1 % under; what lies beyond counts as lying on them. Slopes are
// those from cell to cell, which flatten a sharp crest between two cells: of cusps with
// thirty cells to a wavelength the rms slope comes out 3 % short.
//
// The same map gives the same numbers on any number of cores. It fails with
// Invalid on a map with nothing on it: fewer than two cells, or all of one height.
func Measured(m *relief.Map) (c *Curve, heightUM float64, err error) {
	if m == nil || len(m.Z) != m.Cells() {
		return nil, 0, fettle.Errorf(fettle.Invalid, "the map of the surface is not whole; give a height or NaN for every cell")
	}
	lo, hi, err := bounds(m)
	if err != nil {
		return nil, 0, err
	}
	h := spread(m, lo, hi)
	slope2 := h.slopes[levels]
	height := float64(hi) - float64(lo)
	if slope2 <= 0 {
		return nil, 0, fettle.Errorf(fettle.Invalid, "no two cells of the map lie side by side, so it has no slopes; give a map without gaps")
	}
	c = tabulate(func(u float64) cut {
		at := u * levels
		i := min(int(at), levels-1)
		f := at - float64(i)
		// Within a class the ratio falls in a straight line.
		a, b := h.over[i], h.over[i+1]
		d, z := f/levels, float64(i)/levels
		mean := a + f*(b-a)/2            // of the ratio over the stretch
		lever := a/2 + f*(b-a)/3         // and of its place in it, in stretches
		m2 := 2 * d * (z*mean + d*lever) // ∫ 2z·ratio
		return cut{
			m1:     h.m1[i] + d*mean,
			m2:     h.m2[i] + m2,
			slope2: (h.slopes[i] + f*(h.slopes[i+1]-h.slopes[i])) / slope2,
		}
	})
	// Slopes are in height to mm; 1 µm on 1 mm is 1 mrad.
	c.perHeight = math.Sqrt(slope2)
	return c, height * 1000, nil
}

// bounds are the levels between which a pattern counts, in mm over the map's base.
func bounds(m *relief.Map) (lo, hi float32, err error) {
	low, high := float32(math.Inf(1)), float32(math.Inf(-1))
	n := 0
	for _, z := range m.Z {
		if z != z {
			continue
		}
		low, high = min(low, z), max(high, z)
		n++
	}
	if n < 2 {
		return 0, 0, fettle.Errorf(fettle.Invalid, "the map of the surface has no heights; measure it again")
	}
	if !(high > low) || math.IsInf(float64(high)-float64(low), 0) {
		return 0, 0, fettle.Errorf(fettle.Invalid, "all cells of the map lie at one height, so there is no pattern to wear down; leave the mark out")
	}
	// Once over all, and again between the classes that the bounds fell into: one
	// cell far off would leave too few classes for the rest.
	for range 2 {
		scale := classes * (1 - 1e-6) / (float64(high) - float64(low))
		counts := make([]int, classes)
		under, over := 0, 0
		for _, z := range m.Z {
			switch {
			case z != z:
			case z < low:
				under++
			case z > high:
				over++
			default:
				counts[min(classes-1, int(scale*(float64(z)-float64(low))))]++
			}
		}
		most := int(outside * float64(n))
		i, k := 0, classes-1
		for ; under+counts[i] <= most && i < k; i++ {
			under += counts[i]
		}
		for ; over+counts[k] <= most && k > i; k-- {
			over += counts[k]
		}
		low, high = low+float32(float64(i)/scale), low+float32(float64(k+1)/scale)
	}
	if !(high > low) {
		return 0, 0, fettle.Errorf(fettle.Invalid, "but for single cells the map lies at one height, so there is no pattern to wear down; leave the mark out")
	}
	return low, high, nil
}

// profile is the material ratio curve of a pattern of height 1 at the edges of its
// classes: the share of the face over a level, the means of min(z, level) and of
// its square, and the sum under the level of the mean squared slopes, in heights
// to mm.
type profile struct{ over, m1, m2, slopes [levels + 1]float64 }

// batch is what some rows add to it.
type batch struct {
	cells, across, down int
	low                 int // at the lower bound or under it
	counts              [levels]int
	// Squares of differences of neighbours, along a row and from row to row.
	alongX, alongY kinks
}

// kinks add up the squares of differences d that lie under each level. Between two
// neighbours the surface is a straight line, so under a level between theirs lies a
// part of d² in proportion, which grows by d to a height. Kept is where the growth
// begins and ends; a kink between two edges of classes is shared by them.
type kinks [levels + 1]float64

// add takes in the heights of two neighbours, 0 to 1.
func (k *kinks) add(a, b float32) {
	if a > b {
		a, b = b, a
	}
	d := float64(b - a)
	if d == 0 {
		return
	}
	p, q := float64(a)*levels, float64(b)*levels
	i, j := min(int(p), levels-1), min(int(q), levels-1)
	f, g := p-float64(i), q-float64(j)
	k[i] += d * (1 - f)
	k[i+1] += d * f
	k[j] -= d * (1 - g)
	k[j+1] -= d * g
}

// spread sorts the cells and their slopes by level.
func spread(m *relief.Map, lo, hi float32) *profile {
	batches := make([]batch, (m.H+rows-1)/rows)
	// Nothing ends the background context, so there is no error to look at.
	_ = cores.Each(context.Background(), len(batches), func(i int) {
		batches[i].add(m, i*rows, min(m.H, (i+1)*rows), lo, hi)
	})
	all := &batches[0]
	for i := 1; i < len(batches); i++ {
		b := &batches[i]
		all.cells, all.low, all.across, all.down = all.cells+b.cells, all.low+b.low, all.across+b.across, all.down+b.down
		for k, n := range b.counts {
			all.counts[k] += n
		}
		for k := range b.alongX {
			all.alongX[k] += b.alongX[k]
			all.alongY[k] += b.alongY[k]
		}
	}
	p := &profile{}
	under := all.low
	kx, ky, rate := 0.0, 0.0, 0.0
	if all.across > 0 {
		kx = 1 / (float64(all.across) * m.DX * m.DX)
	}
	if all.down > 0 {
		ky = 1 / (float64(all.down) * m.DY * m.DY)
	}
	p.over[0] = 1 - float64(under)/float64(all.cells)
	for i, n := range all.counts {
		under += n
		a, b := p.over[i], 1-float64(under)/float64(all.cells)
		const d = 1.0 / levels
		p.over[i+1] = b
		p.m1[i+1] = p.m1[i] + d*(a+b)/2
		p.m2[i+1] = p.m2[i] + 2*d*(float64(i)*d*(a+b)/2+d*(a/2+(b-a)/3))
		rate += kx*all.alongX[i] + ky*all.alongY[i]
		p.slopes[i+1] = p.slopes[i] + math.Max(0, rate)*d // below 0 by rounding alone
	}
	return p
}

func (b *batch) add(m *relief.Map, from, to int, lo, hi float32) {
	// Heights from 0 at the lower bound to 1 at the upper one.
	scale := 1 / (hi - lo)
	level := func(z float32) float32 { return min(max((z-lo)*scale, 0), 1) }
	for j := from; j < to; j++ {
		row := m.Z[j*m.W : (j+1)*m.W]
		next := row[:0]
		if j+1 < m.H {
			next = m.Z[(j+1)*m.W : (j+2)*m.W]
		}
		before := float32(math.NaN())
		for i, v := range row {
			if v != v {
				before = v
				continue
			}
			z := level(v)
			b.cells++
			switch {
			case z <= 0:
				b.low++
			case z < 1: // the rest stand over every level
				b.counts[min(int(z*levels), levels-1)]++
			}
			if before == before {
				b.across++
				b.alongX.add(before, z)
			}
			before = z
			if i < len(next) {
				if w := next[i]; w == w {
					b.down++
					b.alongY.add(z, level(w))
				}
			}
		}
	}
}
