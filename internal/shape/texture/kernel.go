package texture

import "math"

// sigmaRatio is σ of the Gaussian weighting function in cut-offs: the function
// exp(−π(x/αλc)²)/(αλc), α = √(ln 2/π), of ISO 16610-21 has σ = α/√(2π) λc =
// 0.187390 λc and lets half of a wave as long as the cut-off through.
var sigmaRatio = math.Sqrt(math.Ln2/math.Pi) / math.Sqrt(2*math.Pi)

// reach is where the weighting function is cut off, in cut-offs: 4.8 σ, past
// which lies 2e-6 of its weight.
const reach = 0.9

// Transmission is the share of a wave's amplitude that the low-pass lets
// through: 2^−(λc/λ)² (ISO 16610-21).
func Transmission(wavelength, cutoff float64) float64 {
	r := cutoff / wavelength
	return math.Exp2(-r * r)
}

// gaussian is one half of the weighting function sampled at whole cells, from
// its middle outward, for a cut-off in cells. Middle and both halves sum to 1.
func gaussian(cutoff float64) []float64 {
	sigma := sigmaRatio * cutoff
	k := make([]float64, 1+int(math.Ceil(reach*cutoff)))
	sum := 0.0
	for i := range k {
		x := float64(i) / sigma
		k[i] = math.Exp(-x * x / 2)
		sum += k[i]
		if i > 0 {
			sum += k[i]
		}
	}
	for i := range k {
		k[i] /= sum
	}
	return k
}

// axis says how one direction of a map is filtered: cells are gathered into
// every d-th place with the weights of four boxes of d cells one after another,
// filtered there with k, and brought back by a cubic B-spline. k is made so that
// the three together let through what the Gaussian lets through. With d = 1 only
// the Gaussian itself is left.
//
// What is lost is the folding of waves shorter than 2d cells into longer ones
// and their images on the way back; with the cut-off at 13 places or more both
// stay under 1.5e-4 of a wave's amplitude (tested against the exact kernel).
type axis struct {
	n, d, pad int          // cells, step, places beyond either end
	places    int          // gathered places
	gather    [][4]float32 // by cell in its block, to places +2, +1, 0, −1
	k         []float32    // half of the kernel on places
	spread    [][4]float32 // by cell in its block, from places −1, 0, +1, +2
	norm      []float32    // 1 over the weight that a cell of a full row finds
	margin    int          // cells from either end within which norm is not 1
}

const placesPerCutoff = 13

func newAxis(n int, cutoff float64) *axis {
	a := &axis{n: n, d: max(1, int(cutoff/placesPerCutoff))}
	if a.d == 1 {
		a.places = n
		a.k = half(gaussian(cutoff), n)
	} else {
		a.pad = 3
		a.places = (n+a.d-1)/a.d + 2*a.pad
		a.weights(cutoff)
	}
	a.normalise()
	return a
}

// half shortens a kernel that is longer than the data and gives it in single
// precision.
func half(k []float64, n int) []float32 {
	k = k[:min(len(k), n)]
	out := make([]float32, len(k))
	for i, v := range k {
		out[i] = float32(v)
	}
	return out
}

func (a *axis) weights(cutoff float64) {
	d := a.d
	// Four boxes one after another: a discrete cubic B-spline of 4d−3 cells.
	box := []float64{1}
	for range 4 {
		next := make([]float64, len(box)+d-1)
		for i, v := range box {
			for t := range d {
				next[i+t] += v / float64(d)
			}
		}
		box = next
	}
	at := func(i int) float32 {
		if i < 0 || i >= len(box) {
			return 0
		}
		return float32(box[i])
	}
	spline := func(x float64) float64 {
		x = math.Abs(x)
		switch {
		case x < 1:
			return 2.0/3 - x*x + x*x*x/2
		case x < 2:
			return (2 - x) * (2 - x) * (2 - x) / 6
		}
		return 0
	}
	a.gather, a.spread = make([][4]float32, d), make([][4]float32, d)
	for t := range d {
		a.gather[t] = [4]float32{at(t - 2), at(t + d - 2), at(t + 2*d - 2), at(t + 3*d - 2)}
		u := float64(t) / float64(d)
		a.spread[t] = [4]float32{float32(spline(u + 1)), float32(spline(u)), float32(spline(1 - u)), float32(spline(2 - u))}
	}
	// The kernel on places is the Fourier series of what is still wanted.
	const m = 512
	var want [m + 1]float64
	for i := range want {
		f := 0.5 * float64(i) / m / float64(d) // cycles in a cell
		down := 1.0
		if i > 0 {
			s := math.Sin(math.Pi*f*float64(d)) / (float64(d) * math.Sin(math.Pi*f))
			down = s * s * s * s
		}
		up := 0.0
		for c := 1 - 2*d; c < 2*d; c++ {
			up += spline(float64(c)/float64(d)) * math.Cos(2*math.Pi*f*float64(c))
		}
		want[i] = Transmission(1/f, cutoff) / (down * up / float64(d))
	}
	k := make([]float64, 1+int(math.Ceil(reach*cutoff/float64(d))))
	for j := range k {
		sum := (want[0] + want[m]*math.Cos(math.Pi*float64(j))) / 2
		for i := 1; i < m; i++ {
			sum += want[i] * math.Cos(math.Pi*float64(i)*float64(j)/m)
		}
		k[j] = sum / m
	}
	a.k = half(k, a.places)
}

