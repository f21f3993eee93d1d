package plug

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// cuts is at how many depths an opening is cut across.
const cuts = 24

// bore is an opening as it was measured on the mesh.
type bore struct {
	o fettle.Opening
	m *mesh.Mesh
	// tree is that of the mesh; f stands in the middle of the plan at the survey's
	// mouth, X along the long way.
	tree *bvh.Tree
	f    frame
	plan plan    // of the smallest section
	off  float64 // by how much that section strays from its plan
	wall []level // from the mouth down
	// mouth is by how much the widest place of the mouth lies outside the plan;
	// high is the highest place of its rim, low the lowest of the walls.
	mouth, high, low float64
}

// level is how much wider than the plan the opening is at a height: the least and
// the most, all round.
type level struct{ at, least, most float64 }

// measure cuts the opening across and fits a plan to its smallest section.
func measure(ctx context.Context, m *mesh.Mesh, tree *bvh.Tree, o fettle.Opening) (*bore, error) {
	axis := r3.Unit(geom.Vec(o.Axis))
	b := &bore{o: o, m: m, tree: tree, f: frame{at: geom.Vec(o.At), z: axis, x: geom.Perpendicular(axis)}}
	b.f.y = r3.Cross(axis, b.f.x)
	high := make([]float64, len(m.Pos))
	for i, p := range m.Pos {
		_, high[i] = b.f.in(p)
	}
	b.high, b.low = math.Inf(-1), math.Inf(1)
	for _, t := range o.Facets {
		for _, v := range m.Tri[t] {
			b.high, b.low = max(b.high, high[v]), min(b.low, high[v])
		}
	}
	if !(b.high > b.low) {
		return nil, fettle.Errorf(fettle.Invalid, "%s has no walls in this model; survey the part again", o.ID)
	}
	type slice struct {
		h    float64
		loop []r2.Vec
	}
	var slices []slice
	for i := range cuts {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		h := b.high - (b.high-b.low)*(float64(i)+0.5)/cuts
		loop, islands := b.hollow(high, h)
		if islands {
			return nil, fettle.Errorf(fettle.Invalid, "something stands in %s, and a plug goes in only where there is nothing; wind tape round the part over it, or keep out the media that lodge there", o.ID)
		}
		if loop != nil {
			slices = append(slices, slice{h, loop})
		}
	}
	if len(slices) < 3 {
		return nil, fettle.Errorf(fettle.Invalid, "%s is open at its sides, so that nothing holds a plug; wind tape round the part over it, or keep out the media that lodge there", o.ID)
	}
	// What narrows at the end of a blind opening, a drill's point or a rounded floor,
	// is its ground and no wall.
	if !o.Through && o.Form != "keyhole" {
		for n := len(slices) - 1; n >= 3; n-- {
			if p, _, _, _ := fit(slices[n].loop, o.Kind == fettle.Hole, false); p.wide >= 0.97*o.WidthMM {
				break
			}
			slices = slices[:n]
		}
	}
	small := 0
	area := func(i int) float64 { return math.Abs(form.Area(slices[i].loop)) }
	for i := range slices {
		if area(i) < area(small)*(1-1e-6) {
			small = i
		}
	}
	p, centre, dir, off := fit(slices[small].loop, o.Kind == fettle.Hole, o.Form == "keyhole")
	b.plan, b.off = p, off
	at := b.f.out(centre, 0)
	x := r3.Add(r3.Scale(dir.X, b.f.x), r3.Scale(dir.Y, b.f.y))
	b.f = frame{at: at, x: x, y: r3.Cross(axis, x), z: axis}
	base := p.outline(0, form.Chords(p.bend(), 2e-4))
	for _, s := range slices {
		l := level{at: s.h, least: math.Inf(1), most: math.Inf(-1)}
		for _, q := range s.loop {
			d := away(base, along(r2.Sub(q, centre), dir))
			l.least, l.most = min(l.least, d), max(l.most, d)
		}
		b.wall = append(b.wall, l)
	}
	for _, t := range o.Facets {
		for _, v := range m.Tri[t] {
			if high[v] > b.high-0.25*(b.high-b.low) {
				q, _ := b.f.in(m.Pos[v])
				b.mouth = max(b.mouth, away(base, q))
			}
		}
	}
	return b, nil
}

// hollow is the loop of the section at height h that surrounds the opening's
// middle, nil where there is none: material goes all round. islands is set where
// some stands in it.
func (b *bore) hollow(high []float64, h float64) (loop []r2.Vec, islands bool) {
	loops := b.f.section(b.m, high, h)
	var best float64
	for _, l := range loops {
		a := form.Area(l)
		if a < 0 && away(l, r2.Vec{}) < 0 && (loop == nil || -a < best) {
			loop, best = l, -a
		}
	}
	if loop == nil {
		return nil, false
	}
	for _, l := range loops {
		if form.Area(l) > 0 && away(loop, l[0]) < 0 {
			return loop, true
		}
	}
	return loop, false
}

// floor is the height of the nearest ground below the outline, seen from the
// mouth; −Inf where it goes through.
func (b *bore) floor() float64 {
	top := math.Inf(-1)
	for _, k := range []float64{0, 0.35, 0.7, 0.97} {
		w := b.plan.wide / 2
		for _, q := range b.plan.outline(-(1-k)*w*0.999, 48) {
			from := b.f.out(q, b.low+0.7*(b.high-b.low))
			if _, t, _, _, ok := b.tree.Ray(from, r3.Scale(-1, b.f.z), 0, math.Inf(1)); ok {
				_, h := b.f.in(r3.Sub(from, r3.Scale(t, b.f.z)))
				top = max(top, h)
			}
		}
	}
	return top
}
