package field

import (
	"math"
	"math/bits"
)

// signs is a bit for each point of a layer, set in the material, each row padded
// to whole words.
type signs struct {
	words int // in a row
	bit   []uint64
}

func newSigns(g Grid) signs {
	w := (g.N[0] + 63) / 64
	return signs{words: w, bit: make([]uint64, w*g.N[1])}
}

func (s *signs) row(j int) []uint64 { return s.bit[j*s.words : (j+1)*s.words] }

// pack sets the bits of a layer: those of values below −add. It reports false
// where a value is not a number. With an add of −0 a value of −0 is in the
// material, as its sign says; else one at the level is not.
func (s *signs) pack(layer []float32, nx int, add float32) bool {
	ok := true
	for j := range len(layer) / nx {
		row, to := layer[j*nx:(j+1)*nx], s.row(j)
		for w := range to {
			x := row[w*64 : min(w*64+64, nx)]
			if add == 0 && len(x) == 64 {
				in, out, numbers := alike((*[64]float32)(x))
				ok = ok && numbers
				if in {
					to[w] = math.MaxUint64
					continue
				}
				if out {
					to[w] = 0
					continue
				}
			}
			word, numbers := pack(x, add)
			to[w], ok = word, ok && numbers
		}
	}
	return ok
}

// alike reports whether all of a word's values are negative, all of them not,
// and all numbers: most words of a field are far from its surface.
func alike(x *[64]float32) (in, out, numbers bool) {
	const (
		sign = 1 << 31
		rest = sign - 1
		// The least that carries into the sign from anything above infinity.
		carry = 0x007fffff
	)
	or, and, bad := uint32(0), ^uint32(0), uint32(0)
	for k := 0; k < 64; k += 4 {
		a, b := math.Float32bits(x[k]), math.Float32bits(x[k+1])
		c, d := math.Float32bits(x[k+2]), math.Float32bits(x[k+3])
		or |= a | b | c | d
		and &= a & b & c & d
		bad |= (a&rest + carry) | (b&rest + carry) | (c&rest + carry) | (d&rest + carry)
	}
	return and&sign == sign, or&sign == 0, bad&sign == 0
}

// pack is the bits of up to 64 values.
func pack(x []float32, add float32) (word uint64, ok bool) {
	ok = true
	shift := 0
	for len(x) >= 8 {
		v := (*[8]float32)(x)
		v0, v1, v2, v3 := v[0]+add, v[1]+add, v[2]+add, v[3]+add
		v4, v5, v6, v7 := v[4]+add, v[5]+add, v[6]+add, v[7]+add
		b := math.Float32bits(v0)>>31 | math.Float32bits(v1)>>31<<1 |
			math.Float32bits(v2)>>31<<2 | math.Float32bits(v3)>>31<<3 |
			math.Float32bits(v4)>>31<<4 | math.Float32bits(v5)>>31<<5 |
			math.Float32bits(v6)>>31<<6 | math.Float32bits(v7)>>31<<7
		word |= uint64(b) << (shift & 63)
		// Not a number if one is not, or if two are infinite and opposite.
		if sum := ((v0 + v1) + (v2 + v3)) + ((v4 + v5) + (v6 + v7)); sum != sum {
			ok = ok && allNumbers(v[:])
		}
		x = x[8:]
		shift += 8
	}
	for i, v := range x {
		word |= uint64(math.Float32bits(v+add)>>31) << ((shift + i) & 63)
		ok = ok && v == v
	}
	return word, ok
}

func allNumbers(v []float32) bool {
	for _, x := range v {
		if x != x {
			return false
		}
	}
	return true
}

// netCell is a cell that the surface passes through.
type netCell struct {
	i, j    uint16
	variant uint16
	// facets are bits: which of the edges from corner 0 make facets, and whether
	// that corner is in the material.
	facets uint8
}

// cornerIn is the bit for corner 0.
const cornerIn = 8

// cells adds the cells of layer k that have corners on both sides, row by row,
// given the signs of the points below and above it, and counts their vertices
// and facets of four corners.
func (n *net) cells(k int, low, high *signs, out []netCell) (list []netCell, vertices, facets int) {
	t := nets
	nx := n.f.N[0]
	for j := range n.f.N[1] - 1 {
		a, b, c, d := low.row(j), low.row(j+1), high.row(j), high.row(j+1)
		for w, aw := range a {
			bw, cw, dw := b[w], c[w], d[w]
			var ax, bx, cx, dx uint64 // the word after
			if w+1 < len(a) {
				ax, bx, cx, dx = a[w+1], b[w+1], c[w+1], d[w+1]
			}
			if aw == bw && aw == cw && aw == dw && (aw == 0 && (ax|bx|cx|dx)&1 == 0 || ^aw == 0 && (ax&bx&cx&dx)&1 == 1) {
				continue
			}
			// The points one step on in X.
			an, bn, cn, dn := aw>>1|ax<<63, bw>>1|bx<<63, cw>>1|cx<<63, dw>>1|dx<<63
			mixed := (aw | bw | cw | dw | an | bn | cn | dn) &^ (aw & bw & cw & dw & an & bn & cn & dn)
			if left := nx - 1 - w*64; left < 64 {
				mixed &= 1<<left - 1
			}
			for ; mixed != 0; mixed &= mixed - 1 {
				x := bits.TrailingZeros64(mixed) & 63
				p := uint8(aw>>x&1 | an>>x&1<<1 | bw>>x&1<<2 | bn>>x&1<<3 | cw>>x&1<<4 | cn>>x&1<<5 | dw>>x&1<<6 | dn>>x&1<<7)
				i := w*64 + x
				e := netCell{i: uint16(i), j: uint16(j), variant: uint16(p), facets: t.crossings(p, i, j, k)}
				sheets := int(t.few[p])
				if t.meet[p] >= 0 && n.meets(i, j, k, p) {
					e.variant = t.second[p]
					sheets = len(t.variant[e.variant].sheets)
				}
				vertices += sheets
				facets += bits.OnesCount8(e.facets &^ cornerIn)
				out = append(out, e)
			}
		}
	}
	return out, vertices, facets
}

// meets reports whether the cell beyond the face at which pattern p has all
// four crossings on one sheet has them so too.
func (n *net) meets(i, j, k int, p uint8) bool {
	f := nets.meet[p]
	at := [3]int{i, j, k}
	at[f/2] += int(f&1)*2 - 1
	for a := range 3 {
		if at[a] < 0 || at[a] >= n.f.N[a]-1 {
			return false
		}
	}
	var q uint8
	for c := range 8 {
		v := n.f.D[n.f.Index(at[0]+c&1, at[1]+c>>1&1, at[2]+c>>2)] + n.add
		q |= uint8(math.Float32bits(v)>>31) << c
	}
	return nets.meet[q] == f^1
}
