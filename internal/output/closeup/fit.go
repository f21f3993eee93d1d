package closeup

import (
	"math"

	"fettle"
	"fettle/internal/shape/relief"
)

// FitMap shows how a block's face lies on a part: pts are places of the face in
// plan, mm, X along the stroke, dev how far the face lies from where it should
// there, µm, above zero where it stands off. Where over is false, or dev is NaN,
// the face is not over the patch and the map is hatched; a nil over means that all
// is. Places may be a grid or scattered, about evenly; between them values are
// weighted by the inverse square of the distance (D. Shepard, "A two-dimensional
// interpolation function for irregularly-spaced data", Proc. 23rd ACM National
// Conference (1968) 517).
//
// The map is that of [Colour] for signed heights: zero light, brown where the face
// stands off, blue and dotted where it digs in, with the scale in µm, or µin and
// thou. limitUM above 0 makes the scale end there, so that maps of several blocks
// can be compared; without it the scale shows the whole, but no less than 1 µm to
// either side: what is below that is noise to paper. Width and Height bound the picture; Middle, WideMM and what
// belongs to the light are not used. The error is fettle.Invalid for lists that do
// not match and for a face without places over the patch.
func FitMap(pts [][2]float64, dev []float64, over []bool, limitUM float64, o Options) (*Picture, error) {
	if len(pts) != len(dev) || over != nil && len(over) != len(pts) {
		return nil, fettle.Errorf(fettle.Invalid, "%d places with %d deviations cannot be shown; give one for each", len(pts), len(dev))
	}
	if !(limitUM >= 0) || math.IsInf(limitUM, 0) {
		return nil, fettle.Errorf(fettle.Invalid, "a scale that ends at %g µm cannot be drawn; give a limit above 0", limitUM)
	}
	for i, p := range pts {
		if s := p[0] + p[1]; math.IsNaN(s) || math.IsInf(s, 0) || math.IsInf(dev[i], 0) {
			return nil, fettle.Errorf(fettle.Invalid, "place %d of the face is not finite, so it cannot be shown; make the block again", i+1)
		}
	}
	m, ok := gridded(pts, dev, over)
	if !ok {
		return nil, fettle.Errorf(fettle.Invalid, "no place of the face lies over the patch, so there is no fit to show; move the block")
	}
	if limitUM == 0 {
		most := 0.0
		for i, d := range dev {
			if d == d && (over == nil || over[i]) {
				most = max(most, math.Abs(d))
			}
		}
		if most < 1 {
			limitUM = 1
		}
	}
	o.Whole = true
	if o.Missing == "" {
		o.Missing = "not over the patch"
	}
	return Colour(m, HeightOptions{Options: o, Signed: true, LowUM: -limitUM, HighUM: limitUM, Below: "digs in", Above: "stands off", Note: "deviation of the face from its offset, stroke from left to right"})
}

// gridded is a map of scattered values; false without any.
func gridded(pts [][2]float64, dev []float64, over []bool) (*relief.Map, bool) {
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	held := func(i int) bool { return (over == nil || over[i]) && dev[i] == dev[i] }
	some := false
	for i, p := range pts {
		some = some || held(i)
		for k := range p {
			lo[k], hi[k] = min(lo[k], p[k]), max(hi[k], p[k])
		}
	}
	if !some {
		return nil, false
	}
	// The spacing of as many places spread evenly over the face; a row of places has
	// the spacing along it.
	w, h := hi[0]-lo[0], hi[1]-lo[1]
	n := float64(len(pts))
	space := math.Sqrt(w * h / n)
	space = max(space, max(w, h)/n, 1e-3)
	const most = 400 // cells along a side
	cell := max(space/2, max(w, h)/most)
	m := relief.NewMap(relief.Cover(lo[0]-cell/2, lo[1]-cell/2, hi[0]+cell/2, hi[1]+cell/2, cell))

	// Places by squares as wide as the search.
	reach := 1.6 * max(space, cell)
	nx, ny := int((hi[0]-lo[0])/reach)+1, int((hi[1]-lo[1])/reach)+1
	square := func(p [2]float64) (int, int) {
		return min(nx-1, max(0, int((p[0]-lo[0])/reach))), min(ny-1, max(0, int((p[1]-lo[1])/reach)))
	}
	in := make([][]int, nx*ny)
	for i, p := range pts {
		a, b := square(p)
		in[b*nx+a] = append(in[b*nx+a], i)
	}
	for j := range m.H {
		for i := range m.W {
			at := [2]float64{m.X(i), m.Y(j)}
			a, b := square(at)
			near, best := -1, reach
			sum, weight := 0.0, 0.0
			for y := max(0, b-1); y <= min(ny-1, b+1); y++ {
				for x := max(0, a-1); x <= min(nx-1, a+1); x++ {
					for _, q := range in[y*nx+x] {
						d := math.Hypot(pts[q][0]-at[0], pts[q][1]-at[1])
						if d < best {
							near, best = q, d
						}
						if d < reach && held(q) {
							v := 1 / (d*d + 1e-12*space*space)
							sum, weight = sum+v*dev[q], weight+v
						}
					}
				}
			}
			z := math.NaN()
			if near >= 0 && held(near) {
				z = sum / weight / 1000
			}
			m.Z[j*m.W+i] = float32(z)
		}
	}
	return m, true
}
