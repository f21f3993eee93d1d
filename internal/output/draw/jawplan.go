package draw

import (
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
)

// Dashes of lines, mm: hidden edges, axes, and what is not metal of the jaws.
var (
	dashHidden  = []float64{2, 1}
	dashAxis    = []float64{7, 1.2, 0.8, 1.2}
	dashPhantom = []float64{6, 1.1, 0.8, 1.1, 0.8, 1.1}
	dashOlder   = []float64{3, 1.4}
)

// Shades of faces seen from above: the jaws' top, and what was cut before.
const (
	shadeTop   = 0.95
	shadeOlder = 0.84
)

// JawPlan draws a pair of soft jaws as mounted, with a pocket for a part: from
// above, with what was cut in them before, and in section across, with the depths.
// Dimensions place the pocket from the jaws' left end and middle and from the
// middle of the gap. older are cuts in each jaw's own frame; those of this very
// pocket are left out. Its top left corner is (0, 0), nothing in it lies outside
// Width × Height, and views have the largest recommended scale that fits. Errors
// are fettle.Invalid: a panel too small for any scale, sizes that are no lengths.
func JawPlan(p fettle.JawPocket, pair fettle.Jaws, older []fettle.JawCut, opt PanelOptions) (*Drawing, error) {
	if !(opt.Width >= 150) || !(opt.Height >= 120) || opt.Width > 2000 || opt.Height > 2000 {
		return nil, fettle.Errorf(fettle.Invalid, "a drawing of jaws on %.0f × %.0f mm cannot be made; give at least 150 × 120 mm", opt.Width, opt.Height)
	}
	if opt.Metric == nil {
		opt.Metric = Em
	}
	if err := checkJaws(p, pair, older); err != nil {
		return nil, err
	}
	j := &jawPlan{p: p, pair: pair, opt: opt, stands: stands(pair, p.Pose), levels: pocket(p, 0.004)}
	for _, c := range older {
		if p.ID == "" || c.Pocket != p.ID {
			j.cuts = append(j.cuts, c)
		}
	}
	j.measure()
	// The key gives way before the views get too small to read.
	for _, j.short = range []bool{false, true} {
		for _, k := range scales {
			if k > 2 || !j.short && k < 0.3 {
				continue
			}
			j.lay(k)
			if j.w <= opt.Width && j.h <= opt.Height {
				j.draw()
				return j.out, nil
			}
		}
	}
	return nil, fettle.Errorf(fettle.Invalid, "jaws of %g × %g mm with this pocket do not go on %.0f × %.0f mm at any scale; give more room", pair.WidthMM, pair.ThickMM, opt.Width, opt.Height)
}

// jawPlan is a drawing of jaws in the making.
type jawPlan struct {
	p      fettle.JawPocket
	pair   fettle.Jaws
	cuts   []fettle.JawCut
	opt    PanelOptions
	stands [2]stand
	levels []sunk
	lo, hi r2.Vec // of the pocket in plan; lo.X > hi.X without one
	at     float64
	voids  [2][][]void // of each jaw's cuts
	notes  []Callout   // of what was cut before, in the vise's mm

	out   *Drawing
	short bool // without what the symbols mean and the names of older cuts
	k     float64
	w, h  float64 // that the layout takes
	x, y  float64 // of the vise's zero on paper
	// The plan's outline on paper, the section's and where the key may begin.
	plan, section Frame
	keyX, keyY    float64
	noteX, under  float64
	left, right   []span
	below         []span
}

func (j *jawPlan) size(mm float64) string { return bare(j.opt.Display, mm) }
func (j *jawPlan) wide(s string) float64  { return j.opt.Metric(s, TextSize, false) }
func (j *jawPlan) pt(x, y float64) Pt     { return Pt{j.x + j.k*x, j.y - j.k*y} }

