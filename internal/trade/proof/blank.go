package proof

import (
	"math"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/shape/relief"
)

// blank is the stock as heights over a coarse grid, cut in the program's order:
// enough to say how deep a cut is and whether a rapid meets metal, not to show
// a surface.
type blank struct {
	g    relief.Grid
	z    []float64
	top  float64
	cell float64
}

// newBlank covers a box of stock.
func newBlank(s box, cell float64) *blank {
	b := &blank{cell: cell, top: s.hi[2]}
	w := max(1, int(math.Round(s.size(0)/cell)))
	h := max(1, int(math.Round(s.size(1)/cell)))
	dx, dy := s.size(0)/float64(w), s.size(1)/float64(h)
	b.g = relief.Grid{W: w, H: h, DX: dx, DY: dy, X0: s.lo[0] + dx/2, Y0: s.lo[1] + dy/2}
	b.z = make([]float64, w*h)
	for i := range b.z {
		b.z[i] = s.hi[2]
	}
	return b
}

// bite is what a cutter meets at one place.
type bite struct {
	depth      float64 // of metal over the cutter
	left, side float64 // the extent of the metal across the feed
	cells      int
}

func (b *bite) join(c bite) {
	if c.cells == 0 {
		return
	}
	if b.cells == 0 {
		*b = c
		return
	}
	b.depth = math.Max(b.depth, c.depth)
	b.left, b.side = math.Min(b.left, c.left), math.Max(b.side, c.side)
	b.cells += c.cells
}

// dip puts a cutter at a place and says what it meets; with cut set that is
// taken away. ux, uy is the direction of feed in plan; zero for straight down.
func (b *blank) dip(t relief.Tool, p [3]float64, ux, uy float64, cut bool) (met bite) {
	if p[2] >= b.top || !(t.Radius > 0) {
		return met
	}
	i0 := max(0, int(math.Ceil((p[0]-t.Radius-b.g.X0)/b.g.DX)))
	i1 := min(b.g.W-1, int(math.Floor((p[0]+t.Radius-b.g.X0)/b.g.DX)))
	j0 := max(0, int(math.Ceil((p[1]-t.Radius-b.g.Y0)/b.g.DY)))
	j1 := min(b.g.H-1, int(math.Floor((p[1]+t.Radius-b.g.Y0)/b.g.DY)))
	flat, c2 := t.Radius-t.Corner, t.Corner*t.Corner
	if ux == 0 && uy == 0 {
		ux = 1
	}
	for j := j0; j <= j1; j++ {
		dy := b.g.Y(j) - p[1]
		row := b.z[j*b.g.W : (j+1)*b.g.W]
		for i := i0; i <= i1; i++ {
			if row[i] <= p[2] {
				continue
			}
			dx := b.g.X(i) - p[0]
			r2 := dx*dx + dy*dy
			if r2 > t.Radius*t.Radius {
				continue
			}
			z := p[2]
			if r2 > flat*flat {
				d := math.Sqrt(r2) - flat
				z += t.Corner - math.Sqrt(math.Max(0, c2-d*d))
			}
			deep := row[i] - z
			if deep <= skin {
				if deep > 0 && cut {
					row[i] = z
				}
				continue
			}
			v := dy*ux - dx*uy
			met.join(bite{deep, v - b.cell/2, v + b.cell/2, 1})
			if cut {
				row[i] = z
			}
		}
	}
	return met
}

// skin is metal too thin for a coarse grid to be sure of, mm.
const skin = 0.02

// meeting is one tool's first cut while it is being measured.
type meeting struct {
	line    int32
	at      [3]float64
	real    bite
	nominal bite
	path    float64 // since it began
	done    bool
	feed    float64
	rpm     float64
}

// meetBlank cuts the blank, as sawn and as ordered, in the program's order. It
// finds each tool's first cut, rapids through metal and cuts straight down.
//
// The cutter is set down every half cell along the path; a rapid is tested with
// a cutter smaller by a cell, so that what it reports is metal and not the
// grid.
func (j *job) meetBlank() error {
	defer j.listTools()
	s := j.place.stock
	if !s.any || !j.trust || !(j.out.FeedLengthMM > 0) {
		if !s.any {
			j.note(0, "stock", "give the stock in a set-up file", "no stock is given, so the first cuts, and rapids against the metal, are not worked out")
		}
		return nil
	}
	least := math.Inf(1)
	for _, t := range j.order {
		if t.known {
			least = math.Min(least, t.end.Radius)
		}
	}
	if math.IsInf(least, 1) {
		return nil
	}
	cell := math.Max(0.05, math.Max(math.Sqrt(s.size(0)*s.size(1)/250_000), math.Min(least/10, 0.25)))
	as := newBlank(s, cell)
	var ordered *blank
	if s != j.place.nominal {
		ordered = newBlank(j.place.nominal, cell)
	}
	w := &cutting{job: j, as: as, ordered: ordered, cell: cell, first: map[*tool]*meeting{}}
	for i := range j.Program.Moves {
		if i%65536 == 0 {
			if err := j.ctx.Err(); err != nil {
				return err
			}
		}
		w.move(&j.Program.Moves[i])
	}
	w.report()
	return nil
}

// cutting is the state of cutting a blank.
type cutting struct {
	*job
	as, ordered *blank
	cell        float64
	first       map[*tool]*meeting
	since       float64 // path since the cutter was last set down
	last        *tool
	lastAt      [3]float64
	pending     bool // lastAt is ahead of where the cutter was set down

	plunges      once
	plungeTool   *tool
	straight     once
	straightTool *tool
}

