package field

import (
	"math"
	"math/bits"
)

// signs is a bit for each point of a grid, set in the material, each row padded
// to whole words.
type signs struct {
	g     Grid
	words int // in a row
	bit   []uint64
}

func newSigns(g Grid) *signs {
	w := (g.N[0] + 63) / 64
	return &signs{g: g, words: w, bit: make([]uint64, w*g.N[1]*g.N[2])}
}

func (s *signs) row(j, k int) []uint64 {
	at := (k*s.g.N[1] + j) * s.words
	return s.bit[at : at+s.words]
}

// pack sets the bits of one row: those of values below −add. It reports false
// where a value is not a number. Adding turns −0 into 0, so that a value at the
// level itself is always outside.
func pack(to []uint64, row []float32, add float32) bool {
	ok := true
	for w := range to {
		x := row[w*64 : min(w*64+64, len(row))]
		var word uint64
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
		to[w] = word
	}
	return ok
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
	facets  uint8 // bits: which of the edges from corner 0 make facets
}

// cells lists the cells of layer k with corners on both sides, row by row, and
// counts their vertices and facets of four corners.
func (s *signs) cells(k int, out []netCell) (list []netCell, vertices, facets int) {
	t := nets
	nx := s.g.N[0]
	for j := range s.g.N[1] - 1 {
		a, b, c, d := s.row(j, k), s.row(j+1, k), s.row(j, k+1), s.row(j+1, k+1)
		for w := range a {
			// The points one step on in X; past the last word, the last point again.
			aw, bw, cw, dw := a[w], b[w], c[w], d[w]
			if aw == bw && aw == cw && aw == dw && (aw == 0 || aw == math.MaxUint64) {
				var next uint64
				if w+1 < len(a) {
					next = (a[w+1] ^ aw) | (b[w+1] ^ aw) | (c[w+1] ^ aw) | (d[w+1] ^ aw)
				}
				if next&1 == 0 {
					continue
				}
			}
			an, bn, cn, dn := aw>>1, bw>>1, cw>>1, dw>>1
			if w+1 < len(a) {
				an, bn, cn, dn = an|a[w+1]<<63, bn|b[w+1]<<63, cn|c[w+1]<<63, dn|d[w+1]<<63
			}
			mixed := (aw | bw | cw | dw | an | bn | cn | dn) &^ (aw & bw & cw & dw & an & bn & cn & dn)
			if left := nx - 1 - w*64; left < 64 {
				mixed &= 1<<left - 1
			}
			for ; mixed != 0; mixed &= mixed - 1 {
				n := bits.TrailingZeros64(mixed) & 63
				p := uint8(aw>>n&1 | an>>n&1<<1 | bw>>n&1<<2 | bn>>n&1<<3 | cw>>n&1<<4 | cn>>n&1<<5 | dw>>n&1<<6 | dn>>n&1<<7)
				i := w*64 + n
				e := netCell{i: uint16(i), j: uint16(j), variant: uint16(p), facets: t.crossings(p, i, j, k)}
				if t.meet[p] >= 0 && s.meets(i, j, k, p) {
					e.variant = t.second[p]
				}
				vertices += len(t.variant[e.variant].sheets)
				facets += countBits(e.facets)
				out = append(out, e)
			}
		}
	}
	return out, vertices, facets
}

// meets reports whether the cell beyond the face at which pattern p has all
// four crossings on one sheet has them so too.
func (s *signs) meets(i, j, k int, p uint8) bool {
	f := nets.meet[p]
	at := [3]int{i, j, k}
	at[f/2] += int(f&1)*2 - 1
	for a := range 3 {
		if at[a] < 0 || at[a] >= s.g.N[a]-1 {
			return false
		}
	}
	return nets.meet[s.pattern(at[0], at[1], at[2])] == f^1
}

// pattern is the bits of the corners of a cell.
func (s *signs) pattern(i, j, k int) uint8 {
	var p uint8
	for c := range 8 {
		x := i + c&1
		p |= uint8(s.row(j+c>>1&1, k+c>>2)[x/64]>>(x%64)&1) << c
	}
	return p
}
