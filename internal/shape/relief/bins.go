package relief

import "math"

// bins finds the members of a family near a place: each member is filed under
// every bin that its box in plan overlaps.
type bins struct {
	x0, y0, side float64
	nx, ny       int
	start        []int32 // by bin, into ids
	ids          []int32
	box          []span2 // by member
}

// span2 is a box in plan.
type span2 struct{ x0, y0, x1, y1 float32 }

// maxBins bounds the memory of a family that lies far apart.
const maxBins = 1 << 20

// newBins files members by their boxes, which are rounded outwards.
func newBins(box []span2, side float64) *bins {
	b := &bins{box: box, side: side}
	if len(box) == 0 {
		b.nx, b.ny, b.start = 1, 1, make([]int32, 2)
		return b
	}
	all := box[0]
	for _, s := range box {
		all = span2{min(all.x0, s.x0), min(all.y0, s.y0), max(all.x1, s.x1), max(all.y1, s.y1)}
	}
	b.x0, b.y0 = float64(all.x0), float64(all.y0)
	w, h := float64(all.x1)-b.x0, float64(all.y1)-b.y0
	for (w/b.side+1)*(h/b.side+1) > maxBins {
		b.side *= 2
	}
	b.nx, b.ny = 1+int(w/b.side), 1+int(h/b.side)
	b.start = make([]int32, b.nx*b.ny+1)
	b.each(func(bin int, _ int32) { b.start[bin+1]++ })
	for i := range b.nx * b.ny {
		b.start[i+1] += b.start[i]
	}
	b.ids = make([]int32, b.start[b.nx*b.ny])
	fill := make([]int32, b.nx*b.ny)
	b.each(func(bin int, id int32) {
		b.ids[b.start[bin]+fill[bin]] = id
		fill[bin]++
	})
	return b
}

func (b *bins) each(f func(bin int, id int32)) {
	for id, s := range b.box {
		i0, j0, i1, j1 := b.over(float64(s.x0), float64(s.y0), float64(s.x1), float64(s.y1))
		for j := j0; j <= j1; j++ {
			for i := i0; i <= i1; i++ {
				f(j*b.nx+i, int32(id))
			}
		}
	}
}

// over is the range of bins that a box overlaps.
func (b *bins) over(x0, y0, x1, y1 float64) (i0, j0, i1, j1 int) {
	at := func(v, from float64, n int) int {
		return int(math.Min(math.Max((v-from)/b.side, 0), float64(n-1)))
	}
	return at(x0, b.x0, b.nx), at(y0, b.y0, b.ny), at(x1, b.x0, b.nx), at(y1, b.y0, b.ny)
}

// within appends the members whose boxes come within the given box, each once,
// in an order that depends on nothing but the family and the box.
func (b *bins) within(x0, y0, x1, y1 float64, to []int32) []int32 {
	i0, j0, i1, j1 := b.over(x0, y0, x1, y1)
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			bin := j*b.nx + i
			for _, id := range b.ids[b.start[bin]:b.start[bin+1]] {
				s := b.box[id]
				if float64(s.x1) < x0 || float64(s.x0) > x1 || float64(s.y1) < y0 || float64(s.y0) > y1 {
					continue
				}
				// A member in several bins is taken in the first that both overlap.
				fi, fj, _, _ := b.over(float64(s.x0), float64(s.y0), float64(s.x1), float64(s.y1))
				if max(fi, i0) == i && max(fj, j0) == j {
					to = append(to, id)
				}
			}
		}
	}
	return to
}

// outwards is a box in single precision that holds the given one.
func outwards(x0, y0, x1, y1 float64) span2 {
	inf := float32(math.Inf(1))
	return span2{
		math.Nextafter32(float32(x0), -inf), math.Nextafter32(float32(y0), -inf),
		math.Nextafter32(float32(x1), inf), math.Nextafter32(float32(y1), inf),
	}
}
