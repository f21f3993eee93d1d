package texture

import (
	"context"
	"math"

	"fettle/internal/shape/relief"
)

// Areal gives the parameters of ISO 25178-2 of a map as it is, that is, after
// whatever levelling and filtering is wanted; heights count from their mean.
// Missing cells are left out. In the order of the list:
//
// Sa Sq Sz Sp Sv in µm, Ssk Sku without unit; Sdq without unit, Sdr in %; Sk Spk
// Svk in µm, Smr1 Smr2 in %; Sal in mm, Str without unit and Std in degrees from
// the X axis towards Y, 0 to 180, along the lay.
//
// Slopes are those of [Slope]. What a map is too small or too flat for is not
// in the list.
func Areal(ctx context.Context, m *relief.Map) (Parameters, error) {
	h, err := measure(ctx, m)
	if err != nil {
		return nil, err
	}
	p := h.list()
	if h.max > h.min {
		lay, err := layOf(ctx, m, h.mean)
		if err != nil {
			return nil, err
		}
		p.add("Sal", lay.Sal, milli)
		p.add("Str", lay.Str, pure)
		p.add("Std", lay.Std, degrees)
	}
	return p, nil
}

// Heights gives those of the parameters of [Areal] that need no correlation:
// all but Sal, Str and Std.
func Heights(ctx context.Context, m *relief.Map) (Parameters, error) {
	h, err := measure(ctx, m)
	if err != nil {
		return nil, err
	}
	return h.list(), nil
}

// MaterialRatio is the curve of a map, in 20,000 equal shares.
func MaterialRatio(ctx context.Context, m *relief.Map) (Curve, error) {
	h, err := measure(ctx, m)
	if err != nil {
		return nil, err
	}
	return h.curve(), nil
}

// classes is the number of height classes that the curve is counted in: Sz/65536
// is far below what any instrument tells apart.
const classes = 1 << 16

// heights is what one look at all cells gathers: mean and ends in mm, sums of
// powers in µm from the mean.
type heights struct {
	n              uint64
	mean, min, max float64
	s1, s2, s3, s4 float64
	slopes         uint64
	grad2, area    float64
	counts         []uint64
}

func (h *heights) list() (p Parameters) {
	n := float64(h.n)
	sq := math.Sqrt(max(0, h.s2/n))
	p.add("Sa", h.s1/n, micro)
	p.add("Sq", sq, micro)
	p.add("Sz", 1000*(h.max-h.min), micro)
	p.add("Sp", 1000*(h.max-h.mean), micro)
	p.add("Sv", 1000*(h.mean-h.min), micro)
	p.add("Ssk", h.s3/n/(sq*sq*sq), pure)
	p.add("Sku", h.s4/n/(sq*sq*sq*sq), pure)
	p.add("Sdq", math.Sqrt(h.grad2/float64(h.slopes)), pure)
	p.add("Sdr", 100*h.area/float64(h.slopes), percent)
	if core, ok := h.curve().Core(); ok {
		p.add("Sk", core.K, micro)
		p.add("Spk", core.PK, micro)
		p.add("Svk", core.VK, micro)
		p.add("Smr1", core.M1, percent)
		p.add("Smr2", core.M2, percent)
	}
	return p
}

func (h *heights) curve() Curve {
	return curveOfCounts(h.counts, 1000*(h.min-h.mean), 1000*(h.max-h.mean), h.n)
}

const bandRows = 32