// measure finds what does not depend on the scale.
func (j *jawPlan) measure() {
	lo, hi := PocketWalls(j.p)
	j.lo, j.hi = r2.Vec{X: lo[0], Y: lo[1]}, r2.Vec{X: hi[0], Y: hi[1]}
	j.at = j.cutAt()
	for i, s := range j.stands {
		for _, c := range s.older(j.cuts) {
			v := s.voids(c)
			j.voids[i] = append(j.voids[i], v)
			if len(v) == 0 {
				continue
			}
			all, top, foot := region.Region{}, math.Inf(-1), math.Inf(1)
			for _, x := range v {
				all, top, foot = all.Union(x.plan), max(top, x.high), min(foot, x.low)
			}
			says := j.size(-foot) + " deep"
			if top < -1e-6 {
				says = "from below, " + j.size(top-foot) + " deep"
			}
			c := all.Centroid()
			name := clipTo(named(s.older(j.cuts)[len(j.voids[i])-1].Name, "cut before"), 40, j.opt.Metric)
			j.notes = append(j.notes, Callout{At: Pt{c.X, c.Y}, Says: []string{name, says}})
		}
	}
}

func named(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// clipTo shortens s to a width of w mm with an ellipsis.
func clipTo(s string, w float64, metric Metric) string {
	r := []rune(s)
	if metric(s, TextSize, false) <= w {
		return s
	}
	for len(r) > 0 && metric(string(r)+"…", TextSize, false) > w {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// Rows of the drawing in mm: a jaw's name, and a dimension.
const (
	nameRow = 6.0
	dimRow  = 7.2
)

// lay divides the room at scale k.
func (j *jawPlan) lay(k float64) {
	j.k = k
	// What the plan covers: the jaws, and a pocket that goes past them.
	deep := k * (j.p.Pose.GapMM/2 + j.pair.ThickMM)
	f := Frame{-k * j.pair.WidthMM / 2, -deep, k * j.pair.WidthMM / 2, deep}
	if len(j.levels) > 0 && !j.levels[0].open.Empty() {
		lo, hi := j.levels[0].open.Box()
		f = Frame{min(f.X0, k*lo.X), min(f.Y0, -k*hi.Y), max(f.X1, k*hi.X), max(f.Y1, -k*lo.Y)}
	}
	j.left, j.right = j.wallDims(), j.thickDims()
	notes := 0.0
	for _, n := range j.notes {
		for _, s := range n.Says {
			if j.short {
				break
			}
			notes = max(notes, j.wide(s)+1)
		}
	}
	x0 := j.columnsWidth(j.left) + 2
	// Names stand in rows of their own, further out where the section's ends are.
	at := k*j.at - f.X0
	over := nameRow + j.nameOut(0, at)
	j.under = nameRow + j.nameOut(1, at)
	j.x, j.y = x0-f.X0, labelH+over-f.Y0
	j.plan = Frame{j.x + f.X0, j.y + f.Y0, j.x + f.X1, j.y + f.Y1}
	// Notes stand right of the dimensions there, and of the names over and under.
	j.noteX = max(j.plan.X1+j.columnsWidth(j.right), j.plan.X0+j.wideBold(j.stands[0].says())+5, j.plan.X0+j.wideBold(j.stands[1].says())+5) + 6
	j.below = j.belowDims()
	rows := 0
	end := j.plan.X1
	for _, s := range j.below {
		rows = max(rows, s.row+1)
		end = max(end, s.b)
	}
	foot := j.plan.Y1 + j.under + dimRow*float64(rows) + 2
	// The section below it, its height dimension on the left; the key on its right.
	top := foot + labelH + 6
	sx := 12.0
	if k*j.pair.HeightMM < flatBelow { // the text lies level beside it
		sx = 9 + j.wide(j.size(j.pair.HeightMM))
	}
	j.section = Frame{sx, top, sx + 2*deep, top + k*j.pair.HeightMM}
	j.keyX, j.keyY = max(j.section.X1+j.ordinates(), j.section.X0+j.wideBold(j.sectionTitle()))+5, foot+labelH-2
	keyW, keyH := j.keySize()
	if j.keyX+keyW > j.opt.Width { // below the section instead
		at := j.depthsAt()
		j.keyX, j.keyY = 0, max(j.section.Y1, at[len(at)-1]+0.3*TextSize)+6
	}
	names := j.plan.X0 + max(j.wideBold(j.stands[0].says()), j.wideBold(j.stands[1].says()))
	j.w = max(j.plan.X1+j.columnsWidth(j.right)+1, names, end+1, j.section.X1+j.ordinates(), j.keyX+keyW,
		j.plan.X0+j.wideBold(j.title()))
	if notes > 0 {
		j.w = max(j.w, j.noteX+notes)
	}
	j.h = max(j.section.Y1+2, j.keyY+keyH)
	if at := j.depthsAt(); len(at) > 0 {
		j.h = max(j.h, at[len(at)-1]+TextSize)
	}
}

func (j *jawPlan) wideBold(s string) float64 { return j.opt.Metric(s, TextSize, true) }

func (j *jawPlan) title() string {
	unit := "mm"
	if j.opt.Display == fettle.Inch {
		unit = "inch"
	}
	return "From above, " + ScaleName(j.k) + ", sizes in " + unit
}

func (j *jawPlan) draw() {
	j.out = &Drawing{}
	j.out.Texts = append(j.out.Texts, Text{At: Pt{j.plan.X0, labelH - 2.2}, S: j.title(), Size: TextSize, Bold: true})
	j.faces()
	j.outline()
	j.marks()
	j.names()
	j.dims()
	if !j.short {
		j.callouts()
	}
	j.across()
	j.key()
}

// loop strokes a closed outline of the vise's plan.
func (j *jawPlan) loop(l []r2.Vec, weight float64, dash []float64) {
	pts := make([]Pt, len(l))
	for i, q := range l {
		pts[i] = j.pt(q.X, q.Y)
	}
	j.out.Lines = append(j.out.Lines, Line{Pts: pts, Weight: weight, Dash: dash, Closed: true})
}

// paint fills a region; islands in it stay as they are drawn over.
func (j *jawPlan) paint(r region.Region, shade, island float64) {
	for _, l := range r.Loops {
		pts := make([]Pt, len(l))
		turn := 0.0
		for i, q := range l {
			pts[i] = j.pt(q.X, q.Y)
			turn += r2.Cross(q, l[(i+1)%len(l)])
		}
		s := shade
		if turn < 0 {
			s = island
		}
		j.out.Fills = append(j.out.Fills, Fill{pts, s})
	}
}

// faces paints the jaws' top, what was cut before, and the pocket.
func (j *jawPlan) faces() {
	for i, s := range j.stands {
		j.paint(s.block(), shadeTop, 1)
		for _, cut := range j.voids[i] {
			for _, v := range cut {
				j.paint(v.plan, shadeOlder, shadeTop)
			}
		}
		if len(j.levels) > 0 {
			j.paint(j.levels[0].open.And(s.block()), 1, shadeTop)
		}
	}
}

// outline draws the edges: jaws, holes, what was cut before, the pocket.
func (j *jawPlan) outline() {
	for i, s := range j.stands {
		for _, h := range j.pair.Holes {
			j.hole(s, h)
		}
		for _, cut := range j.voids[i] {
			for _, v := range cut {
				for _, l := range v.plan.Loops {
					j.loop(l, WeightEdge, dashOlder)
				}
			}
		}
		b := s.block()
		told := j.told() // of the stairs of a curved floor a few
		for n := len(j.levels) - 1; n >= 0; n-- {
			weight := WeightEdge
			switch {
			case n == 0:
				weight = 0.7
			case !slices.Contains(told, j.levels[n].depth):
				continue
			case len(j.levels) > fewKey:
				weight = WeightThin
			}
			for _, l := range j.levels[n].open.And(b).Loops {
				j.walls(l, s, weight)
			}
		}
		for _, l := range b.Loops {
			j.loop(l, WeightOutline, nil)
		}
	}
	// Over the gap, the outline of the part's room.
	if len(j.levels) > 0 {
		for _, l := range j.levels[0].open.Loops {
			j.overGap(l)
		}
	}
}

// walls strokes the sides of a loop that do not lie on the face that grips: there
// the pocket is open.
func (j *jawPlan) walls(l []r2.Vec, s stand, weight float64) {
	face := s.GapMM / 2
	if s.front() {
		face = -face
	}
	on := func(a, b r2.Vec) bool { return math.Abs(a.Y-face) < 2e-6 && math.Abs(b.Y-face) < 2e-6 }
	n := len(l)
	start := 0
	for start < n && !on(l[start], l[(start+1)%n]) {
		start++
	}
	if start == n {
		j.loop(l, weight, nil)
		return
	}
	var run []Pt
	for i := 1; i <= n; i++ {
		a, b := l[(start+i)%n], l[(start+i+1)%n]
		if on(a, b) {
			if len(run) > 1 {
				j.out.Stroke(weight, run...)
			}
			run = nil
			continue
		}
		if run == nil {
			run = append(run, j.pt(a.X, a.Y))
		}
		run = append(run, j.pt(b.X, b.Y))
	}
	if len(run) > 1 {
		j.out.Stroke(weight, run...)
	}
}

// overGap draws the stretches of a loop between the jaws.
func (j *jawPlan) overGap(l []r2.Vec) {
	g := j.p.Pose.GapMM / 2
	for i, a := range l {
		b := l[(i+1)%len(l)]
		t0, t1 := 0.0, 1.0
		if dy := b.Y - a.Y; math.Abs(dy) > 1e-12 {
			u, v := (-g-a.Y)/dy, (g-a.Y)/dy
			t0, t1 = max(t0, min(u, v)), min(t1, max(u, v))
		} else if math.Abs(a.Y) >= g {
			continue
		}
		if t1-t0 < 1e-9 {
			continue
		}
		p, q := r2.Add(a, r2.Scale(t0, r2.Sub(b, a))), r2.Add(a, r2.Scale(t1, r2.Sub(b, a)))
		j.out.Lines = append(j.out.Lines, Line{Pts: []Pt{j.pt(p.X, p.Y), j.pt(q.X, q.Y)}, Weight: WeightThin, Dash: dashPhantom})
	}
}

// nameOut is how much further from the jaws a name stands, so that it is clear of
// the letter of the section.
func (j *jawPlan) nameOut(i int, at float64) float64 {
	if at-7 < j.wideBold(j.stands[i].says()) {
		return 4.6
	}
	return 0
}

// names writes what stands where.
func (j *jawPlan) names() {
	at := j.pt(j.at, 0).X - j.plan.X0
	for i, y := range []float64{j.plan.Y0 - 1.8 - j.nameOut(0, at), j.plan.Y1 + 0.85*TextSize + 1.2 + j.nameOut(1, at)} {
		j.out.Texts = append(j.out.Texts, Text{At: Pt{j.plan.X0, y}, S: j.stands[i].says(), Size: TextSize, Bold: true})
	}
}

// callouts names what was cut before.
func (j *jawPlan) callouts() {
	notes := make([]Callout, len(j.notes))
	for i, n := range j.notes {
		n.At = j.pt(n.At.X, n.At.Y)
		notes[i] = n
	}
	j.out.Callouts(notes, j.noteX, j.plan.Y0, max(j.plan.Y1, j.plan.Y0+24), j.opt.Metric)
}

// holesSay names the mounting holes.
func (j *jawPlan) holesSay() string {
	return fmt.Sprintf("mounting screws, %d × Ø %s", len(j.pair.Holes), j.size(j.pair.Holes[0].DiameterMM))
}
