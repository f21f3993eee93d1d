package draw

import (
	"math"
	"slices"

	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// crossings are the stretches of the line at x that lie in a region, as pairs of Y.
func crossings(r region.Region, x float64) [][2]float64 {
	x += 3.7e-5 // past corners, which lie on a grid
	var ys []float64
	for _, l := range r.Loops {
		for i, a := range l {
			b := l[(i+1)%len(l)]
			if (a.X < x) != (b.X < x) {
				ys = append(ys, a.Y+(x-a.X)/(b.X-a.X)*(b.Y-a.Y))
			}
		}
	}
	slices.Sort(ys)
	var out [][2]float64
	for i := 0; i+1 < len(ys); i += 2 {
		out = append(out, [2]float64{ys[i], ys[i+1]})
	}
	return out
}

// cutAt is where the section is taken: where it meets the most levels, nearest to
// the pocket's middle.
func (j *jawPlan) cutAt() float64 {
	if j.lo.X >= j.hi.X {
		return 0
	}
	mid := (j.lo.X + j.hi.X) / 2
	best, most := mid, -1
	for _, at := range append([]float64{mid}, j.middles()...) {
		n := 0
		for i, l := range j.levels {
			cut := crossings(l.open, at)
			if i == 0 || !slices.Equal(cut, crossings(j.levels[i-1].open, at)) {
				n += min(1, len(cut))
			}
		}
		if n > most || n == most && math.Abs(at-mid) < math.Abs(best-mid)-1e-9 {
			best, most = at, n
		}
	}
	return best
}

// middles are those of the levels' islands along the jaws.
func (j *jawPlan) middles() []float64 {
	var out []float64
	for _, l := range j.levels {
		for _, part := range l.open.Parts() {
			lo, hi := part.Box()
			out = append(out, (lo.X+hi.X)/2)
		}
	}
	return out
}

func (j *jawPlan) sectionTitle() string { return "Section A–A, " + ScaleName(j.k) }

// sec is a place of the section on paper: y across the vise, z up from the jaws'
// top. It is seen from the jaws' right end, the fixed jaw on the right.
func (j *jawPlan) sec(y, z float64) Pt {
	return Pt{(j.section.X0+j.section.X1)/2 + j.k*y, j.section.Y0 - j.k*z}
}

// box is a rectangle of the section.
func box(y0, y1, z0, z1 float64) region.Region {
	return region.Rect(r2.Vec{X: y0, Y: z0}, r2.Vec{X: y1, Y: z1})
}

// across draws the section.
func (j *jawPlan) across() {
	j.out.Texts = append(j.out.Texts, Text{At: Pt{j.section.X0, j.section.Y0 - 7.6}, S: j.sectionTitle(), Size: TextSize, Bold: true})
	const over = 1.0 // above the jaws, so that nothing is left on a mouth
	for i, s := range j.stands {
		y0, y1 := s.GapMM/2, s.GapMM/2+j.pair.ThickMM
		if s.front() {
			y0, y1 = -y1, -y0
		}
		metal := box(y0, y1, -j.pair.HeightMM, 0)
		whole := metal
		var gone []region.Region
		for _, cut := range j.voids[i] {
			for _, v := range cut {
				for _, c := range crossings(v.plan, j.at) {
					gone = append(gone, box(c[0], c[1], v.low, v.high))
				}
			}
		}
		if len(gone) > 0 {
			metal = metal.Minus(region.Region{}.Union(gone...))
		}
		for _, l := range j.levels {
			for _, c := range crossings(l.open, j.at) {
				metal = metal.Minus(box(c[0], c[1], -l.depth, over))
			}
		}
		angle := math.Pi / 4
		if s.front() {
			angle = -angle
		}
		j.hatch(metal, angle)
		for _, g := range gone {
			for _, l := range g.And(whole).Loops {
				j.secLoop(l, WeightEdge, dashOlder)
			}
		}
		for _, h := range j.pair.Holes {
			j.secHole(s, h.ZMM, h.DiameterMM/2, h.HeadMM/2, h.HeadDeepMM, h.BothFaces)
		}
		for _, l := range metal.Loops {
			j.secLoop(l, WeightOutline, nil)
		}
		name := []string{"fixed jaw", "moving jaw"}[i]
		t := Text{At: Pt{j.sec(y1, 0).X, j.section.Y0 - 3}, S: name, Size: TextSize, Align: Right}
		if s.front() {
			t.At.X, t.Align = j.sec(y0, 0).X, Left
		}
		if j.wide("fixed jaw")+j.wide("moving jaw")+3 > j.section.W() {
			// Back to back over the gap.
			t.S, t.At.X, t.Align = []string{"fixed", "moving"}[i], j.sec(0, 0).X+1, Left
			if s.front() {
				t.At.X, t.Align = t.At.X-2, Right
			}
		}
		j.out.Texts = append(j.out.Texts, t)
	}
	x := j.section.X0
	j.out.Along(j.section.Y0, j.section.Y1, x-7, x, x, j.size(j.pair.HeightMM), j.opt.Metric)
	j.depths()
}

func (j *jawPlan) secLoop(l []r2.Vec, weight float64, dash []float64) {
	pts := make([]Pt, len(l))
	for i, q := range l {
		pts[i] = j.sec(q.X, q.Y)
	}
	j.out.Lines = append(j.out.Lines, Line{Pts: pts, Weight: weight, Dash: dash, Closed: true})
}

// secHole draws a mounting hole behind the section as hidden edges.
func (j *jawPlan) secHole(s stand, z, r, head, deep float64, both bool) {
	t := j.pair.ThickMM
	line := func(y0, z0, y1, z1 float64) {
		_, ay, az := s.vise(0, y0, z0)
		_, by, bz := s.vise(0, y1, z1)
		j.out.Lines = append(j.out.Lines, Line{Pts: []Pt{j.sec(ay, az), j.sec(by, bz)}, Weight: WeightThin, Dash: dashHidden})
	}
	front, back := 0.0, t
	recess := func(from, to float64) {
		line(from, z+head, to, z+head)
		line(from, z-head, to, z-head)
		line(to, z-head, to, z+head)
	}
	if head > 0 && deep > 0 {
		front = min(deep, t)
		recess(0, front)
		if both {
			back = max(front, t-deep)
			recess(t, back)
		}
	}
	line(front, z+r, back, z+r)
	line(front, z-r, back, z-r)
}

// hatch rules a region of the section with thin lines at an angle.
func (j *jawPlan) hatch(r region.Region, angle float64) {
	const pitch = 2.6 // mm on paper
	s, c := math.Sincos(angle)
	// Turned so that the lines lie along x; their heights are multiples of the pitch.
	turn := func(q r2.Vec) r2.Vec { return r2.Vec{X: c*q.X + s*q.Y, Y: -s*q.X + c*q.Y} }
	lo, hi := math.Inf(1), math.Inf(-1)
	var ls [][]r2.Vec
	for _, l := range r.Loops {
		var t []r2.Vec
		for _, q := range l {
			v := turn(q)
			t = append(t, v)
			lo, hi = min(lo, v.Y), max(hi, v.Y)
		}
		ls = append(ls, t)
	}
	step := pitch / j.k
	for n := math.Ceil(lo / step); n*step < hi; n++ {
		y := n*step + 1.3e-5
		var xs []float64
		for _, l := range ls {
			for i, a := range l {
				b := l[(i+1)%len(l)]
				if (a.Y < y) != (b.Y < y) {
					xs = append(xs, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
				}
			}
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			p := r2.Vec{X: c*xs[i] - s*y, Y: s*xs[i] + c*y}
			q := r2.Vec{X: c*xs[i+1] - s*y, Y: s*xs[i+1] + c*y}
			j.out.Lines = append(j.out.Lines, Line{Pts: []Pt{j.sec(p.X, p.Y), j.sec(q.X, q.Y)}, Weight: 0.13, Shade: 0.35})
		}
	}
}

// told are the depths that are written beside the section: the first and the last,
// and of those between as many as have room.
func (j *jawPlan) told() []float64 {
	var all []float64
	for _, l := range j.p.Levels {
		if l.DepthMM > 0 && !slices.Contains(all, l.DepthMM) {
			all = append(all, l.DepthMM)
		}
	}
	slices.Sort(all)
	const most = 6
	if len(all) <= most {
		return all
	}
	var out []float64
	for i := range most {
		out = append(out, all[i*(len(all)-1)/(most-1)])
	}
	return out
}

// ordinates is the room that depths take right of the section.
func (j *jawPlan) ordinates() float64 {
	w := j.wide("0")
	for _, d := range j.told() {
		w = max(w, j.wide(j.size(d)))
	}
	return w + 9
}

// depthsAt are the heights on paper of the texts of the jaws' top and of the depths
// that are told.
func (j *jawPlan) depthsAt() []float64 {
	const lead = 1.25 * TextSize
	at := []float64{j.section.Y0}
	for _, d := range j.told() {
		at = append(at, max(j.sec(0, -d).Y, at[len(at)-1]+lead))
	}
	return at
}

// depths writes how far each level lies below the jaws' top, at the end of a thin
// line from its wall.
func (j *jawPlan) depths() {
	at := j.depthsAt()
	for i, d := range append([]float64{0}, j.told()...) {
		wall := j.section.X1
		for _, l := range j.levels {
			if l.depth != d {
				continue
			}
			for _, c := range crossings(l.open, j.at) {
				if x := j.sec(c[1], 0).X; c[1] > 0 && x < wall {
					wall = x
				}
			}
		}
		x, own, y := j.section.X1, j.sec(0, -d).Y, at[i]
		j.out.Stroke(WeightThin, Pt{min(wall+0.8, x), own}, Pt{x + 2, own}, Pt{x + 5, y}, Pt{x + 7, y})
		says := j.size(d)
		if d == 0 {
			says = "0"
		}
		j.out.Texts = append(j.out.Texts, Text{At: Pt{x + 8, y + 0.36*TextSize}, S: says, Size: TextSize})
	}
}
