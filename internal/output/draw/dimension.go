package draw

// TextSize is the em of the lettering of drawings in mm.
const TextSize = 3.6

// level is the length in mm below which an upright dimension has its text level
// beside it.
const level = 8.0

// Across adds a horizontal dimension line at height y from x0 to x1 with its
// text, and extension lines from the heights from0 and from1 of the measured
// corners. Where the arrows have no room between, they stand outside and the text
// follows to the right.
func (d *Drawing) Across(x0, x1, y, from0, from1 float64, text string, metric Metric) {
	d.dimension(false, x0, x1, y, from0, from1, text, metric)
}

// Along adds a vertical dimension line at x from y0 (upper) to y1, like
// [Drawing.Across]; the text reads from the right, or lies level beside a line
// shorter than 8 mm.
func (d *Drawing) Along(y0, y1, x, from0, from1 float64, text string, metric Metric) {
	d.dimension(true, y0, y1, x, from0, from1, text, metric)
}

// dimension draws along the paper's x axis, or with upright set with x and y
// exchanged.
func (d *Drawing) dimension(upright bool, a0, a1, at, from0, from1 float64, text string, metric Metric) {
	if metric == nil {
		metric = Em
	}
	pt := func(a, b float64) Pt {
		if upright {
			return Pt{b, a}
		}
		return Pt{a, b}
	}
	const gap, past, arrow = 0.8, 1.6, 2.6
	for _, e := range [2][2]float64{{a0, from0}, {a1, from1}} {
		s := 1.0
		if e[1] > at {
			s = -1
		}
		d.Stroke(WeightThin, pt(e[0], e[1]+s*gap), pt(e[0], at+s*past))
	}
	wide := metric(text, TextSize, false)
	t := Text{S: text, Size: TextSize, Align: Centre}
	mid := (a0 + a1) / 2
	room := a1 - a0
	switch {
	case room >= wide+2*arrow+1 || upright && room >= level:
		d.Stroke(WeightThin, pt(a0, at), pt(a1, at))
		d.Arrow(pt(a0, at), pt(a1, at))
		d.Arrow(pt(a1, at), pt(a0, at))
	default:
		// Arrows from outside; the text beyond the second.
		const tail = 5
		d.Stroke(WeightThin, pt(a0-tail, at), pt(a0, at))
		d.Stroke(WeightThin, pt(a0, at), pt(a1, at))
		d.Arrow(pt(a0, at), pt(a0-tail, at))
		d.Arrow(pt(a1, at), pt(a1+tail, at))
		if upright {
			// Level text beside it, on the side away from the part.
			d.Stroke(WeightThin, pt(a1, at), pt(a1+tail, at))
			t.Align, t.At = Right, Pt{at - 1.2, mid + 0.3*TextSize}
			if at > from0 {
				t.Align, t.At.X = Left, at+1.2
			}
			d.Texts = append(d.Texts, t)
			return
		}
		d.Stroke(WeightThin, pt(a1, at), pt(a1+tail+wide+1, at))
		mid = a1 + tail + wide/2
	}
	if upright {
		t.Angle = 90
		t.At = Pt{at - 1, mid}
	} else {
		t.At = Pt{mid, at - 1}
	}
	d.Texts = append(d.Texts, t)
}

// Callout is a note with a leader to a feature on paper: Rim is the radius of
// the feature in mm, at whose edge the leader ends (0: at its centre with a
// dot).
type Callout struct {
	At   Pt
	Rim  float64
	Says []string // lines of text
}
