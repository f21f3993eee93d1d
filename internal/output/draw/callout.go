package draw

import (
	"math"
	"slices"
)

// Callouts adds notes in a column whose left edge stands at x, between heights
// top and bottom, with leaders to their features on the left of it, and returns
// how many found room. Notes stand in the order of their features from top to
// bottom, so that leaders do not cross more than they must, each as near to its
// feature's height as its neighbours allow.
func (d *Drawing) Callouts(notes []Callout, x, top, bottom float64, metric Metric) int {
	const lead = TextSize * 1.25
	height := func(c Callout) float64 { return lead*float64(len(c.Says)) + 1.8 }
	notes = slices.Clone(notes)
	slices.SortStableFunc(notes, func(a, b Callout) int {
		switch {
		case a.At.Y != b.At.Y:
			return cmpFloat(a.At.Y, b.At.Y)
		default:
			return cmpFloat(b.At.X, a.At.X)
		}
	})
	n, sum := 0, 0.0
	for n < len(notes) && sum+height(notes[n]) <= bottom-top {
		sum += height(notes[n])
		n++
	}
	notes = notes[:n]
	// From the top, every note at its feature's height or just below the one
	// before; then pushed up from the bottom where the column ran over.
	y := make([]float64, n)
	next := top
	for i, c := range notes {
		y[i] = max(next, c.At.Y-height(c)/2)
		next = y[i] + height(c)
	}
	limit := bottom
	for i := n - 1; i >= 0; i-- {
		y[i] = min(y[i], limit-height(notes[i]))
		limit = y[i]
	}
	for i, c := range notes {
		elbow := Pt{x - 3, y[i] + lead*0.65}
		end := c.At
		dx, dy := elbow.X-c.At.X, elbow.Y-c.At.Y
		if l := math.Hypot(dx, dy); c.Rim > 0 && l > c.Rim {
			end = Pt{c.At.X + dx/l*c.Rim, c.At.Y + dy/l*c.Rim}
			d.Arrow(end, elbow)
		} else {
			d.Fills = append(d.Fills, dot(c.At, 0.6))
		}
		d.Stroke(WeightThin, end, elbow, Pt{x - 0.6, elbow.Y})
		for k, s := range c.Says {
			d.Texts = append(d.Texts, Text{At: Pt{x, y[i] + lead*float64(k) + Ascent*TextSize + 0.3}, S: s, Size: TextSize})
		}
	}
	return n
}

func dot(c Pt, r float64) Fill {
	pts := make([]Pt, 16)
	for i := range pts {
		s, co := math.Sincos(2 * math.Pi * float64(i) / 16)
		pts[i] = Pt{c.X + r*co, c.Y + r*s}
	}
	return Fill{Pts: pts}
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
