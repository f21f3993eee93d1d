package region

import "slices"

// box is a box of the grid, its sides included.
type box struct{ x0, y0, x1, y1 int64 }

func (b box) meets(c box) bool { return b.x0 <= c.x1 && c.x0 <= b.x1 && b.y0 <= c.y1 && c.y0 <= b.y1 }

func (b box) join(c box) box {
	return box{min(b.x0, c.x0), min(b.y0, c.y0), max(b.x1, c.x1), max(b.y1, c.y1)}
}

// fan is how many boxes one box above holds.
const fan = 8

// index finds the segments near a place: a tree of boxes over short pieces of them,
// in the order of a curve that visits all quarters in turn (G. M. Morton, A computer
// oriented geodetic data base, IBM Ottawa, 1966). Long segments go in as several
// pieces, so that the box of a slanting one does not lie across everything.
type index struct {
	level [][]box // pieces first, then boxes of fan of those below
	of    []int32 // the segment of each piece
}

// newIndex cuts segments into no more than n pieces besides the segments
// themselves.
func newIndex(s []segment, n int) *index {
	var total float64
	for _, e := range s {
		total += float64(e.long())
	}
	mean := int64(total/float64(n)) + 1
	var pieces []box
	var of []int32
	all := box{farthest, farthest, -farthest, -farthest}
	for i, e := range s {
		n := e.long()/mean + 1
		last := e.a
		for k := int64(1); k <= n; k++ {
			next := e.b
			if k < n {
				t := float64(k) / float64(n)
				next = pt{e.a.x + int64(t*float64(e.b.x-e.a.x)), e.a.y + int64(t*float64(e.b.y-e.a.y))}
			}
			// A piece strays from its segment by less than one unit; one more is for
			// pixels.
			b := box{min(last.x, next.x) - 2, min(last.y, next.y) - 2, max(last.x, next.x) + 2, max(last.y, next.y) + 2}
			pieces, of = append(pieces, b), append(of, int32(i))
			all = all.join(b)
			last = next
		}
	}
	keys := make([]uint64, len(pieces))
	w := float64(max(all.x1-all.x0, all.y1-all.y0, 1))
	for i, b := range pieces {
		x := uint64((float64(b.x0-all.x0) + float64(b.x1-b.x0)/2) / w * (1<<16 - 1))
		y := uint64((float64(b.y0-all.y0) + float64(b.y1-b.y0)/2) / w * (1<<16 - 1))
		keys[i] = (spread(x)|spread(y)<<1)<<32 | uint64(i)
	}
	slices.Sort(keys)
	ix := &index{level: [][]box{make([]box, len(pieces))}, of: make([]int32, len(pieces))}
	for i, k := range keys {
		ix.level[0][i], ix.of[i] = pieces[uint32(k)], of[uint32(k)]
	}
	for low := ix.level[0]; len(low) > fan; low = ix.level[len(ix.level)-1] {
		var up []box
		for i := 0; i < len(low); i += fan {
			b := low[i]
			for _, c := range low[i:min(i+fan, len(low))] {
				b = b.join(c)
			}
			up = append(up, b)
		}
		ix.level = append(ix.level, up)
	}
	return ix
}

// spread puts a gap between the lower 16 bits.
func spread(x uint64) uint64 {
	x = (x | x<<8) & 0x00ff00ff
	x = (x | x<<4) & 0x0f0f0f0f
	x = (x | x<<2) & 0x33333333
	return (x | x<<1) & 0x55555555
}

// near appends the pieces from number first on whose boxes meet b.
func (ix *index) near(list []int32, b box, first int) []int32 {
	top := len(ix.level) - 1
	return ix.down(list, b, first, top, 0, len(ix.level[top]))
}

func (ix *index) down(list []int32, b box, first, level, lo, hi int) []int32 {
	boxes := ix.level[level]
	span := 1
	for range level {
		span *= fan
	}
	for i := lo; i < min(hi, len(boxes)); i++ {
		if (i+1)*span <= first || !boxes[i].meets(b) {
			continue
		}
		if level == 0 {
			list = append(list, int32(i))
		} else {
			list = ix.down(list, b, first, level-1, i*fan, (i+1)*fan)
		}
	}
	return list
}
