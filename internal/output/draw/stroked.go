package draw

import (
	"image"
	"image/color"
	"math"

	"fettle"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// Stroked is [Shade] with the stroke of a sanding block drawn on the part: path,
// points along the stroke in the model's mm, as a bold arrow with a head at each
// end, and outline, the border of the block's face, as a closed line; either may be
// empty. What lies behind the part, by more than a hundredth of its size so that
// points a little under the surface still show, is not drawn. Dark lines have pale
// borders, so that they are seen on any tone and in black and white. Errors are
// those of [Shade], and fettle.Invalid for points that are not finite.
func Stroked(m *mesh.Mesh, v View, size int, path, outline []r3.Vec) (*image.RGBA, error) {
	for _, list := range [2][]r3.Vec{path, outline} {
		for _, p := range list {
			if s := p.X + p.Y + p.Z; math.IsNaN(s) || math.IsInf(s, 0) {
				return nil, fettle.Errorf(fettle.Invalid, "a point of the stroke is not finite, so it cannot be drawn; make the block again")
			}
		}
	}
	img, s, err := rendered(m, v, size, nil, nil)
	if err != nil {
		return nil, err
	}
	k := &marker{img: img, s: s, depth: newDepthMap(s.f, max(64, size))}
	thick := max(2.5, float64(size)/110)
	if len(outline) > 1 {
		closed := append(append([]r3.Vec{}, outline...), outline[0])
		k.line(k.runs(k.walk(closed)), 0.45*thick)
	}
	if len(path) > 1 {
		k.arrow(k.walk(path), thick)
	}
	return img, nil
}

// marker draws on a shaded picture.
type marker struct {
	img   *image.RGBA
	s     *shader
	depth *depthMap
}

// step is a place on the picture and whether it is seen.
type step struct {
	at   Pt
	seen bool
}

// walk goes along points in steps of half a pixel.
func (k *marker) walk(pts []r3.Vec) []step {
	var out []step
	at := func(p r3.Vec) step {
		q, near := k.s.f.view.to(p)
		frame := k.s.f.frame
		slack := 0.01*max(frame.W(), frame.H()) + 2*k.depth.px
		return step{k.s.to(q), near+slack >= k.depth.behind(k.depth.pixel(q))}
	}
	for i := 1; i < len(pts); i++ {
		a, b := at(pts[i-1]).at, at(pts[i]).at
		n := min(1<<15, 1+int(2*math.Hypot(b.X-a.X, b.Y-a.Y)))
		for j := range n {
			out = append(out, at(r3.Add(pts[i-1], r3.Scale(float64(j)/float64(n), r3.Sub(pts[i], pts[i-1])))))
		}
	}
	return append(out, at(pts[len(pts)-1]))
}

// runs are the stretches of a walk that are seen.
func (k *marker) runs(walk []step) [][]Pt {
	var out [][]Pt
	var run []Pt
	for _, s := range walk {
		if s.seen {
			run = append(run, s.at)
			continue
		}
		if len(run) > 1 {
			out = append(out, run)
		}
		run = nil
	}
	if len(run) > 1 {
		out = append(out, run)
	}
	return out
}

// The colours of what is drawn on a part: a dark blue with a white border.
var (
	markInk  = color.RGBA{14, 40, 92, 255}
	markHalo = color.RGBA{255, 255, 255, 255}
)

// line draws runs with a border.
func (k *marker) line(runs [][]Pt, thick float64) {
	border := max(1.2, 0.35*thick)
	c := newCover(k.img.Rect)
	for _, r := range runs {
		c.stroke(r, thick+2*border)
	}
	c.lay(k.img, markHalo, 0.85)
	c = newCover(k.img.Rect)
	for _, r := range runs {
		c.stroke(r, thick)
	}
	c.lay(k.img, markInk, 1)
}

// arrow draws a walk with a head at each end that is seen. The shaft ends inside
// the heads.
func (k *marker) arrow(walk []step, thick float64) {
	long, half := 4.2*thick, 1.6*thick
	total := 0.0
	for i := 1; i < len(walk); i++ {
		total += math.Hypot(walk[i].at.X-walk[i-1].at.X, walk[i].at.Y-walk[i-1].at.Y)
	}
	if total < 2.2*long { // both heads on a short stroke
		long, half = total/2.2, half*total/2.2/long
	}
	head := func(tip int, way int) (pts []Pt, shaft int) {
		if !walk[tip].seen {
			return nil, tip
		}
		base := tip
		for i := tip; i >= 0 && i < len(walk); i += way {
			base = i
			if math.Hypot(walk[i].at.X-walk[tip].at.X, walk[i].at.Y-walk[tip].at.Y) >= long {
				break
			}
		}
		p, q := walk[tip].at, walk[base].at
		l := math.Hypot(p.X-q.X, p.Y-q.Y)
		if l == 0 {
			return nil, tip
		}
		dx, dy := (p.X-q.X)/l, (p.Y-q.Y)/l
		return []Pt{p, {q.X - half*dy, q.Y + half*dx}, {q.X + half*dy, q.Y - half*dx}}, base
	}
	first, from := head(0, 1)
	last, to := head(len(walk)-1, -1)
	if from > to {
		from, to = to, from
	}
	runs := k.runs(walk[from : to+1])
	border := max(1.2, 0.35*thick)
	for _, pass := range []struct {
		grow float64
		c    color.RGBA
		a    float64
	}{{border, markHalo, 0.85}, {0, markInk, 1}} {
		c := newCover(k.img.Rect)
		for _, r := range runs {
			c.stroke(r, thick+2*pass.grow)
		}
		for _, h := range [2][]Pt{first, last} {
			if h != nil {
				c.fill(h, pass.grow)
			}
		}
		c.lay(k.img, pass.c, pass.a)
	}
}

// cover is how much of each pixel is painted.
type cover struct {
	w, h  int
	share []float32
}

func newCover(r image.Rectangle) *cover {
	return &cover{r.Dx(), r.Dy(), make([]float32, r.Dx()*r.Dy())}
}

// near raises the cover around a box by a function of the distance from a shape.
func (c *cover) near(x0, y0, x1, y1, reach float64, away func(p Pt) float64) {
	for j := max(0, int(y0-reach-1)); j <= min(c.h-1, int(y1+reach+1)); j++ {
		for i := max(0, int(x0-reach-1)); i <= min(c.w-1, int(x1+reach+1)); i++ {
			a := float32(min(1, max(0, reach+0.5-away(Pt{float64(i) + 0.5, float64(j) + 0.5}))))
			c.share[j*c.w+i] = max(c.share[j*c.w+i], a)
		}
	}
}

// stroke covers a polyline of a width in pixels.
func (c *cover) stroke(pts []Pt, width float64) {
	pts = simplify(pts, false, 0.1)
	for i := 1; i < len(pts); i++ {
		p, q := pts[i-1], pts[i]
		c.near(min(p.X, q.X), min(p.Y, q.Y), max(p.X, q.X), max(p.Y, q.Y), width/2, func(r Pt) float64 { return fromSegment(r, p, q) })
	}
}

// fill covers a triangle grown by so many pixels.
func (c *cover) fill(t []Pt, grow float64) {
	x0, y0 := min(t[0].X, t[1].X, t[2].X), min(t[0].Y, t[1].Y, t[2].Y)
	x1, y1 := max(t[0].X, t[1].X, t[2].X), max(t[0].Y, t[1].Y, t[2].Y)
	area := (t[1].X-t[0].X)*(t[2].Y-t[0].Y) - (t[1].Y-t[0].Y)*(t[2].X-t[0].X)
	c.near(x0, y0, x1, y1, grow, func(p Pt) float64 {
		d, inside := math.Inf(1), true
		for i, a := range t {
			b := t[(i+1)%3]
			d = min(d, fromSegment(p, a, b))
			inside = inside && ((b.X-a.X)*(p.Y-a.Y)-(b.Y-a.Y)*(p.X-a.X))*area >= 0
		}
		if inside {
			return -d
		}
		return d
	})
}

// lay paints a colour where it is covered.
func (c *cover) lay(img *image.RGBA, ink color.RGBA, strength float64) {
	for j := range c.h {
		for i := range c.w {
			a := strength * float64(c.share[j*c.w+i])
			if a == 0 {
				continue
			}
			o := img.PixOffset(img.Rect.Min.X+i, img.Rect.Min.Y+j)
			for n, v := range [3]uint8{ink.R, ink.G, ink.B} {
				img.Pix[o+n] = uint8(math.Round((1-a)*float64(img.Pix[o+n]) + a*float64(v)))
			}
		}
	}
}
