package closeup

import (
	"math"
	"runtime"
	"sync"

	"fettle"
	"fettle/internal/shape/relief"
)

// view is how a rectangle of pixels lies on a map: w by h of them, each px mm
// wide and high, the top left corner of the first at (x0, y1).
type view struct {
	w, h       int
	px, x0, y1 float64
}

// extent is the size of everything that the cells cover, mm.
func extent(g relief.Grid) (wide, high float64) {
	return float64(g.W) * g.DX, float64(g.H) * g.DY
}

// look puts w by h pixels on the map, wide mm across (0: as much as fills
// them), around the middle.
func look(g relief.Grid, w, h int, wide float64, middle *[2]float64) (view, error) {
	ew, eh := extent(g)
	v := view{w: w, h: h}
	c := [2]float64{g.X0 + (ew-g.DX)/2, g.Y0 + (eh-g.DY)/2}
	if middle != nil {
		c = *middle
	}
	v.px = wide / float64(w)
	if wide == 0 {
		v.px = min(ew/float64(w), eh/float64(h))
	}
	v.x0, v.y1 = c[0]-v.px*float64(w)/2, c[1]+v.px*float64(h)/2
	if v.px > 1e3*math.Max(ew, eh) || v.x0 > g.X(g.W) || v.y1 < g.Y(-1) || v.x0+v.px*float64(w) < g.X(-1) || v.y1-v.px*float64(h) > g.Y(g.H) {
		return v, fettle.Errorf(fettle.Invalid, "the picture looks past the surface, which lies between x %.3f and %.3f mm, y %.3f and %.3f mm; choose a place on it",
			g.X(0), g.X(g.W-1), g.Y(0), g.Y(g.H-1))
	}
	return v, nil
}

// fit is look with all of the map in at most w by h pixels.
func fit(g relief.Grid, w, h int) (view, error) {
	ew, eh := extent(g)
	px := max(ew/float64(w), eh/float64(h))
	w, h = min(w, int(math.Ceil(ew/px-1e-6))), min(h, int(math.Ceil(eh/px-1e-6)))
	v := view{w: w, h: h, px: px}
	v.x0 = g.X0 + (ew-g.DX)/2 - px*float64(w)/2
	v.y1 = g.Y0 + (eh-g.DY)/2 + px*float64(h)/2
	if w < minSide/4 || h < minSide/4 {
		return v, fettle.Errorf(fettle.Invalid, "a surface of %.3g by %.3g mm is too narrow to be shown whole; choose a part of it", ew, eh)
	}
	return v, nil
}

// tap is where a sample falls between the cells of one axis: in the square of
// cells at and at+1, with the weight of the second; nearest is the cell that
// the sample lies in, -1 beside the map.
type tap struct {
	at, next, nearest int32
	weight            float64
}

// taps places n samples to a pixel along an axis; from is the coordinate of the
// first pixel's border and step the size of a pixel, with its sign.
func taps(pixels, n int, from, step, first, cell float64, cells int) []tap {
	out := make([]tap, pixels*n)
	for k := range out {
		out[k] = tapAt((from+step*(float64(k)+0.5)/float64(n)-first)/cell, cells)
	}
	return out
}

// tapAt is the sample at f, counted in cells from the middle of the first.
func tapAt(f float64, cells int) tap {
	t := tap{nearest: -1}
	if near := math.Floor(f + 0.5); near >= 0 && near < float64(cells) {
		t.nearest = int32(near)
	}
	at := math.Floor(min(max(f, 0), float64(cells-1)))
	t.at = int32(at)
	t.next = min(t.at+1, int32(cells-1))
	t.weight = min(max(f-at, 0), 1)
	return t
}

// samples is how many samples a pixel needs along an axis for none of its cells
// to be passed over.
func samples(px, cell float64) int {
	return max(1, int(math.Ceil(px/cell-1e-9)))
}

// bandRows is how many rows of pixels one worker takes at a time.
const bandRows = 16

// bands calls do for the rows [j0, j1) of bands of h rows, several at once. Rows
// belong to one band each, so the outcome does not depend on who does which.
func bands(h int, do func(j0, j1 int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (h+bandRows-1)/bandRows) {
		wg.Go(func() {
			for j := range next {
				do(j, min(h, j+bandRows))
			}
		})
	}
	for j := 0; j < h; j += bandRows {
		next <- j
	}
	close(next)
	wg.Wait()
}

// slopes are dz/dx and dz/dy of whole rows of a map, NaN where a cell has no
// height.
type slopes struct {
	first, cols int // the first row and column held
	width       int
	p, q        []float32
}

