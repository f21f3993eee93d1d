package block

import (
	"cmp"
	"context"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/letter"
	"fettle/internal/shape/slide"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sizes of faces, mm: starting guesses.
const (
	longest, broadest = 80.0, 45.0
	// lengthShare of the patch's length along the stroke is left to the face, so that it
	// can move.
	lengthShare = 0.6
	faceRound   = 2.5
	edgeRound   = 1.25
	leastFace   = 2.0
	// sagMM is how far a face's facets may lie off the surface between their vertices.
	sagMM            = 0.003
	finest, coarsest = 0.1, 2.0
)

// works is what the making of one patch's block knows.
type works struct {
	in     Input
	patch  slide.Patch
	name   string
	ground *ground
	part   *ground
	pts    []r3.Vec // of the part, but for the patch
	thick  float64
	facets float64 // µm, how far the patch's facets lie off what they stand for
}

// limit is how far a face may stand off along a motion, µm. Where the surface slides on
// itself, what the facets of the model and of the block made from them do to each other
// is not held against it: both lie up to that far off, on either side.
func (w *works) limit() float64 {
	if w.patch.Kind == slide.Free {
		return w.in.LimitUM
	}
	return w.in.LimitUM + 3*w.facets
}

// layout is a block before it is a solid.
type layout struct {
	motion  slide.Motion
	face    *face
	body    body
	reach   float64
	why     string // the reach ends there
	strokes []fettle.Stroke
	near    *nearby
	head    float64 // height from the stand at which the grip begins
	cramped bool    // by what stands beside the patch
	barred  bool    // altogether
	narrow  bool    // because the patch itself is
	local   bool    // round the widest place, not the middle
	stroker *stroker
}

// plan finds the best stroke and size for the patch; nil where nothing slides at all.
func (w *works) plan(ctx context.Context) (*layout, error) {
	motions := w.patch.Motions
	if w.patch.Kind == slide.Free {
		return w.planFree(ctx)
	}
	if len(motions) == 0 {
		return nil, nil
	}
	order := w.order(motions)
	first := motions[order[0]]
	b, err := w.layout(ctx, first, motions, 1, false)
	if err == nil && b.barred {
		b, err = w.layout(ctx, first, motions, 1, true)
	}
	// A smaller face strays less.
	for _, share := range []float64{0.7, 0.45} {
		if err != nil || b.barred || b.why != "limit" || b.reach >= 1.5*shortStroke {
			break
		}
		var c *layout
		if c, err = w.layout(ctx, first, motions, share, b.local); err == nil && !c.barred && c.reach > b.reach {
			b = c
		}
	}
	if err != nil || b.barred {
		return b, err
	}
	// The other motions, the farthest reach first.
	var more []fettle.Stroke
	for _, k := range order[1:] {
		m := motions[k]
		s, _, err := b.stroker.reach(ctx, m, most(m, w.ground), w.limit(), func(s float64) bool { return b.near.free(&b.body, b.head, m, s) })
		if err != nil {
			return nil, err
		}
		if s >= 1 {
			more = append(more, b.stroker.stroke(m, b.face.stand.pose.At, s))
		}
	}
	slices.SortStableFunc(more, func(p, q fettle.Stroke) int { return cmp.Compare(q.ReachMM, p.ReachMM) })
	b.strokes = append(b.strokes, more...)
	return b, nil
}

// order puts the motion first along which the patch is longest; turns on the spot,
// about an axis that the patch looks along, stand last.
func (w *works) order(motions []slide.Motion) []int {
	long := make([]float64, len(motions))
	order := make([]int, len(motions))
	for i, m := range motions {
		order[i] = i
		long[i] = min(travel(w.ground, m), 200)
		if m.Turns && (w.patch.Kind == slide.Plane || w.patch.Kind == slide.Sphere) && math.Abs(r3.Dot(m.Axis, w.patch.Normal)) > 0.9 {
			long[i] = 0
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		if a, b := long[i], long[j]; a > 1.02*b || b > 1.02*a {
			return cmp.Compare(b, a)
		}
		return 0
	})
	return order
}

// planFree tries the motions that a free-form patch follows best, with smaller and
// smaller faces, until one may be stroked at least a little.
func (w *works) planFree(ctx context.Context) (*layout, error) {
	motions, _ := slide.Nearest(w.in.Detail.Patches, w.patch.Tris)
	var best *layout
	for _, share := range []float64{1, 0.7, 0.45} {
		for _, m := range motions[:min(3, len(motions))] {
			b, err := w.layout(ctx, m, nil, share, false)
			if err != nil {
				return nil, err
			}
			// A face that is small against the patch follows anything and levels nothing.
			if whole := w.size(b.face.stand, 1); b.body.face.long*b.body.face.wide < 0.15*whole.long*whole.wide {
				continue
			}
			if best == nil || !b.barred && b.reach > best.reach {
				best = b
			}
		}
		if best != nil && best.reach >= 1.5*shortStroke {
			break
		}
	}
	return best, nil
}

// most is how far along a motion it is worth looking.
func most(m slide.Motion, g *ground) float64 {
	far := travel(g, m)
	if m.Turns {
		far = min(far, math.Pi/m.PerMM)
	}
	return min(far, 100)
}

// size chooses a face for a stand.
func (w *works) size(s stand, share float64) outline {
	wide := min(s.hi.Y-s.lo.Y, broadest) * share
	room := s.hi.X - s.lo.X
	long := lengthShare * s.travel
	if long < 12 {
		long = min(0.8*s.travel, 12)
	}
	long = min(long, room, longest) * share
	if w.in.LongMM > 0 {
		long = min(w.in.LongMM, room)
	}
	if w.in.WideMM > 0 {
		wide = min(w.in.WideMM, s.hi.Y-s.lo.Y)
	}
	return outline{long, wide, min(faceRound, 0.25*long, 0.25*wide)}
}

// layout plans the block for one motion; slides are the motions in which the patch
// slides exactly.
func (w *works) layout(ctx context.Context, m slide.Motion, slides []slide.Motion, share float64, local bool) (*layout, error) {
	s := newStand(w.ground, m, local)
	o := w.size(s, share)
	b := &layout{motion: m, local: local, body: body{round: max(0.5, min(edgeRound, 0.2*o.long, 0.2*o.wide))}}
	half := r2.Vec{X: o.long/2 + b.body.round + 1, Y: o.wide/2 + b.body.round + 1}
	var err error
	// The motion itself comes first, if it is one that the patch slides in.
	var list []slide.Motion
	reach := min(s.travel, 60)
	if len(slides) > 0 {
		list = append(list, m)
		for _, t := range slides {
			if t != m {
				list = append(list, t)
			}
		}
	} else {
		list, reach = []slide.Motion{m}, 2*shortStroke
	}
	if b.face, err = newFace(ctx, s, w.part, w.thick, list, half, reach); err != nil {
		return nil, err
	}
	pts := about(w.pts, s.pose, reach*2+tallMM)
	b.near = &nearby{f: b.face, motion: m, pts: pts}
	nominal := max(0, min(s.travel-o.long, 40)) / 2 * 0.8
	got, err := b.near.fit(ctx, o, b.body.round, nominal, [2]bool{w.in.LongMM > 0, w.in.WideMM > 0})
	if err != nil {
		return nil, err
	}
	if min(got.long, got.wide) < leastFace {
		b.barred = true
		alone := *b.near // is it the patch itself, or what stands round it?
		alone.pts = nil
		if got, err = alone.fit(ctx, o, b.body.round, 0, [2]bool{}); err != nil {
			return nil, err
		}
		b.narrow = min(got.long, got.wide) < leastFace
		return b, nil
	}
	b.cramped = got.long < 0.98*o.long || got.wide < 0.98*o.wide
	got.round = min(faceRound, 0.25*got.long, 0.25*got.wide)
	b.body.face = got
	if err := w.shape(ctx, b); err != nil {
		return nil, err
	}

	b.stroker = &stroker{ground: w.ground, thick: w.thick}
	b.stroker.sample(b.face, got)
	if len(b.stroker.pts) < 6 {
		b.barred = true
		return b, nil
	}
	free := func(at float64) bool { return b.near.free(&b.body, b.head, m, at) }
	if b.reach, b.why, err = b.stroker.reach(ctx, m, most(m, w.ground), w.limit(), free); err != nil {
		return nil, err
	}
	b.strokes = []fettle.Stroke{b.stroker.stroke(m, s.pose.At, b.reach)}
	return b, nil
}

// shape fills in what the solid wants beside its face.
func (w *works) shape(ctx context.Context, b *layout) error {
	f := b.face
	b.body.z = func(p r2.Vec) float64 { z, _ := f.height(p); return z }
	kx, ky, err := f.bend(ctx, b.body.face)
	if err != nil {
		return err
	}
	// Where it bends both ways the two sags add up.
	sag := sagMM
	if min(kx, ky) > 0.1*max(kx, ky) {
		sag /= 2
	}
	step := func(k float64) float64 { return max(finest, min(coarsest, math.Sqrt(8*sag/max(k, 1e-9)))) }
	b.body.stepX, b.body.stepY = step(kx), step(ky)
	const most = 40000 // vertices
	if n := b.body.face.long * b.body.face.wide / (b.body.stepX * b.body.stepY); n > most {
		b.body.stepX *= math.Sqrt(n / most)
		b.body.stepY *= math.Sqrt(n / most)
	}
	if b.body.head().long >= leastSlotted {
		b.body.slot = 2*w.thick + slotRoom
	}
	b.body.text = w.text()
	low := math.Inf(1)
	for j := range f.ny {
		for i := range f.nx {
			if p := f.node(i, j); b.body.face.holds(p) {
				low = min(low, f.rough(p))
			}
		}
	}
	under := lipHigh + headLow + b.body.round
	if b.body.slot > 0 {
		under = lipHigh + headLow + b.body.slot*math.Sqrt2 + slotDeep/math.Sqrt2
	}
	b.head = low - under
	nominal := max(0, min(f.stand.travel-b.body.face.long, 60)) / 2
	b.body.neck = math.Max(0, min(longNeck, b.near.neck(&b.body, b.head, nominal)))
	b.head -= b.body.neck
	return nil
}

// sample takes places of the face that lie over the patch at rest, or come over it.
func (k *stroker) sample(f *face, o outline) {
	const most = 400
	var pts []r3.Vec
	for j := range f.ny {
		for i := range f.nx {
			p := f.node(i, j)
			if f.pass[j*f.nx+i].motion < 0 || !o.holds(p) {
				continue
			}
			pts = append(pts, f.stand.pose.Point(r3.Vec{X: p.X, Y: p.Y, Z: f.rough(p)}))
		}
	}
	stride := len(pts)/most + 1
	over := 0
	for i := 0; i < len(pts); i += stride {
		k.pts = append(k.pts, pts[i])
		if k.ground.foot(pts[i], -1).over {
			over++
		}
	}
	if len(k.pts) > 0 {
		k.rest = float64(over) / float64(len(k.pts))
	}
}

// letters is how text is written.
func (w *works) letters() letters { return letter.Text }
