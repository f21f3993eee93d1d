package draw

import "math"

// span is a dimension along one side of a view: from a to b on paper, in the row
// or column where it runs into no other.
type span struct {
	a, b float64 // with what stands outside its arrows
	from float64 // the measured ends
	to   float64
	text string
	row  int
	lie  float64 // a column's distance from the view
}

// flatBelow is [level] with room for rounding: a text that may come to lie level is
// given the room.
const flatBelow = level + 1e-3

// inRows gives each span the first row in which it meets none before it.
func inRows(list []span) []span {
	var ends [][][2]float64
	for i := range list {
		s := &list[i]
		for s.row = 0; ; s.row++ {
			if s.row == len(ends) {
				ends = append(ends, nil)
			}
			free := true
			for _, e := range ends[s.row] {
				free = free && (s.b <= e[0]+1e-9 || e[1] <= s.a+1e-9)
			}
			if free {
				ends[s.row] = append(ends[s.row], [2]float64{s.a, s.b})
				break
			}
		}
	}
	return list
}

// belowDims are the dimensions along the jaws.
func (j *jawPlan) belowDims() []span {
	x := func(mm float64) float64 { return j.pt(mm, 0).X }
	var list []span
	add := func(from, to float64) {
		if to-from < 0.005 {
			return
		}
		s := span{from: x(from), to: x(to), text: j.size(to - from)}
		s.a, s.b = s.from, s.to
		if wide := j.wide(s.text); s.to-s.from < wide+2*2.6+1 {
			s.a, s.b = s.from-5, s.to+5+wide+1.5
		}
		list = append(list, s)
	}
	half := j.pair.WidthMM / 2
	if j.lo.X < j.hi.X {
		// The middles first: their extension lines end before the other rows.
		mid := (j.lo.X + j.hi.X) / 2
		add(min(0, mid), max(0, mid))
		add(-half, j.lo.X)
		add(j.lo.X, j.hi.X)
	}
	add(-half, half)
	return inRows(list)
}

// wallDims are those of the pocket's walls from the middle of the gap, on the left,
// as if the vise's zero were at 0.
func (j *jawPlan) wallDims() []span {
	if !(j.lo.X < j.hi.X) {
		return nil
	}
	return j.columns(2.5, [2]float64{min(0, j.hi.Y), max(0, j.hi.Y)}, [2]float64{min(0, j.lo.Y), max(0, j.lo.Y)})
}

// thickDims are those of the gap and a jaw's thickness, on the right.
func (j *jawPlan) thickDims() []span {
	g, t := j.p.Pose.GapMM/2, j.pair.ThickMM
	return j.columns(2.5+TextSize, [2]float64{g, g + t}, [2]float64{-g, g})
}

// columns sets dimensions across the jaws in columns from the view outwards, each
// as wide as its texts. On the right upright texts stand on the inner side of their
// line, and want more between.
func (j *jawPlan) columns(between float64, of ...[2]float64) []span {
	var list []span
	for _, d := range of {
		if d[1]-d[0] < 0.005 {
			continue
		}
		s := span{from: -j.k * d[1], to: -j.k * d[0], text: j.size(d[1] - d[0])}
		s.a, s.b = s.from, s.to
		if s.to-s.from < flatBelow {
			s.a, s.b = s.from-5.5, s.to+5.5
		} else if over := (j.wide(s.text) + 3 - (s.to - s.from)) / 2; over > 0 {
			s.a, s.b = s.from-over, s.to+over
		}
		list = append(list, s)
	}
	list = inRows(list)
	at := 8.0
	for row, done := 0, false; !done; row++ {
		need := 0.0
		done = true
		for i := range list {
			if list[i].row == row {
				done = false
				list[i].lie = at
				need = max(need, j.beside(list[i]))
			}
		}
		at += need + between
	}
	return list
}

// beside is the room that the text of an upright dimension takes beside its line.
func (j *jawPlan) beside(s span) float64 {
	if s.to-s.from < flatBelow {
		return j.wide(s.text) + 2
	}
	return TextSize + 1.6
}

// columnsWidth is the room that columns take beside a view.
func (j *jawPlan) columnsWidth(list []span) float64 {
	w := 0.0
	for _, s := range list {
		w = max(w, s.lie+j.beside(s))
	}
	return w
}

// dims draws them.
func (j *jawPlan) dims() {
	for _, s := range j.below {
		y := j.plan.Y1 + j.under + dimRow*float64(s.row) + 5
		j.out.Across(s.from, s.to, y, j.plan.Y1+j.under-1, j.plan.Y1+j.under-1, s.text, j.opt.Metric)
	}
	edge := func(y float64) float64 {
		// The pocket's own wall where that is what is measured.
		for _, w := range []float64{j.lo.Y, j.hi.Y} {
			if j.lo.X < j.hi.X && math.Abs(j.y-j.k*w-y) < 1e-6 {
				return j.pt(j.lo.X, 0).X
			}
		}
		return j.plan.X0
	}
	for _, s := range j.left {
		j.out.Along(j.y+s.from, j.y+s.to, j.plan.X0-s.lie, edge(j.y+s.from), edge(j.y+s.to), s.text, j.opt.Metric)
	}
	for _, s := range j.right {
		j.out.Along(j.y+s.from, j.y+s.to, j.plan.X1+s.lie, j.plan.X1, j.plan.X1, s.text, j.opt.Metric)
	}
}
