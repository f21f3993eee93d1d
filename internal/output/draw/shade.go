package draw

import (
	"image"
	"math"
	"runtime"
	"sync"

	"fettle"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r3"
)

// maxShade is the largest picture that is rendered, in pixels along its longer
// side.
const maxShade = 8192

// Shade renders the mesh from v on white, size pixels along the longer side:
// low light from the upper left with soft shadows, a pale metal tone, three by
// three samples to a pixel, edges drawn over it as thin lines. Corners of facets that turn by less than 30° are
// shaded as one smooth surface (Gouraud's averaged normals, interpolated as by
// Phong). The picture is a preview of shape, not of finish.
func Shade(m *mesh.Mesh, v View, size int) (*image.RGBA, error) {
	return shade(m, v, size, nil, nil)
}

// Tone is the colour, linear and before it is lit, of a value at a pixel.
type Tone func(value float64, x, y int) (r, g, b float64)

// ShadeValues is Shade with a value at each vertex of the mesh, interpolated over
// the facets, in place of the metal.
func ShadeValues(m *mesh.Mesh, v View, size int, value []float32, tone Tone) (*image.RGBA, error) {
	if m != nil && len(value) != len(m.Pos) {
		return nil, fettle.Errorf(fettle.Invalid, "%d values for %d corners of the part cannot be drawn", len(value), len(m.Pos))
	}
	return shade(m, v, size, value, tone)
}

func shade(m *mesh.Mesh, v View, size int, value []float32, tone Tone) (*image.RGBA, error) {
	img, _, err := rendered(m, v, size, value, tone)
	return img, err
}

// rendered is the picture with what is needed to draw on it.
func rendered(m *mesh.Mesh, v View, size int, value []float32, tone Tone) (*image.RGBA, *shader, error) {
	if size < 8 || size > maxShade {
		return nil, nil, fettle.Errorf(fettle.Invalid, "a picture of %d pixels cannot be made; choose between 8 and %d", size, maxShade)
	}
	if err := check(m); err != nil {
		return nil, nil, err
	}
	f := flatten(m, v)
	s := &shader{f: f, corner: cornerNormals(m, f.normal), value: value, tone: tone}
	long := max(f.frame.W(), f.frame.H())
	if !(long > 0) {
		return nil, nil, fettle.Errorf(fettle.Invalid, "the part has no extent in this view, so no picture can be made; check the units of the model")
	}
	margin := max(2, size/40)
	s.px = long / float64(size-2*margin)
	s.w = int(math.Ceil(f.frame.W()/s.px)) + 2*margin
	s.h = int(math.Ceil(f.frame.H()/s.px)) + 2*margin
	s.x0 = f.frame.X0 - (float64(s.w)*s.px-f.frame.W())/2
	s.y0 = f.frame.Y0 - (float64(s.h)*s.px-f.frame.H())/2
	// The light stands 33° above the paper, up and to the left.
	s.light = r3.Unit(r3.Add(r3.Scale(0.62, v.Toward), r3.Add(r3.Scale(-0.62, v.Right), r3.Scale(0.72, v.Up))))
	right := r3.Unit(r3.Cross(v.Up, s.light))
	s.lightView = View{right, r3.Cross(s.light, right), s.light}
	s.shadow = newDepthMap(flatten(m, s.lightView), min(2000, max(400, 2*size)))

	img := image.NewRGBA(image.Rect(0, 0, s.w, s.h))
	const band = 32
	rows := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			buf := &bandBuffer{}
			for j := range rows {
				s.band(img, j, min(s.h, j+band), buf)
			}
		})
	}
	for j := 0; j < s.h; j += band {
		rows <- j
	}
	close(rows)
	wg.Wait()
	lines, err := Project(m, v)
	if err != nil {
		return nil, nil, err
	}
	ink(img, lines, s.to, max(1, float64(size)/600), 0.45)
	return img, s, nil
}

// ss is the number of samples along each side of a pixel.
const ss = 3