// normalise sends a row of ones through, which tells what weight a cell near an
// end finds.
func (a *axis) normalise() {
	ones := make([]float32, a.n)
	for i := range ones {
		ones[i] = 1
	}
	p, q := make([]float32, a.places), make([]float32, a.places+2*len(a.k))
	a.down(p, ones, 0)
	a.smooth(p, q)
	a.norm = make([]float32, a.n)
	a.up(a.norm, p)
	a.margin = min(a.n, (len(a.k)+2*a.pad)*a.d)
	for i, v := range a.norm {
		a.norm[i] = 1 / v
	}
}

// down gathers a row, less base, into p.
func (a *axis) down(p, row []float32, base float32) {
	if a.d == 1 {
		for i, v := range row {
			p[i] = v - base
		}
		return
	}
	clear(p)
	g := a.gather
	for b := 0; b*a.d < len(row); b++ {
		blk := row[b*a.d : min(len(row), (b+1)*a.d)]
		if len(blk) > len(g) {
			return // never: it lets the compiler see that g[t] exists
		}
		var s0, s1, s2, s3 float32
		for t, v := range blk {
			w := &g[t]
			v -= base
			s0 += w[0] * v
			s1 += w[1] * v
			s2 += w[2] * v
			s3 += w[3] * v
		}
		q := p[b+a.pad-1:]
		q[3] += s0
		q[2] += s1
		q[1] += s2
		q[0] += s3
	}
}

// smooth filters p in place, with zeros beyond its ends; q is room for p and
// the kernel at either end.
func (a *axis) smooth(p, q []float32) {
	k := a.k
	r := len(k) - 1
	q = q[:len(p)+2*r]
	clear(q[:r])
	copy(q[r:], p)
	clear(q[r+len(p):])
	i := 0
	for ; i+4 <= len(p); i += 4 {
		// Four neighbours at once: each tap is loaded for all of them.
		m := q[i+r : i+r+4]
		w := k[0]
		s0, s1, s2, s3 := w*m[0], w*m[1], w*m[2], w*m[3]
		for j := 1; j < len(k); j++ {
			w := k[j]
			lo := q[i+r-j : i+r-j+4]
			hi := q[i+r+j : i+r+j+4]
			s0 += w * (lo[0] + hi[0])
			s1 += w * (lo[1] + hi[1])
			s2 += w * (lo[2] + hi[2])
			s3 += w * (lo[3] + hi[3])
		}
		p[i], p[i+1], p[i+2], p[i+3] = s0, s1, s2, s3
	}
	for ; i < len(p); i++ {
		s := k[0] * q[i+r]
		for j := 1; j < len(k); j++ {
			s += k[j] * (q[i+r-j] + q[i+r+j])
		}
		p[i] = s
	}
}

// up brings places back to cells.
func (a *axis) up(row, p []float32) {
	if a.d == 1 {
		copy(row, p)
		return
	}
	g := a.spread
	for b := 0; b*a.d < len(row); b++ {
		blk := row[b*a.d : min(len(row), (b+1)*a.d)]
		if len(blk) > len(g) {
			return // never, as above
		}
		q := p[b+a.pad-1 : b+a.pad+3]
		c0, c1, c2, c3 := q[0], q[1], q[2], q[3]
		for t := range blk {
			w := &g[t]
			blk[t] = (w[0]*c0 + w[1]*c1) + (w[2]*c2 + w[3]*c3)
		}
	}
}
