package draw

import (
	"math"

	"fettle"
)

// hole draws a mounting hole with its recesses as hidden edges, and its axis.
func (j *jawPlan) hole(s stand, h fettle.JawHole) {
	t, r := j.pair.ThickMM, h.DiameterMM/2
	line := func(dash []float64, x0, y0, x1, y1 float64) {
		ax, ay, _ := s.vise(x0, y0, h.ZMM)
		bx, by, _ := s.vise(x1, y1, h.ZMM)
		j.out.Lines = append(j.out.Lines, Line{Pts: []Pt{j.pt(ax, ay), j.pt(bx, by)}, Weight: WeightThin, Dash: dash})
	}
	front, back := 0.0, t
	recess := func(from, to float64) {
		for _, side := range []float64{-1, 1} {
			line(dashHidden, h.XMM+side*h.HeadMM/2, from, h.XMM+side*h.HeadMM/2, to)
		}
		line(dashHidden, h.XMM-h.HeadMM/2, to, h.XMM+h.HeadMM/2, to)
	}
	if h.HeadMM > 0 && h.HeadDeepMM > 0 {
		front = min(h.HeadDeepMM, t)
		recess(0, front)
		if h.BothFaces {
			back = max(front, t-h.HeadDeepMM)
			recess(t, back)
		}
	}
	for _, side := range []float64{-1, 1} {
		line(dashHidden, h.XMM+side*r, front, h.XMM+side*r, back)
	}
	line(dashAxis, h.XMM, -1.5/j.k, h.XMM, t+1.5/j.k)
}

// marks draws axes, reliefs, where the jaws bear, and where to push the part.
func (j *jawPlan) marks() {
	for _, f := range [2][2]float64{{j.plan.Y0 - 1.5, j.pt(0, j.p.Pose.GapMM/2).Y}, {j.pt(0, -j.p.Pose.GapMM/2).Y, j.plan.Y1 + 1.5}} {
		j.out.Lines = append(j.out.Lines, Line{Pts: []Pt{{j.x, f[0]}, {j.x, f[1]}}, Weight: WeightThin, Dash: dashAxis})
	}
	for _, r := range j.p.Reliefs {
		relief(j.out, j.pt(r.At[0], r.At[1]), j.k*r.RadiusMM)
	}
	for _, b := range j.p.Bearings {
		if b.AreaMM2 > 0 {
			bearingMark(j.out, j.pt(b.Centre[0], b.Centre[1]))
		}
	}
	j.stop()
	// The section's ends.
	for _, s := range [2][2]float64{{j.plan.Y0, -1}, {j.plan.Y1, 1}} {
		x, y := j.pt(j.at, 0).X, s[0]+s[1]*3.2
		j.out.Stroke(0.7, Pt{x, s[0] + s[1]*0.8}, Pt{x, y})
		j.out.Stroke(WeightEdge, Pt{x, y}, Pt{x - 4.5, y})
		j.out.Arrow(Pt{x - 4.5, y}, Pt{x, y})
		j.out.Texts = append(j.out.Texts, Text{At: Pt{x + 1, s[0] + s[1]*2.3 + 0.36*TextSize}, S: "A", Size: TextSize, Bold: true})
	}
}

// relief is a cutter's circle with a centre mark.
func relief(d *Drawing, c Pt, r float64) {
	d.Circle(WeightThin, c, r)
	m := r + 1
	d.Stroke(WeightThin, Pt{c.X - m, c.Y}, Pt{c.X + m, c.Y})
	d.Stroke(WeightThin, Pt{c.X, c.Y - m}, Pt{c.X, c.Y + m})
}

// bearingMark is a disc in quarters, as a centre of weight is marked.
func bearingMark(d *Drawing, c Pt) {
	const r = 1.7
	for _, from := range []float64{0, math.Pi} {
		pts := []Pt{c}
		for i := range 9 {
			s, co := math.Sincos(from + math.Pi/2*float64(i)/8)
			pts = append(pts, Pt{c.X + r*co, c.Y + r*s})
		}
		d.Fills = append(d.Fills, Fill{Pts: pts})
	}
	d.Circle(WeightEdge, c, r)
}

// saysPush reports whether the gap has room to say what the arrow is; the key says
// it otherwise.
func (j *jawPlan) saysPush() bool {
	return j.k*j.p.Pose.GapMM >= 1.6*TextSize && j.wide("push the part here") < j.plan.W()-2
}

// stop is a bold arrow that ends at the face the part is pushed against.
func (j *jawPlan) stop() {
	s := j.p.Stop
	l := math.Hypot(s.Towards[0], s.Towards[1])
	if l == 0 {
		return
	}
	dx, dy := s.Towards[0]/l, -s.Towards[1]/l
	wall := j.pt(s.At[0], s.At[1])
	tip := Pt{wall.X - 0.6*dx, wall.Y - 0.6*dy}
	// As long as the drawing has room behind it.
	long := 13.0
	for _, side := range [2][3]float64{{dx, tip.X - j.plan.X0, j.plan.X1 - tip.X}, {dy, tip.Y - j.plan.Y0, j.plan.Y1 - tip.Y}} {
		switch d, behind, before := side[0], side[1], side[2]; {
		case d > 1e-9:
			long = min(long, behind/d)
		case d < -1e-9:
			long = min(long, -before/d)
		}
	}
	if long < 3 { // the place is not on these jaws
		return
	}
	head := min(5, 0.6*long)
	half := 0.38 * head
	base, tail := Pt{tip.X - head*dx, tip.Y - head*dy}, Pt{tip.X - long*dx, tip.Y - long*dy}
	j.out.Fills = append(j.out.Fills, Fill{Pts: []Pt{tip, {base.X - half*dy, base.Y + half*dx}, {base.X + half*dy, base.Y - half*dx}}})
	j.out.Stroke(1.2, tail, base)
	const says = "push the part here"
	if !j.saysPush() {
		return
	}
	// In the gap, where nothing else stands.
	t := Text{S: says, Size: TextSize, Align: Left, At: Pt{tail.X + 2.5, j.y + 0.36*TextSize}}
	if dx > 0.5 {
		t.Align, t.At.X = Right, tail.X-1.8
	}
	if math.Abs(dx) > 0.5 && math.Abs(tail.Y-j.y) > 0.9*TextSize {
		t.At.X = tip.X - 2*dx
	}
	f := t.Frame(j.opt.Metric)
	t.At.X += max(0, j.plan.X0+1-f.X0) - max(0, f.X1-j.plan.X1+1)
	j.out.Texts = append(j.out.Texts, t)
}