type shader struct {
	f         *flat
	corner    [][3]r3.Vec
	value     []float32 // at each vertex; nil for plain metal
	tone      Tone
	w, h      int
	px        float64
	x0, y0    float64
	light     r3.Vec
	lightView View
	shadow    *depthMap
}

// to is a point on paper in pixels of the picture.
func (s *shader) to(p Pt) Pt { return Pt{(p.X - s.x0) / s.px, (p.Y - s.y0) / s.px} }

type bandBuffer struct {
	near []float64
	rgb  []float32 // three per sample
	val  []float32
}

// band renders rows [j0, j1) of the picture. Triangles are visited in order, so
// the outcome does not depend on who renders which band.
func (s *shader) band(img *image.RGBA, j0, j1 int, buf *bandBuffer) {
	w, h := s.w*ss, (j1-j0)*ss
	if cap(buf.near) < w*h {
		buf.near, buf.rgb, buf.val = make([]float64, w*h), make([]float32, 3*w*h), make([]float32, w*h)
	}
	near, rgb, val := buf.near[:w*h], buf.rgb[:3*w*h], buf.val[:w*h]
	id := make([]int32, w*h)
	for i := range near {
		near[i], id[i] = math.Inf(-1), -1
	}
	pixel := func(c uint32) Pt {
		p := s.f.pt[c]
		return Pt{(p.X - s.x0) / s.px * ss, (p.Y-s.y0)/s.px*ss - float64(j0*ss)}
	}
	for t, tri := range s.f.m.Tri {
		p := [3]Pt{pixel(tri[0]), pixel(tri[1]), pixel(tri[2])}
		z := [3]float64{s.f.near[tri[0]], s.f.near[tri[1]], s.f.near[tri[2]]}
		raster(p, 0, h, w, func(i, j int, b [3]float64) {
			n := b[0]*z[0] + b[1]*z[1] + b[2]*z[2]
			at := j*w + i
			if n > near[at] {
				near[at], id[at] = n, int32(t)
				c := s.corner[t]
				normal := r3.Add(r3.Scale(b[0], c[0]), r3.Add(r3.Scale(b[1], c[1]), r3.Scale(b[2], c[2])))
				// Kept for the pass that lights what is seen.
				rgb[3*at], rgb[3*at+1], rgb[3*at+2] = float32(normal.X), float32(normal.Y), float32(normal.Z)
				if s.value != nil {
					val[at] = float32(b[0])*s.value[tri[0]] + float32(b[1])*s.value[tri[1]] + float32(b[2])*s.value[tri[2]]
				}
			}
		})
	}
	for at, t := range id {
		if t < 0 {
			rgb[3*at], rgb[3*at+1], rgb[3*at+2] = 1, 1, 1
			continue
		}
		n := r3.Vec{X: float64(rgb[3*at]), Y: float64(rgb[3*at+1]), Z: float64(rgb[3*at+2])}
		x := s.x0 + (float64(at%w)+0.5)/ss*s.px
		y := s.y0 + (float64(at/w+j0*ss)+0.5)/ss*s.px
		p := r3.Add(r3.Scale(x, s.f.view.Right), r3.Add(r3.Scale(-y, s.f.view.Up), r3.Scale(near[at], s.f.view.Toward)))
		e, gloss := s.lit(n, s.f.normal[t], p)
		base := [3]float64{0.74, 0.66, 0.50}
		if s.value != nil {
			base[0], base[1], base[2] = s.tone(float64(val[at]), at%w/ss, at/w/ss+j0)
			gloss *= 0.4
		}
		rgb[3*at] = float32(base[0]*e + gloss)
		rgb[3*at+1] = float32(base[1]*e + gloss)
		rgb[3*at+2] = float32(base[2]*e + 0.9*gloss)
	}
	for j := j0; j < j1; j++ {
		for i := 0; i < s.w; i++ {
			var sum [3]float32
			for q := 0; q < ss*ss; q++ {
				at := ((j-j0)*ss+q/ss)*w + i*ss + q%ss
				for c := range sum {
					sum[c] += rgb[3*at+c]
				}
			}
			o := img.PixOffset(i, j)
			for c := range sum {
				img.Pix[o+c] = srgb(sum[c] / (ss * ss))
			}
			img.Pix[o+3] = 255
		}
	}
}

