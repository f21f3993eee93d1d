package texture

import (
	"context"
	"math"
	"math/bits"
)

// fft is the discrete Fourier transform of a power of two of points by radix 2
// (Cooley and Tukey, Mathematics of Computation 19 (1965) 297).
type fft struct {
	n    int
	turn []complex128 // e^(−2πik/n), k < n/2
	swap []int32
}

func newFFT(n int) *fft {
	f := &fft{n: n, turn: make([]complex128, n/2), swap: make([]int32, n)}
	for k := range f.turn {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
		f.turn[k] = complex(c, s)
	}
	shift := 64 - bits.Len(uint(n-1))
	for i := range f.swap {
		if n > 1 {
			f.swap[i] = int32(bits.Reverse64(uint64(i)) >> shift)
		}
	}
	return f
}

// do transforms in place, without a factor. It reads and writes nothing but its
// caller's x, so the race detector has nothing to find in it and would take most
// of its time there.
//
//go:norace
func (f *fft) do(x []complex128) {
	n := f.n
	x = x[:n]
	for i, j := range f.swap {
		if int(j) > i {
			x[i], x[j] = x[j], x[i]
		}
	}
	if n >= 2 {
		for i := 0; i+1 < n; i += 2 {
			x[i], x[i+1] = x[i]+x[i+1], x[i]-x[i+1]
		}
	}
	for half := 2; half < n; half *= 2 {
		step := n / (2 * half)
		for at := 0; at < n; at += 2 * half {
			lo, hi := x[at:at+half], x[at+half:at+2*half]
			hi = hi[:len(lo)]
			for k, t := 0, 0; k < len(lo); k, t = k+1, t+step {
				w, b := f.turn[t], hi[k]
				v := complex(real(w)*real(b)-imag(w)*imag(b), real(w)*imag(b)+imag(w)*real(b))
				a := lo[k]
				lo[k], hi[k] = a+v, a-v
			}
		}
	}
}

// plane is a field of w by h complex numbers, powers of two, row after row.
type plane struct {
	w, h int
	x    []complex128
}

func newPlane(w, h int) *plane { return &plane{w, h, make([]complex128, w*h)} }

// transform is the transform in both directions, of which only the first rows
// hold anything but zeros.
func (p *plane) transform(ctx context.Context, rows int) error {
	f := newFFT(p.w)
	err := bands(ctx, rows, 8, func(_, lo, hi int) {
		for j := lo; j < hi; j++ {
			f.do(p.x[j*p.w : (j+1)*p.w])
		}
	})
	if err != nil {
		return err
	}
	if p.h != p.w {
		f = newFFT(p.h)
	}
	const strip = 8
	return bands(ctx, p.w, strip, func(_, lo, hi int) {
		buf := make([]complex128, strip*p.h)
		for j := range p.h {
			for i, v := range p.x[j*p.w+lo : j*p.w+hi] {
				buf[i*p.h+j] = v
			}
		}
		for i := range hi - lo {
			f.do(buf[i*p.h : (i+1)*p.h])
		}
		for j := range p.h {
			row := p.x[j*p.w+lo : j*p.w+hi]
			for i := range row {
				row[i] = buf[i*p.h+j]
			}
		}
	})
}

// power2 is the least power of two that is not less than n.
func power2(n int) int {
	p := 1
	for p < n {
		p *= 2
	}
	return p
}
