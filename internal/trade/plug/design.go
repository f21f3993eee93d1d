package plug

import (
	"math"

	"fettle"
	"fettle/internal/shape/form"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// ring is an outline of the plug at a height in the frame of the opening.
type ring struct {
	name string // of the step that begins here and goes down
	at   float64
	grow float64 // of the plan, on each side
	// loop stands instead of the plan: the tab's.
	loop       []r2.Vec
	wide, long float64
	vent       bool
	// onFace lays the ring on the face, at above it; else at is a level height.
	onFace bool
}

// design is a plug before it is a solid: rings from the top down. Rings of one
// stretch have equal counts; between two stretches lies a level face.
type design struct {
	b     *bore
	n     int // chords
	grip  float64
	play  float64
	face  seat    // of the head's underside
	seat  float64 // the face's height in the middle of the plan
	rim   float64
	hits  bool    // the head meets the part elsewhere
	stand float64 // the most that the head's underside stands off
	tab   []ring
	head  []ring
	body  []ring
	vent  bool
	flush bool // the tip was kept short because something is in its way
}

// design sets out all rings.
func (b *bore) design(s fettle.Soft) (*design, error) {
	d := &design{b: b, grip: gripOf(b.plan.wide, s)}
	d.play = playOf(d.grip)
	d.n = form.Chords(b.plan.bend()+b.mouth+rimMost, 0.002)
	d.sit()
	d.seat = d.face.at(r2.Vec{})
	if err := d.shank(); err != nil {
		return nil, err
	}
	d.handle()
	return d, nil
}

// shank sets out the collar, the two gripping lengths and the tip.
func (d *design) shank() error {
	b := d.b
	bottom := b.low - beyond
	if !b.o.Through {
		ground := max(b.floor(), b.low-1e3)
		if math.IsInf(ground, -1) {
			ground = b.low
		}
		bottom = ground + blindGap(d.seat-ground)
	} else if d.blocked(b.low-0.05, bottom) {
		bottom, d.flush = b.low, true
	}
	top := d.collar()
	long := top - bottom
	if long < shankLeast {
		return fettle.Errorf(fettle.Invalid, "%s leaves %.1f mm for a plug to grip, which holds nothing; cover it with tape, or keep out the media that lodge there", b.o.ID, max(0, long))
	}
	chamfer := min(0.25*long, max(0.3, min(1, 0.15*b.plan.wide)))
	step := min(0.4, 0.1*long)
	half := top - 0.5*(long-chamfer)
	d.vent = !b.o.Through && b.plan.wide >= ventFrom
	first := ring{name: "shank", at: top, grow: d.grip}
	if len(d.body) == 0 { // no collar: from the head
		first.at, first.onFace = 0, true
		low := math.Inf(1)
		for _, q := range b.plan.outline(d.grip, 96) {
			low = min(low, d.face.at(q))
		}
		half = min(half, low-0.1-step/2)
		if half-step/2 < bottom+chamfer+0.1 {
			return fettle.Errorf(fettle.Invalid, "the mouth of %s leans so far that no length is left for a plug to grip; cover it with tape, or keep out the media that lodge there", b.o.ID)
		}
	}
	d.body = append(d.body, first,
		ring{name: "shank", at: half + step/2, grow: max(0.25*d.grip, d.grip-steepest*(top-half-step/2))},
		ring{name: "shank", at: half - step/2, grow: 0.5 * d.grip},
		ring{name: "tip", at: bottom + chamfer, grow: -d.play},
		ring{at: bottom, grow: -d.play - min(0.2*b.plan.wide, 0.6*chamfer)},
	)
	for i := range d.body {
		d.body[i].vent = d.vent && d.body[i].name != "collar" && d.body[i].grow >= -d.play
	}
	return nil
}

// blocked reports whether the part is in the way of the plug between two heights.
func (d *design) blocked(from, to float64) bool {
	for _, k := range []float64{0, 0.3, 0.7, 1} {
		for _, q := range d.b.plan.outline(-d.play-(1-k)*d.b.plan.wide*0.45, 48) {
			if d.b.tree.RayAny(d.b.f.out(q, from), r3.Scale(-1, d.b.f.z), 0, from-to) {
				return true
			}
		}
	}
	return false
}

// collar fills a wider mouth, level by level, clear of its walls, and says where
// the shank begins: where the walls have come so near that it grips.
func (d *design) collar() float64 {
	b := d.b
	from := d.grip + clearance // the opening is wider than the plan by more
	if b.mouth < from+0.1 || b.wall[0].least < from {
		return d.seat
	}
	// No level may come up to the face.
	ceiling := math.Inf(1)
	for _, q := range b.plan.outline(b.wall[0].least-clearance, 96) {
		ceiling = min(ceiling, d.face.at(q))
	}
	grow := math.Inf(1)
	for _, l := range b.wall {
		if l.at > ceiling-0.05 {
			grow = min(grow, l.least-clearance)
			continue
		}
		if l.least < from {
			break
		}
		next := min(grow, l.least-clearance)
		if len(d.body) == 0 {
			d.body = append(d.body, ring{name: "collar", onFace: true, grow: next})
		}
		last := d.body[len(d.body)-1]
		if drop := last.grow - next; drop > ledgeFrom*(b.wall[0].at-b.wall[1].at) && !last.onFace {
			// A step in the wall, somewhere between: not below the last level.
			d.body = append(d.body, ring{name: "collar", at: last.at, grow: next})
		}
		d.body = append(d.body, ring{name: "collar", at: l.at, grow: next})
		grow = next
	}
	n := len(d.body)
	if n == 0 {
		return d.seat
	}
	// On down the wall's own slope until it grips; where that is farther than to
	// the next level, or there is no slope, a ledge.
	end, before := d.body[n-1], d.body[n-2]
	over := end.grow - d.grip
	if over < 0.01 {
		return end.at - 0.01
	}
	if per := (before.grow - end.grow) / (before.at - end.at); !before.onFace && over < per*(b.wall[0].at-b.wall[1].at) {
		return end.at - over/per
	}
	return end.at
}

// handle sets out the head and the tab on it.
func (d *design) handle() {
	b := d.b
	grow := b.mouth + d.rim
	wide, long := b.plan.across(grow)
	middle := 0.0
	if long > longPeeling {
		middle = long/2 - 1.5 - tabMost/2
	} else if b.plan.form == "keyhole" {
		middle = b.plan.shift // over the round end, where there is most to hold on to
	}
	var chamfer, t, w float64
	var cut []r2.Vec
search:
	for _, chamfer = range []float64{0.6, 0.4, 0.25, 0.1} {
		cut = b.plan.outline(grow-chamfer, d.n)
		t = min(4, max(tabThick, 0.4*wide))
		for w = min(tabMost, long-2*chamfer-0.6); w >= tabThick-1e-9; w -= 0.1 {
			fits := true
			for _, q := range tongue(middle, w, t) {
				fits = fits && away(cut, q) < -0.15
			}
			if fits {
				break search
			}
			t = max(tabThick, t-0.1)
		}
	}
	w = max(w, tabThick)
	// The tab stands on the highest place of the head.
	top := 0.0
	for _, q := range b.plan.outline(grow, 96) {
		top = max(top, d.face.at(q))
	}
	top = max(top, d.seat) + headThick
	at := func(h, more float64) ring {
		return ring{name: "pull tab", at: top + h, loop: tongue(middle, w+more, t+more), wide: t + more, long: w + more}
	}
	flare := min(0.8, max(0.3, wide-t-0.2))
	root := at(0, 0)
	root.at, root.onFace = headThick, true
	d.tab = []ring{at(tabHigh, flare-0.6), at(tabHigh-0.3, flare), at(tabHigh-1.5, flare), at(tabHigh-2.5, 0), root}
	d.head = []ring{
		{name: "head", at: headThick, grow: grow - chamfer, onFace: true},
		{name: "head", at: headThick - max(chamfer, 0.3), grow: grow, onFace: true},
		{at: 0, grow: grow, onFace: true},
	}
}

// tongue is the outline of a tab.
func tongue(middle, w, t float64) []r2.Vec {
	return form.Rectangle(r2.Vec{X: middle}, w, t, 0.3*t, 6)
}