// lit is how much light a point p with shading normal n and facet normal g
// scatters, and how much it mirrors.
func (s *shader) lit(n, g, p r3.Vec) (e, gloss float64) {
	v := s.f.view
	if l := r3.Norm(n); l > 0 {
		n = r3.Scale(1/l, n)
	} else {
		n = v.Toward
	}
	if r3.Dot(g, v.Toward) < 0 { // an open part, seen from inside
		n, g = r3.Scale(-1, n), r3.Scale(-1, g)
	}
	key := max(0, r3.Dot(n, s.light)) * s.open(p, g)
	fill := 0.5 + 0.5*r3.Dot(n, v.Up)
	face := max(0, r3.Dot(n, v.Toward))
	half := r3.Unit(r3.Add(s.light, v.Toward))
	if key > 0 {
		gloss = math.Pow(max(0, r3.Dot(n, half)), 24) * 0.22
	}
	return 0.10 + 0.16*fill + 0.14*face + 0.62*key, gloss
}

// open is the share of the light that reaches p, over a small patch so that
// shadows have soft borders.
func (s *shader) open(p, g r3.Vec) float64 {
	facing := r3.Dot(g, s.light)
	if facing <= 0 {
		return 0
	}
	d := s.shadow
	q, near := s.lightView.to(p)
	c := d.pixel(q)
	const reach = 3
	slack := d.px * (1.5 + (reach+1)*min(5, math.Sqrt(max(0, 1-facing*facing))/facing))
	seen, all := 0, 0
	for dj := -reach; dj <= reach; dj++ {
		for di := -reach; di <= reach; di++ {
			i, j := int(math.Floor(c.X))+di, int(math.Floor(c.Y))+dj
			all++
			if i < 0 || j < 0 || i >= d.w || j >= d.h || near+slack >= float64(d.near[j*d.w+i]) {
				seen++
			}
		}
	}
	return float64(seen) / float64(all)
}

// cornerNormals are shading normals per corner: facet normals round the vertex
// that turn by less than 30° from this facet, averaged by their angle there.
func cornerNormals(m *mesh.Mesh, normal []r3.Vec) [][3]r3.Vec {
	tp := mesh.NewTopology(m)
	cos := math.Cos(30 * math.Pi / 180)
	out := make([][3]r3.Vec, len(m.Tri))
	angle := func(t int32, v uint32) float64 {
		tri := m.Tri[t]
		for k := range tri {
			if tri[k] == v {
				a, b := r3.Sub(m.Pos[tri[(k+1)%3]], m.Pos[v]), r3.Sub(m.Pos[tri[(k+2)%3]], m.Pos[v])
				return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b))
			}
		}
		return 0
	}
	for t, tri := range m.Tri {
		for k, v := range tri {
			sum := r3.Vec{}
			ring := tp.Around[tp.Start[v]:tp.Start[v+1]]
			if len(ring) > 64 { // the hub of a fan: flat enough as it is
				out[t][k] = normal[t]
				continue
			}
			for _, u := range ring {
				if r3.Dot(normal[t], normal[u]) > cos {
					sum = r3.Add(sum, r3.Scale(angle(u, v), normal[u]))
				}
			}
			if r3.Norm2(sum) == 0 {
				sum = normal[t]
			}
			out[t][k] = sum
		}
	}
	return out
}

// srgb encodes a linear share of light (IEC 61966-2-1).
func srgb(v float32) uint8 {
	x := float64(min(1, max(0, v)))
	if x <= 0.0031308 {
		x *= 12.92
	} else {
		x = 1.055*math.Pow(x, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * x))
}