// measure looks at every cell twice: for the mean and the range, and for all
// that counts from them.
func measure(ctx context.Context, m *relief.Map) (*heights, error) {
	if m.Cells() == 0 || len(m.Z) != m.Cells() {
		return nil, errEmpty
	}
	base, some := middle(m)
	if !some {
		return nil, errEmpty
	}
	pieces := make([]heights, (m.H+bandRows-1)/bandRows)
	err := bands(ctx, m.H, bandRows, func(piece, lo, hi int) {
		p := &pieces[piece]
		p.range_(m.Z[lo*m.W:hi*m.W], base)
	})
	if err != nil {
		return nil, err
	}
	h := &heights{min: math.Inf(1), max: math.Inf(-1)}
	for i := range pieces {
		p := &pieces[i]
		h.n += p.n
		h.mean += p.mean
		h.min, h.max = min(h.min, p.min), max(h.max, p.max)
	}
	h.mean = float64(base) + h.mean/float64(h.n)

	// Counts are whole numbers, so they may be added in any order: each worker
	// keeps one set.
	sets := make(chan []uint32, len(pieces))
	err = bands(ctx, m.H, bandRows, func(piece, lo, hi int) {
		var set []uint32
		select {
		case set = <-sets:
		default:
			set = make([]uint32, classes)
		}
		p := &pieces[piece]
		p.moments(m, lo, hi, h, set)
		sets <- set
	})
	if err != nil {
		return nil, err
	}
	close(sets)
	h.counts = make([]uint64, classes)
	for set := range sets {
		for i, c := range set {
			h.counts[i] += uint64(c)
		}
	}
	for i := range pieces {
		p := &pieces[i]
		h.s1, h.s2, h.s3, h.s4 = h.s1+p.s1, h.s2+p.s2, h.s3+p.s3, h.s4+p.s4
		h.slopes += p.slopes
		h.grad2, h.area = h.grad2+p.grad2, h.area+p.area
	}
	// The sums count from the mean rounded to single precision.
	off, n := 1000*(h.mean-float64(float32(h.mean))), float64(h.n)
	h.s4 += -4*off*h.s3 + 6*off*off*h.s2 - 3*n*off*off*off*off
	h.s3 += -3*off*h.s2 + 2*n*off*off*off
	h.s2 -= n * off * off
	return h, nil
}

// range_ counts the present cells and finds their ends and the sum of their
// distances from base.
func (h *heights) range_(z []float32, base float32) {
	lo, hi := float32(math.Inf(1)), float32(math.Inf(-1))
	n := 0
	var a, b, c, d float64
	i := 0
	for ; i+4 <= len(z); i += 4 {
		q := z[i : i+4 : i+4]
		v0, v1, v2, v3 := q[0], q[1], q[2], q[3]
		s := (v0 + v1) + (v2 + v3)
		if s != s {
			break
		}
		a += float64(v0 - base)
		b += float64(v1 - base)
		c += float64(v2 - base)
		d += float64(v3 - base)
		l, u := v0, v1
		if v1 < v0 {
			l, u = v1, v0
		}
		l2, u2 := v2, v3
		if v3 < v2 {
			l2, u2 = v3, v2
		}
		if l2 < l {
			l = l2
		}
		if u2 > u {
			u = u2
		}
		if l < lo {
			lo = l
		}
		if u > hi {
			hi = u
		}
		n += 4
	}
	sum := (a + b) + (c + d)
	for ; i < len(z); i++ { // from the first missing cell on, one by one
		v := z[i]
		if v != v {
			continue
		}
		sum += float64(v - base)
		lo, hi = min(lo, v), max(hi, v)
		n++
	}
	h.n, h.mean, h.min, h.max = uint64(n), sum, float64(lo), float64(hi)
}

// moments adds up the powers of the heights, counts their classes and looks at
// the slopes of the rows [lo, hi).
func (h *heights) moments(m *relief.Map, lo, hi int, all *heights, set []uint32) {
	mean, bottom := float32(all.mean), float32(all.min)
	scale := float32(0)
	if all.max > all.min {
		// A hair less than one class for each, so that the highest stays inside.
		scale = float32(classes * (1 - 1e-6) / (all.max - all.min))
	}
	if len(set) != classes {
		return // never: it lets the compiler see that every class is there
	}
	// Powers are added in single precision over a few cells, then in double:
	// turning every number costs more than adding it. In µm, as the fourth power
	// of a nanometre in mm is no single-precision number.
	for j := lo; j < hi; j++ {
		row := m.Z[j*m.W : (j+1)*m.W]
		for len(row) > 0 {
			few := row[:min(32, len(row))]
			row = row[len(few):]
			var s1, s2, s3, s4 float32
			for _, v := range few {
				c := int(scale * (v - bottom))
				d := 1000 * (v - mean)
				if d != d {
					continue
				}
				set[uint(c)%classes]++
				d2 := d * d
				s1 += math.Float32frombits(math.Float32bits(d) &^ (1 << 31))
				s2 += d2
				s3 += d2 * d
				s4 += d2 * d2
			}
			h.s1, h.s2 = h.s1+float64(s1), h.s2+float64(s2)
			h.s3, h.s4 = h.s3+float64(s3), h.s4+float64(s4)
		}
	}
	h.slopesOf(m, lo, hi)
}
