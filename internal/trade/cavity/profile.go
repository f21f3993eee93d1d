package cavity

import (
	"cmp"
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/cores"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	mostLayers  = 160 // that are cut at first
	mostEntries = 24  // that are kept of them
	upright     = 0.35
)

// cutAt is one entry of a profile as it is measured.
type cutAt struct {
	fettle.Width
	at   r2.Vec  // centre of the circle
	lean float64 // of the wall that it touches
}

// measure fills in the profiles, measures those openings that only the void
// shows, and compares the others with what the survey says.
func (f *finder) measure(ctx context.Context) error {
	says, small := make([][]string, len(f.list)), make([]string, len(f.list))
	err := cores.Each(ctx, len(f.list), func(i int) {
		o := &f.list[i]
		o.Profile, o.CellMM = nil, 0
		found := i >= len(f.Survey.Openings)
		if !found && f.tooNarrow(o.WidthMM) {
			small[i] = tooSmall(o, f.Cell)
			return
		}
		var cuts []cutAt
		if f.places[i].ring {
			cuts = f.ringProfile(int32(i))
		} else {
			cuts = f.profile(int32(i), f.places[i].loose)
			if p := f.places[i]; p.loose && p.through {
				cuts = p.trim(cuts)
				p.tell(o)
			}
		}
		if len(cuts) == 0 {
			if !found {
				small[i] = tooSmall(o, f.Cell)
			}
			return
		}
		if p := f.places[i]; p.found(i, f) {
			f.widths(o, cuts)
			if p.loose {
				_, o.LengthMM, _ = f.slicer(p, int32(i)).cut(p.depth / 2).neck()
			}
		} else {
			says[i] = append(says[i], f.check(int32(i), cuts)...)
		}
		o.Profile, o.CellMM = thin(cuts, 0.05*f.Cell), f.Cell
	})
	for i, s := range says {
		f.warn = append(f.warn, s...)
		if small[i] != "" {
			f.coarse = append(f.coarse, small[i])
		}
	}
	if err == nil {
		f.name()
	}
	return err
}

// profile cuts a place at depth after depth, about a cell apart.
func (f *finder) profile(i int32, neck bool) []cutAt {
	p := f.places[i]
	if !(p.depth > 0) {
		return nil
	}
	s := f.slicer(p, i)
	n := min(max(int(math.Ceil(p.depth/f.Cell)), 1), mostLayers)
	skin := min(0.01*f.Cell, 0.01*p.depth)
	if p.found(int(i), f) {
		skin = min(f.Cell/4, p.depth/4) // where it begins and ends is known no better
	}
	var out []cutAt
	for k := range n + 1 {
		depth := p.depth * float64(k) / float64(n)
		l := s.cut(max(skin, min(depth, p.depth-skin)))
		var c circle
		var ok bool
		if neck {
			c, _, ok = l.neck()
		} else {
			c, ok = l.widest()
		}
		if ok {
			out = append(out, cutAt{fettle.Width{DepthMM: depth, WidthMM: 2 * c.radius}, c.at, l.lines[c.line].lean})
		}
	}
	return out
}

// trim leaves of a gap that is open at both ends what is at most twice as wide
// as its narrowest: what is wider holds no piece that the narrowest holds. Where
// the rolling sphere touched says little of where such a gap begins. From the
// middle it is downhill to the narrowest.
func (p *place) trim(cuts []cutAt) []cutAt {
	if len(cuts) == 0 {
		return cuts
	}
	at := len(cuts) / 2
	for at > 0 && cuts[at-1].WidthMM < cuts[at].WidthMM {
		at--
	}
	for at+1 < len(cuts) && cuts[at+1].WidthMM < cuts[at].WidthMM {
		at++
	}
	i, j := at, at
	for i > 0 && cuts[i-1].WidthMM <= 2*cuts[at].WidthMM {
		i--
	}
	for j+1 < len(cuts) && cuts[j+1].WidthMM <= 2*cuts[at].WidthMM {
		j++
	}
	cuts = cuts[i : j+1]
	down := cuts[0].DepthMM
	p.at = r3.Sub(p.at, r3.Scale(down, p.axis))
	for k := range cuts {
		cuts[k].DepthMM -= down
	}
	p.depth = cuts[len(cuts)-1].DepthMM
	p.lo[2], p.hi[2] = -p.depth, 0
	return cuts
}