func (w *cutting) move(m *nc.Move) {
	if !w.placed(m) {
		w.settle()
		return
	}
	t := w.toolOf[m.Mode]
	if !t.known {
		w.settle()
		return
	}
	if m.Kind == nc.Rapid {
		w.settle()
		w.rapid(m, t)
		return
	}
	if t != w.last || w.lastAt != m.From {
		w.settle()
		w.since = 0
	}
	w.last = t
	if m.From[0] == m.To[0] && m.From[1] == m.To[1] && m.To[2] < m.From[2] {
		w.plunge(m, t)
		w.lastAt, w.pending = m.To, false
		return
	}
	w.pieces(m, w.cell/8, func(from, to [3]float64) {
		l := math.Hypot(to[0]-from[0], to[1]-from[1])
		if l == 0 {
			w.set(m, t, to, 0, 0, norm(sub(to, from)))
			return
		}
		ux, uy := (to[0]-from[0])/l, (to[1]-from[1])/l
		step := w.cell / 2
		// First where the last half cell ends, then every half cell.
		for at := math.Max(0, step-w.since); at <= l; at += step {
			w.set(m, t, along(from, to, at/l), ux, uy, step)
			w.since = -at
		}
		w.since += l
	})
	w.lastAt, w.pending = m.To, true
}

// settle sets the cutter down at the very end of a run of cuts.
func (w *cutting) settle() {
	if w.pending {
		w.as.dip(w.last.end, w.lastAt, 0, 0, true)
		if w.ordered != nil {
			w.ordered.dip(w.last.end, w.lastAt, 0, 0, true)
		}
		w.pending = false
	}
}

// set puts the cutter down while it feeds.
func (w *cutting) set(m *nc.Move, t *tool, p [3]float64, ux, uy, path float64) bite {
	real := w.as.dip(t.end, p, ux, uy, true)
	var nominal bite
	if w.ordered != nil {
		nominal = w.ordered.dip(t.end, p, ux, uy, true)
	}
	first := w.first[t]
	if first == nil {
		if real.cells == 0 {
			return real
		}
		mode := &w.Program.Modes[m.Mode]
		first = &meeting{line: m.Line, at: p, feed: mode.Feed, rpm: mode.Speed}
		w.first[t] = first
	}
	if !first.done {
		first.real.join(real)
		first.nominal.join(nominal)
		if first.path += path; first.path > 2*t.cutter.DiameterMM {
			first.done = true
		}
	}
	return real
}

// plunge follows a cut straight down.
func (w *cutting) plunge(m *nc.Move, t *tool) {
	met := w.set(m, t, m.To, 0, 0, m.From[2]-m.To[2])
	if t.cutter.Shape != fettle.Ball && !m.Cycle && !t.set.Plunges && met.depth > 0.1*t.cutter.DiameterMM {
		if w.straight.n == 0 {
			w.straightTool = t
		}
		w.straight.see(m.Line, met.depth)
	}
}

// rapid tests a rapid against the metal that is left.
func (w *cutting) rapid(m *nc.Move, t *tool) {
	if math.Min(m.From[2], m.To[2]) >= w.as.top {
		return
	}
	slim := relief.Tool{Radius: t.end.Radius - w.cell, Corner: math.Max(0, t.end.Corner-w.cell)}
	if slim.Radius < w.cell {
		slim = relief.Tool{Radius: t.end.Radius, Corner: t.end.Corner}
	}
	l := math.Hypot(m.To[0]-m.From[0], m.To[1]-m.From[1])
	if l == 0 && m.To[2] >= m.From[2] {
		return // straight up, the way it came
	}
	n := max(1, int(math.Min(20_000, math.Ceil(l/w.cell))))
	var worst bite
	for i := 1; i <= n; i++ {
		p := along(m.From, m.To, float64(i)/float64(n))
		p[2] += rapidSkin
		worst.join(w.as.dip(slim, p, 0, 0, false))
	}
	if worst.cells < 3 {
		return
	}
	if w.plunges.n == 0 {
		w.plungeTool = t
	}
	w.plunges.see(m.Line, worst.depth+rapidSkin)
	for i := 1; i <= n; i++ { // told once: the metal counts as gone
		w.as.dip(t.end, along(m.From, m.To, float64(i)/float64(n)), 0, 0, true)
	}
}

// rapidSkin is how far a rapid may reach into metal by the grid's doing, mm.
const rapidSkin = 0.05

func (w *cutting) report() {
	if o := &w.plunges; o.n > 0 {
		w.wrong(o.line, "plunge", "retract above the stock before the rapid and feed down to depth",
			"%s plunges %s at rapid into the stock; the deepest is %s, at line %d", o.where(), w.plungeTool.called(), w.sys.Length(o.worst), o.at)
	}
	if o := &w.straight; o.n > 0 {
		w.check(o.line, "straight", "ramp or helix in, start from a hole, or say in the set-up that the cutter plunges",
			"%s feeds %s straight down into the stock, by %s at most; only a cutter whose teeth reach its centre can do that", o.where(), w.straightTool.called(), w.sys.Length(o.worst))
	}
	for _, t := range w.order {
		m := w.first[t]
		if m == nil {
			continue
		}
		t.first = w.firstCut(t, m)
		if w.out.FirstCut == nil || t.first.Line < w.out.FirstCut.Line {
			w.out.FirstCut = t.first
		}
		w.sayFirst(t)
	}
}
