package relief

import (
	"context"
	"errors"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// Passes is how a tool is led over a part: side by side, to and fro.
type Passes struct {
	// Angle is the direction of the passes in plan, radians from X.
	Angle float64
	// Step is the distance from pass to pass in mm: in plan, or with OnSurface
	// between the points where neighbouring passes touch the part.
	Step      float64
	OnSurface bool
	// Crossed adds a second set at right angles to the first.
	Crossed bool
	// Tolerance is by how much the straight moves may miss the path on the skin,
	// mm; 0 stands for as little as does not show, 0.02 µm.
	Tolerance float64
	// Tooth is the feed per tooth, mm: the tool cuts at places so far apart, the
	// first of each pass anywhere within it. 0 leaves a smooth path.
	Tooth float64
	// Wave is what the machine adds to the height of its path.
	Wave Wave
}

// Wave is a sine along the path, each pass at another point of it.
type Wave struct{ Height, Length float64 } // peak to valley and period, mm

// finest is the tolerance of a path that asks for none, mm.
const finest = 2e-5

// golden spreads the starts of passes: multiples of it are as unlike each other
// as can be.
const golden = 0.6180339887498949

// Ground is what a tool is led over: the height of its tip over a place and the
// slopes of the surface where it touches, false where it passes by. A [Skin] is
// one.
type Ground interface {
	At(x, y float64) (z, gx, gy float64, ok bool)
	Tool() Tool
}

// Lay leads a tool over the box from (x0, y0) to (x1, y1) of the plan and gives
// its moves, tagged with the number of the pass. Where there is nothing below the
// tool the pass is broken off. It fails on a step that is not positive and when
// ctx is done.
func Lay(ctx context.Context, s Ground, p Passes, x0, y0, x1, y1 float64) ([]Move, error) {
	if !(p.Step > 0) {
		return nil, errors.New("relief: passes without a step")
	}
	if p.Tolerance <= 0 {
		p.Tolerance = finest
	}
	var out []Move
	sets := 1
	if p.Crossed {
		sets = 2
	}
	pass := 0
	for set := range sets {
		l := &layer{ground: s, tool: s.Tool(), p: p, fine: math.Max(p.Tolerance/128, finest/4), lo: [2]float64{x0, y0}, hi: [2]float64{x1, y1}}
		l.sin, l.cos = math.Sincos(p.Angle + float64(set)*math.Pi/2)
		lines := l.straight
		if p.OnSurface {
			lines = l.spaced
		}
		all, err := lines(ctx)
		if err != nil {
			return nil, err
		}
		runs := make([][]Move, len(all))
		var next atomic.Int64
		var wg sync.WaitGroup
		for range min(runtime.GOMAXPROCS(0), len(all)) {
			wg.Go(func() {
				for ctx.Err() == nil {
					n := int(next.Add(1)) - 1
					if n >= len(all) {
						return
					}
					runs[n] = l.follow(all[n], pass+n)
				}
			})
		}
		wg.Wait()
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, r := range runs {
			out = append(out, r...)
		}
		pass += len(all)
	}
	return out, nil
}

// layer lays one set of passes. u runs along them in plan, v across.
type layer struct {
	ground   Ground
	tool     Tool
	p        Passes
	fine     float64 // by how much the known places may miss the path
	lo, hi   [2]float64
	sin, cos float64
}

func (l *layer) xy(u, v float64) (x, y float64) {
	return u*l.cos - v*l.sin, u*l.sin + v*l.cos
}

// extent is the box's range of u and v.
func (l *layer) extent() (u0, u1, v0, v1 float64) {
	u0, v0 = math.Inf(1), math.Inf(1)
	u1, v1 = math.Inf(-1), math.Inf(-1)
	for _, x := range [2]float64{l.lo[0], l.hi[0]} {
		for _, y := range [2]float64{l.lo[1], l.hi[1]} {
			u, v := x*l.cos+y*l.sin, y*l.cos-x*l.sin
			u0, u1 = math.Min(u0, u), math.Max(u1, u)
			v0, v1 = math.Min(v0, v), math.Max(v1, v)
		}
	}
	return u0, u1, v0, v1
}

// line is a pass in plan: its v at places along u that start at from, step
// apart.
type line struct {
	v          []float64
	from, step float64
}

// straight gives passes on straight lines in plan, the set centred on the box.
func (l *layer) straight(context.Context) ([]line, error) {
	u0, u1, v0, v1 := l.extent()
	n := max(1, int(math.Ceil((v1-v0)/l.p.Step-1e-9))+1)
	out := make([]line, n)
	for k := range n {
		v := (v0+v1)/2 + (float64(k)-float64(n-1)/2)*l.p.Step
		out[k] = line{[]float64{v, v}, u0, u1 - u0}
	}
	return out, nil
}

// spaced gives passes whose contacts are Step apart on the part: each line is
// found from the one before, place by place.
func (l *layer) spaced(ctx context.Context) ([]line, error) {
	u0, u1, v0, v1 := l.extent()
	n := 2 + int((u1-u0)/math.Max(2*l.p.Step, l.tool.Radius/8))
	step := (u1 - u0) / float64(n-1)
	at := make([]float64, n)
	for i := range at {
		at[i] = v0
	}
	var out []line
	for inside := true; inside; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		out = append(out, line{at, u0, step})
		next := make([]float64, n)
		inside = false
		for i, v := range at {
			next[i] = v + l.advance(u0+float64(i)*step, v)
			inside = inside || v < v1
		}
		at = next
	}
	return out, nil
}

