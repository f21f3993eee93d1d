package draw

import "math"

// depthMap holds, for the centre of every pixel, how near to the eye the
// nearest surface is, −Inf where there is none.
type depthMap struct {
	w, h   int
	px     float64 // mm per pixel
	x0, y0 float64 // paper position of the corner of pixel (0, 0)
	near   []float32
}

// newDepthMap renders all triangles, whichever way they face, at size pixels
// along the longer side, with an empty margin of two pixels.
func newDepthMap(f *flat, size int) *depthMap {
	const margin = 2
	long := max(f.frame.W(), f.frame.H())
	if !(long > 0) {
		long = 1
	}
	d := &depthMap{px: long / float64(size)}
	d.x0, d.y0 = f.frame.X0-margin*d.px, f.frame.Y0-margin*d.px
	d.w = int(math.Ceil(f.frame.W()/d.px)) + 2*margin
	d.h = int(math.Ceil(f.frame.H()/d.px)) + 2*margin
	d.near = make([]float32, d.w*d.h)
	for i := range d.near {
		d.near[i] = float32(math.Inf(-1))
	}
	for _, tri := range f.m.Tri {
		var p [3]Pt
		var z [3]float64
		for k, c := range tri {
			p[k], z[k] = d.pixel(f.pt[c]), f.near[c]
		}
		raster(p, 0, d.h, d.w, func(i, j int, b [3]float64) {
			n := float32(b[0]*z[0] + b[1]*z[1] + b[2]*z[2])
			if at := j*d.w + i; n > d.near[at] {
				d.near[at] = n
			}
		})
	}
	return d
}

// pixel is p in pixels; pixel (i, j) has its centre at (i+½, j+½).
func (d *depthMap) pixel(p Pt) Pt { return Pt{(p.X - d.x0) / d.px, (p.Y - d.y0) / d.px} }

// behind is the depth of the farthest of the four pixel centres around p, in
// pixels: −Inf when one of them sees nothing.
func (d *depthMap) behind(p Pt) float64 {
	i, j := int(math.Floor(p.X-0.5)), int(math.Floor(p.Y-0.5))
	far := float32(math.Inf(1))
	for _, c := range [4][2]int{{i, j}, {i + 1, j}, {i, j + 1}, {i + 1, j + 1}} {
		if c[0] < 0 || c[1] < 0 || c[0] >= d.w || c[1] >= d.h {
			return math.Inf(-1)
		}
		far = min(far, d.near[c[1]*d.w+c[0]])
	}
	return float64(far)
}

// raster visits the pixels of rows [y0, y1) and columns [0, w) whose centre lies
// in the triangle or on its border, with barycentric weights. Triangles seen
// edge-on have none.
func raster(p [3]Pt, y0, y1, w int, visit func(i, j int, b [3]float64)) {
	area := (p[1].X-p[0].X)*(p[2].Y-p[0].Y) - (p[1].Y-p[0].Y)*(p[2].X-p[0].X)
	if area == 0 {
		return
	}
	minX, maxX := min(p[0].X, p[1].X, p[2].X), max(p[0].X, p[1].X, p[2].X)
	minY, maxY := min(p[0].Y, p[1].Y, p[2].Y), max(p[0].Y, p[1].Y, p[2].Y)
	j0, j1 := max(y0, int(math.Ceil(minY-0.5))), min(y1-1, int(math.Floor(maxY-0.5)))
	i0, i1 := max(0, int(math.Ceil(minX-0.5))), min(w-1, int(math.Floor(maxX-0.5)))
	inv := 1 / area
	const eps = -1e-9
	for j := j0; j <= j1; j++ {
		cy := float64(j) + 0.5
		from, to := rowOf(p, cy)
		for i := max(i0, int(from)-1); i <= min(i1, int(to)+1); i++ {
			cx := float64(i) + 0.5
			b1 := ((cx-p[0].X)*(p[2].Y-p[0].Y) - (cy-p[0].Y)*(p[2].X-p[0].X)) * inv
			b2 := ((p[1].X-p[0].X)*(cy-p[0].Y) - (p[1].Y-p[0].Y)*(cx-p[0].X)) * inv
			b0 := 1 - b1 - b2
			if b0 >= eps && b1 >= eps && b2 >= eps {
				visit(i, j, [3]float64{b0, b1, b2})
			}
		}
	}
}

// rowOf is where a triangle lies on the line at y, which runs between its lowest and
// its highest corner: from its left side to its right. A long thin triangle fills
// next to nothing of its box.
func rowOf(p [3]Pt, y float64) (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for k, a := range p {
		b := p[(k+1)%3]
		lo, hi := min(a.Y, b.Y), max(a.Y, b.Y)
		if y < lo || y > hi {
			continue
		}
		if lo == hi {
			from, to = min(from, a.X, b.X), max(to, a.X, b.X)
			continue
		}
		x := a.X + (b.X-a.X)*(y-a.Y)/(b.Y-a.Y)
		from, to = min(from, x), max(to, x)
	}
	return max(from, -1e9), min(to, 1e9)
}
