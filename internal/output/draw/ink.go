package draw

import (
	"image"
	"math"
)

// ink darkens the picture along the lines of a drawing, so that a step between
// two faces of one tone is seen. to gives pixels for points on paper; width is
// in pixels, dark the share of light taken away.
func ink(img *image.RGBA, d *Drawing, to func(Pt) Pt, width, dark float64) {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	cover := make([]float32, w*h)
	for _, l := range d.Lines {
		pts := l.Pts
		n := len(pts) - 1
		if l.Closed {
			n++
		}
		for k := range n {
			p, q := to(pts[k]), to(pts[(k+1)%len(pts)])
			r := width/2 + 1
			for j := max(0, int(min(p.Y, q.Y)-r)); j <= min(h-1, int(max(p.Y, q.Y)+r)); j++ {
				for i := max(0, int(min(p.X, q.X)-r)); i <= min(w-1, int(max(p.X, q.X)+r)); i++ {
					away := fromSegment(Pt{float64(i) + 0.5, float64(j) + 0.5}, p, q)
					c := float32(min(1, max(0, width/2+0.5-away)))
					cover[j*w+i] = max(cover[j*w+i], c)
				}
			}
		}
	}
	for j := range h {
		for i := range w {
			c := float64(cover[j*w+i])
			if c == 0 {
				continue
			}
			o := img.PixOffset(b.Min.X+i, b.Min.Y+j)
			for k := range 3 {
				img.Pix[o+k] = uint8(math.Round(float64(img.Pix[o+k]) * (1 - dark*c)))
			}
		}
	}
}