// ringProfile measures a groove round the part: at each depth the way along the
// axis from wall to wall, the widest of those in eight directions.
func (f *finder) ringProfile(i int32) []cutAt {
	p := f.places[i]
	n := min(max(int(math.Ceil(p.depth/f.Cell)), 1), mostLayers)
	skin := min(0.01*f.Cell, 0.01*p.depth)
	rows := max(int(math.Ceil((p.hi[2]-p.lo[2])/f.Cell)), 2)
	var out []cutAt
	for k := range n + 1 {
		depth := p.depth * float64(k) / float64(n)
		r := p.outer - max(skin, min(depth, p.depth-skin))
		best := 0.0
		for a := range 8 {
			sin, cos := math.Sincos(2 * math.Pi * (float64(a) + 0.37) / 8)
			for m := range rows {
				h := p.lo[2] + (p.hi[2]-p.lo[2])*(float64(m)+0.5)/float64(rows)
				q := p.point(r*cos, r*sin, h)
				if f.Value(q) <= 0 {
					continue
				}
				_, up, _, _, ok := f.Tree.Ray(q, p.axis, 0, 2*(p.hi[2]-p.lo[2]))
				_, down, _, _, too := f.Tree.Ray(q, r3.Scale(-1, p.axis), 0, 2*(p.hi[2]-p.lo[2]))
				if ok && too {
					best = max(best, up+down)
				}
			}
		}
		if best > 0 {
			out = append(out, cutAt{Width: fettle.Width{DepthMM: depth, WidthMM: best}})
		}
	}
	if len(out) > 0 && out[0].DepthMM < 2*f.Cell {
		out[0].DepthMM = 0 // between the corners of the mouth's polygon there is no wall yet
	}
	return out
}

// thin keeps the entries between which the width changes evenly: as few as come
// within a tolerance, and never more than mostEntries (Douglas and Peucker, The
// Canadian Cartographer 10 (1973) 112).
func thin(cuts []cutAt, tol float64) []fettle.Width {
	for {
		keep := make([]bool, len(cuts))
		keep[0], keep[len(cuts)-1] = true, true
		var split func(a, b int)
		split = func(a, b int) {
			worst, at := tol, -1
			for i := a + 1; i < b; i++ {
				t := (cuts[i].DepthMM - cuts[a].DepthMM) / (cuts[b].DepthMM - cuts[a].DepthMM)
				if e := math.Abs(cuts[a].WidthMM + t*(cuts[b].WidthMM-cuts[a].WidthMM) - cuts[i].WidthMM); e > worst {
					worst, at = e, i
				}
			}
			if at >= 0 {
				keep[at] = true
				split(a, at)
				split(at, b)
			}
		}
		split(0, len(cuts)-1)
		var out []fettle.Width
		for i, k := range keep {
			if k {
				out = append(out, cuts[i].Width)
			}
		}
		if len(out) <= mostEntries {
			return out
		}
		tol *= 1.5
	}
}

// found reports whether a place was measured in the void.
func (p *place) found(i int, f *finder) bool { return p.loose || i >= len(f.Survey.Openings) }

// narrowest is the least width between upright walls; infinite for none.
func narrowest(cuts []cutAt) float64 {
	least := math.Inf(1)
	for _, c := range cuts {
		if math.Abs(c.lean) < upright {
			least = min(least, c.WidthMM)
		}
	}
	return least
}

// widths fills in what an opening that only the void shows measures.
func (f *finder) widths(o *fettle.Opening, cuts []cutAt) {
	o.WidestMM = slices.MaxFunc(cuts, func(a, b cutAt) int { return cmp.Compare(a.WidthMM, b.WidthMM) }).WidthMM
	o.WidthMM = math.Inf(1)
	for _, c := range cuts {
		// A wedge's width is told half-way down.
		if o.Through || c.DepthMM <= o.DepthMM/2+f.Cell/2 {
			o.WidthMM = min(o.WidthMM, c.WidthMM)
		}
	}
	o.InsideMM = o.WidthMM / 2
}
