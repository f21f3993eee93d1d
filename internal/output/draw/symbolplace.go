package draw

import "math"

// symbol is what stands at the show face in a panel; ok is false for nothing.
func (pv PartView) symbol() (s Symbol, ok bool) {
	switch {
	case pv.Symbol != nil:
		return *pv.Symbol, true
	case pv.Texture != "":
		return Symbol{Removal: MustRemove, First: pv.Texture}, true
	}
	return s, false
}

// symbolShelf is how far a symbol stands over the outline of a view beside it, and
// symbolLeader how far its leader runs beside that view.
const (
	symbolShelf  = 2.2
	symbolLeader = 3.6
)

// symbolOnTop sets the symbol on a view whose upper outline is the show face; the
// view's frame f stands at (x, y) at scale k.
func (p *panel) symbolOnTop(s Symbol, edge *flat, k, x, y float64) {
	at := edge.frame.X0 + 0.22*edge.frame.W()
	tip := Pt{x + k*(at-edge.frame.X0), y}
	if v, ok := edge.rim(false, at); ok {
		tip.Y = y + k*(v-edge.frame.Y0)
	}
	p.out.Add(s.Draw(TextSize, p.opt.Metric), tip.X, tip.Y)
}

// symbolBeside sets the symbol above a view whose left outline is the show face,
// with a leader to that face, and returns where the symbol ends on the right.
func (p *panel) symbolBeside(s Symbol, edge *flat, k, x, y float64) float64 {
	at := edge.frame.Y0 + 0.22*edge.frame.H()
	end := Pt{x, y + k*(at-edge.frame.Y0)}
	if v, ok := edge.rim(true, at); ok {
		end.X = x + k*(v-edge.frame.X0)
	}
	shelf := Pt{x - symbolLeader, y - symbolShelf}
	down := Pt{shelf.X, end.Y}
	p.out.Stroke(WeightThin, Pt{shelf.X + 6.5, shelf.Y}, shelf, down, end)
	p.out.Arrow(end, down)
	d := s.Draw(TextSize, p.opt.Metric)
	tip := Pt{shelf.X + 2.6, shelf.Y}
	p.out.Add(d, tip.X, tip.Y)
	f, _ := d.Bounds(p.opt.Metric)
	return tip.X + f.X1
}

// rim is where the outline of a part in a view is cut first, by a level line at
// height c on paper coming from the left with level set, or by an upright line at c
// coming from above; false where the line misses the part.
func (f *flat) rim(level bool, c float64) (float64, bool) {
	best := math.Inf(1)
	for _, tri := range f.m.Tri {
		for i := range 3 {
			a, b := f.pt[tri[i]], f.pt[tri[(i+1)%3]]
			if level {
				a, b = Pt{a.Y, a.X}, Pt{b.Y, b.X}
			}
			if (a.X-c)*(b.X-c) > 0 {
				continue
			}
			v := min(a.Y, b.Y)
			if a.X != b.X {
				v = a.Y + (b.Y-a.Y)*(c-a.X)/(b.X-a.X)
			}
			best = min(best, v)
		}
	}
	return best, !math.IsInf(best, 1)
}