// rows fills s with rows [j0, j1] and columns [i0, i1]: central differences, or
// one-sided beside a gap. A cell without neighbours along an axis counts as
// level along it.
func (s *slopes) rows(m *relief.Map, j0, j1, i0, i1 int) {
	s.first, s.cols, s.width = j0, i0, i1-i0+1
	n := s.width * (j1 - j0 + 1)
	if cap(s.p) < n {
		s.p, s.q = make([]float32, n), make([]float32, n)
	}
	s.p, s.q = s.p[:n], s.q[:n]
	one, two := [2]float32{float32(1 / m.DX), float32(1 / m.DY)}, [2]float32{float32(0.5 / m.DX), float32(0.5 / m.DY)}
	for j := j0; j <= j1; j++ {
		row := m.Z[j*m.W : (j+1)*m.W]
		above, below := row, row
		if j+1 < m.H {
			above = m.Z[(j+1)*m.W : (j+2)*m.W]
		}
		if j > 0 {
			below = m.Z[(j-1)*m.W : j*m.W]
		}
		p, q := s.p[(j-j0)*s.width:(j-j0+1)*s.width], s.q[(j-j0)*s.width:(j-j0+1)*s.width]
		for k := range p {
			i := i0 + k
			z := row[i]
			left, right := z, z
			if i > 0 {
				left = row[i-1]
			}
			if i+1 < m.W {
				right = row[i+1]
			}
			p[k] = slope(left, z, right, i > 0, i+1 < m.W, one[0], two[0])
			q[k] = slope(below[i], z, above[i], j > 0, j+1 < m.H, one[1], two[1])
		}
	}
}

func slope(a, z, b float32, hasA, hasB bool, one, two float32) float32 {
	if d := (b - a) * two; hasA && hasB && d == d && z == z {
		return d
	}
	switch {
	case z != z:
		return z
	case hasB && b == b:
		return (b - z) * one
	case hasA && a == a:
		return (z - a) * one
	}
	return 0
}

// at is the slope at a sample; false where its cell has none. Cells without a
// height are left out of the mean.
func (s *slopes) at(x, y tap) (p, q float64, ok bool) {
	r0, r1 := (int(y.at)-s.first)*s.width-s.cols, (int(y.next)-s.first)*s.width-s.cols
	a, b, c, d := r0+int(x.at), r0+int(x.next), r1+int(x.at), r1+int(x.next)
	wb, wd := x.weight*(1-y.weight), x.weight*y.weight
	wa, wc := 1-y.weight-wb, y.weight-wd
	p = wa*float64(s.p[a]) + wb*float64(s.p[b]) + wc*float64(s.p[c]) + wd*float64(s.p[d])
	q = wa*float64(s.q[a]) + wb*float64(s.q[b]) + wc*float64(s.q[c]) + wd*float64(s.q[d])
	if sum := p + q; sum == sum {
		return p, q, x.nearest >= 0 && y.nearest >= 0
	}
	if x.nearest < 0 || y.nearest < 0 {
		return 0, 0, false
	}
	if own := s.p[(int(y.nearest)-s.first)*s.width-s.cols+int(x.nearest)]; own != own {
		return 0, 0, false
	}
	p, q = 0, 0
	sum := 0.0
	for k, at := range [4]int{a, b, c, d} {
		if w := [4]float64{wa, wb, wc, wd}[k]; s.p[at] == s.p[at] {
			p, q, sum = p+w*float64(s.p[at]), q+w*float64(s.q[at]), sum+w
		}
	}
	return p / sum, q / sum, sum > 0
}

// height is the height at a sample in mm over the map's base, NaN where its cell
// has none.
func height(m *relief.Map, x, y tap) float64 {
	if x.nearest < 0 || y.nearest < 0 {
		return math.NaN()
	}
	cells := [4]int{int(y.at)*m.W + int(x.at), int(y.at)*m.W + int(x.next), int(y.next)*m.W + int(x.at), int(y.next)*m.W + int(x.next)}
	w := [4]float64{(1 - x.weight) * (1 - y.weight), x.weight * (1 - y.weight), (1 - x.weight) * y.weight, x.weight * y.weight}
	if own := m.Z[int(y.nearest)*m.W+int(x.nearest)]; own != own {
		return math.NaN()
	}
	z, sum := 0.0, 0.0
	for k, at := range cells {
		if v := m.Z[at]; v == v {
			z, sum = z+w[k]*float64(v), sum+w[k]
		}
	}
	return z / sum
}

// heights are the mean heights of the pixels in mm over the map's base, NaN
// where more than half of a pixel has none.
func (v view) heights(m *relief.Map) []float32 {
	nx, ny := samples(v.px, m.DX), samples(v.px, m.DY)
	xs, ys := taps(v.w, nx, v.x0, v.px, m.X0, m.DX, m.W), taps(v.h, ny, v.y1, -v.px, m.Y0, m.DY, m.H)
	out := make([]float32, v.w*v.h)
	bands(v.h, func(j0, j1 int) {
		for j := j0; j < j1; j++ {
			for i := range v.w {
				sum, n := 0.0, 0
				for b := range ny {
					for a := range nx {
						if z := height(m, xs[i*nx+a], ys[j*ny+b]); z == z {
							sum, n = sum+z, n+1
						}
					}
				}
				out[j*v.w+i] = float32(math.NaN())
				if 2*n >= nx*ny && n > 0 {
					out[j*v.w+i] = float32(sum / float64(n))
				}
			}
		}
	})
	return out
}
