package mesh

import (
	"math"
	"math/bits"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"
)

// Welder joins vertices at exactly the same place. It numbers places in the
// order in which they are first added, so its result does not depend on the
// hash, whose seed differs from run to run to keep made-up files from slowing
// it down.
//
// The table is open-addressed with linear probing; an entry holds 32 bits of
// the hash beside the index, so that growing and most misses never touch Pos.
type Welder struct {
	Pos   []r3.Vec // the places found so far
	table []uint64 // hash<<32 | index+1, 0 for empty
	shift uint
	seed  [3]uint64
}

// NewWelder makes a welder that has room for about expect places; it grows
// beyond.
func NewWelder(expect int) *Welder {
	n := uint(8)
	for n < 30 && 1<<n < expect+expect/2 {
		n++
	}
	return &Welder{
		Pos:   make([]r3.Vec, 0, expect),
		table: make([]uint64, 1<<n),
		shift: 32 - n,
		seed:  [3]uint64{rand.Uint64(), rand.Uint64(), rand.Uint64() | 1},
	}
}

// Add returns the number of the place (x, y, z). Minus zero counts as zero.
func (w *Welder) Add(x, y, z float64) uint32 {
	x, y, z = x+0, y+0, z+0 // -0 + 0 = +0
	hi, lo := bits.Mul64(math.Float64bits(x)^w.seed[0], math.Float64bits(y)^w.seed[1])
	hi, lo = bits.Mul64(hi^lo^math.Float64bits(z), w.seed[2])
	h := uint32(hi ^ lo ^ lo>>32)
	mask := uint32(len(w.table) - 1)
	i := h >> w.shift
	for {
		e := w.table[i&mask]
		if e == 0 {
			break
		}
		if uint32(e>>32) == h {
			v := uint32(e) - 1
			if p := &w.Pos[v]; p.X == x && p.Y == y && p.Z == z {
				return v
			}
		}
		i++
	}
	v := uint32(len(w.Pos))
	w.table[i&mask] = uint64(h)<<32 | uint64(v+1)
	w.Pos = append(w.Pos, r3.Vec{X: x, Y: y, Z: z})
	if len(w.Pos) > len(w.table)/4*3 {
		w.grow()
	}
	return v
}

// grow doubles the table.
func (w *Welder) grow() {
	old := w.table
	w.table = make([]uint64, 2*len(old))
	w.shift--
	mask := uint32(len(w.table) - 1)
	for _, e := range old {
		if e == 0 {
			continue
		}
		i := uint32(e>>32) >> w.shift
		for w.table[i&mask] != 0 {
			i++
		}
		w.table[i&mask] = e
	}
}