// advance is the step in plan at (u, v) after which the tool touches the part
// Step away from where it touches now.
func (l *layer) advance(u, v float64) float64 {
	at := func(v float64) (c [3]float64, ok bool) {
		x, y := l.xy(u, v)
		z, gx, gy, ok := l.ground.At(x, y)
		if !ok {
			return c, false
		}
		p := l.tool.Contact(x, y, z, gx, gy)
		return [3]float64{p.X, p.Y, p.Z}, true
	}
	c, ok := at(v)
	if !ok {
		return l.p.Step
	}
	d := l.p.Step
	for range 6 {
		q, ok := at(v + d)
		if !ok {
			return l.p.Step
		}
		far := math.Sqrt((q[0]-c[0])*(q[0]-c[0]) + (q[1]-c[1])*(q[1]-c[1]) + (q[2]-c[2])*(q[2]-c[2]))
		// Round an edge the tool turns about one point; it goes on by as much as
		// the tool itself is wide at most.
		f := math.Min(math.Max(l.p.Step/math.Max(far, 1e-12), 0.25), 4)
		d = math.Min(d*f, l.tool.Radius)
		if math.Abs(f-1) < 1e-4 {
			break
		}
	}
	return math.Max(d, l.p.Step/8)
}

// point is a place of the path: how far along in plan, and the tip.
type point struct {
	u float64
	p [3]float64
}

// follow gives the moves of one pass, forth for even numbers and back for odd
// ones.
func (l *layer) follow(ln line, pass int) []Move {
	var out []Move
	var run []point
	flush := func() {
		if len(run) > 1 {
			out = l.chords(run, ln, pass, out)
		}
		run = run[:0]
	}
	first := l.firstStep()
	for i := range len(ln.v) - 1 {
		a, b := ln.from+float64(i)*ln.step, ln.from+float64(i+1)*ln.step
		n := max(1, int(math.Ceil(ln.step/first)))
		for k := range n {
			lo, hi := a+(b-a)*float64(k)/float64(n), a+(b-a)*float64(k+1)/float64(n)
			p, okp := l.tip(ln, lo)
			q, okq := l.tip(ln, hi)
			if !okp || !okq {
				flush()
				continue
			}
			if len(run) == 0 {
				run = append(run, p)
			}
			run = l.refine(ln, p, q, 0, run)
		}
	}
	flush()
	if pass%2 == 1 {
		slices.Reverse(out)
		for i := range out {
			out[i].From, out[i].To = out[i].To, out[i].From
		}
	}
	return out
}

// firstStep is the distance at which the skin is looked up before it is known
// how it bends.
func (l *layer) firstStep() float64 {
	return math.Min(0.25, math.Max(l.tool.Radius, l.tool.Corner)/4)
}

// tip is the path over u, inside the box and over the part.
func (l *layer) tip(ln line, u float64) (point, bool) {
	i := min(max(int((u-ln.from)/ln.step), 0), len(ln.v)-2)
	f := (u - ln.from - float64(i)*ln.step) / ln.step
	x, y := l.xy(u, ln.v[i]+f*(ln.v[i+1]-ln.v[i]))
	const edge = 1e-9
	if x < l.lo[0]-edge || y < l.lo[1]-edge || x > l.hi[0]+edge || y > l.hi[1]+edge {
		return point{}, false
	}
	z, _, _, ok := l.ground.At(x, y)
	return point{u, [3]float64{x, y, z}}, ok
}

// refine adds the path behind a up to b, close enough that straight pieces miss
// it by less than a fraction of the tolerance.
func (l *layer) refine(ln line, a, b point, depth int, run []point) []point {
	const deepest = 14
	if depth < deepest {
		// Two places, so that a path that swings evenly about its chord is not
		// taken for straight.
		m, ok1 := l.tip(ln, a.u+(b.u-a.u)*0.5)
		n, ok2 := l.tip(ln, a.u+(b.u-a.u)*0.29)
		if ok1 && ok2 && max(miss(a.p, b.p, m.p), miss(a.p, b.p, n.p)) > l.fine {
			run = l.refine(ln, a, m, depth+1, run)
			return l.refine(ln, m, b, depth+1, run)
		}
	}
	return append(run, b)
}

// miss is the distance of p from the straight line through a and b.
func miss(a, b, p [3]float64) float64 {
	var ab, ap [3]float64
	for k := range 3 {
		ab[k], ap[k] = b[k]-a[k], p[k]-a[k]
	}
	l2 := ab[0]*ab[0] + ab[1]*ab[1] + ab[2]*ab[2]
	if l2 == 0 {
		return math.Sqrt(ap[0]*ap[0] + ap[1]*ap[1] + ap[2]*ap[2])
	}
	u := (ab[0]*ap[0] + ab[1]*ap[1] + ab[2]*ap[2]) / l2
	d := 0.0
	for k := range 3 {
		e := ap[k] - u*ab[k]
		d += e * e
	}
	return math.Sqrt(d)
}
