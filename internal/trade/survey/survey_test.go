package survey

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fettle"
	"fettle/internal/shape/form"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

func survey(t testing.TB, m *mesh.Mesh, up r3.Vec) (fettle.Survey, *Detail) {
	t.Helper()
	s, d, err := Of(context.Background(), m, mesh.NewTopology(m), Options{Up: up})
	if err != nil {
		t.Fatal(err)
	}
	return s, d
}

// motion is a rigid motion.
type motion struct {
	rot   r3.Rotation
	shift r3.Vec
}

func someMotion(r *rand.Rand) motion {
	axis := r3.Unit(r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()})
	return motion{r3.NewRotation(2*math.Pi*r.Float64(), axis), r3.Vec{X: 30 * r.NormFloat64(), Y: 30 * r.NormFloat64(), Z: 30 * r.NormFloat64()}}
}

func (o motion) point(p r3.Vec) r3.Vec { return r3.Add(o.rot.Rotate(p), o.shift) }

// move returns the mesh moved, and rounded to single precision as a file would.
func (o motion) move(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Tri: m.Tri, Pos: make([]r3.Vec, len(m.Pos))}
	for i, p := range m.Pos {
		q := o.point(p)
		out.Pos[i] = r3.Vec{X: float64(float32(q.X)), Y: float64(float32(q.Y)), Z: float64(float32(q.Z))}
	}
	return out
}

// drawn is an opening as drawn on a plate: what the survey must find.
type drawn struct {
	fettle.Opening
	name string
}

// at fills in what all drawn openings share.
func at(name string, c r2.Vec, z float64, back bool, o fettle.Opening) drawn {
	o.At = [3]float64{c.X, c.Y, z}
	o.Axis = [3]float64{0, 0, 1}
	if back {
		o.At[2], o.Axis[2] = 0, -1
	}
	return drawn{o, name}
}

const plateZ = 10.0

// randomCut draws one opening that fits a circle of radius 7 about c.
func randomCut(r *rand.Rand, c r2.Vec) (form.Cut, drawn) {
	n := 4 * (6 + r.IntN(11)) // 24 to 64 sides
	d := 1.5 + 8*r.Float64()
	depth := 1.5 + 6*r.Float64()
	deg := 180 * r.Float64()
	back := r.IntN(2) == 0
	switch r.IntN(9) {
	case 0, 1:
		return form.Through(form.Circle(c, d, n)), at("through hole", c, plateZ, false, fettle.Opening{
			Kind: fettle.Hole, Through: true, WidthMM: d, WidestMM: d, LengthMM: d, DepthMM: plateZ, InsideMM: d / 2})
	case 2:
		cut := form.Blind(form.Circle(c, d, n), depth)
		cut.FromBack = back
		return cut, at("blind hole", c, plateZ, back, fettle.Opening{
			Kind: fettle.Hole, WidthMM: d, WidestMM: d, LengthMM: d, DepthMM: depth, InsideMM: d / 2})
	case 3:
		cut := form.Drilled(c, d, min(depth, 6), 118, n)
		cut.FromBack = back
		return cut, at("drilled hole", c, plateZ, back, fettle.Opening{
			Kind: fettle.Hole, WidthMM: d, WidestMM: d, LengthMM: d, DepthMM: min(depth, 6), InsideMM: d / 2})
	case 4:
		d = min(d, 5)
		cut := form.Countersunk(c, d, 1.9*d, 90, n)
		cut.FromBack = back
		return cut, at("countersunk hole", c, plateZ, back, fettle.Opening{
			Kind: fettle.Hole, Form: "countersunk", Through: true, WidthMM: d, WidestMM: 1.9 * d, LengthMM: d, DepthMM: plateZ, InsideMM: d / 2})
	case 5:
		d = min(d, 5)
		cut := form.Counterbored(c, d, 1.7*d, depth, n)
		cut.FromBack = back
		return cut, at("counterbored hole", c, plateZ, back, fettle.Opening{
			Kind: fettle.Hole, Form: "counterbored", Through: true, WidthMM: d, WidestMM: 1.7 * d, LengthMM: d, DepthMM: plateZ, InsideMM: d / 2})
	case 6:
		w := 1 + 3*r.Float64()
		l := w * (1.6 + r.Float64())
		cut := form.Blind(form.Obround(c, l, w, deg, n/2), depth)
		cut.FromBack = back
		return cut, at("obround slot", c, plateZ, back, fettle.Opening{
			Kind: fettle.Slot, WidthMM: w, WidestMM: w, LengthMM: l, DepthMM: depth, InsideMM: w / 2})
	case 7:
		w := 4 + 3*r.Float64()
		l := w * (1.1 + 0.6*r.Float64())
		radius := 0.3 + r.Float64()
		if r.IntN(3) == 0 {
			radius = 0
		}
		cut := form.Blind(form.Rectangle(c, l, w, radius, n/4), depth)
		cut.FromBack = back
		return cut, at("pocket", c, plateZ, back, fettle.Opening{
			Kind: fettle.Pocket, WidthMM: w, WidestMM: w, LengthMM: l, DepthMM: depth, InsideMM: radius})
	}
	d = 4 + 2*r.Float64()
	slot := d * (0.35 + 0.2*r.Float64())
	reach := d * (0.9 + 0.2*r.Float64())
	top := r2.Vec{X: c.X, Y: c.Y + (reach-d/2)/2}
	return form.Through(form.Keyhole(top, d, slot, reach, n)), at("keyhole", c, plateZ, false, fettle.Opening{
		Kind: fettle.Slot, Form: "keyhole", Through: true, WidthMM: slot, WidestMM: d, LengthMM: reach + d/2, DepthMM: plateZ, InsideMM: slot / 2})
}

// Plates with openings drawn at random on a grid, turned and moved at random:
// each opening must be found once, with the drawing's measures. The facets are
// those of 24 to 64-sided circles, and the tolerance is a tenth of what the
// 1 % of the diameter that chords would leave.
func TestRandomPlates(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64().Draw(rt, "seed")
		r := rand.New(rand.NewPCG(seed, 11))
		nx, ny := 1+r.IntN(2), 1+r.IntN(2)
		var cuts []form.Cut
		var want []drawn
		for i := range nx {
			for j := range ny {
				c := r2.Vec{X: 16*float64(i) + r.Float64(), Y: 16*float64(j) + r.Float64()}
				cut, d := randomCut(r, c)
				cuts, want = append(cuts, cut), append(want, d)
			}
		}
		wide, high := 16*float64(nx)+2, 16*float64(ny)+2
		outline := form.Rectangle(r2.Vec{X: wide/2 - 8.5, Y: high/2 - 8.5}, wide, high, 2, 8)
		o := someMotion(r)
		m := o.move(form.Plate(outline, plateZ, cuts...))
		s, _ := survey(t, m, o.rot.Rotate(r3.Vec{Z: 1}))
		compare(rt, s.Openings, want, o, 1e-3)
	})
}

// fatal is what rapid and testing share.
type fatal interface {
	Errorf(format string, args ...any)
	Helper()
}

// compare matches openings by place. Lengths may differ by tol of themselves and
// a hundredth of a millimetre at most.
func compare(t fatal, got []fettle.Opening, want []drawn, o motion, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%d openings, want %d", len(got), len(want))
	}
	used := map[string]bool{}
	for _, w := range want {
		place, axis := o.point(geom.Vec(w.At)), o.rot.Rotate(geom.Vec(w.Axis))
		var g *fettle.Opening
		for i := range got {
			if r3.Norm(r3.Sub(geom.Vec(got[i].At), place)) < 0.02 && !used[got[i].ID] {
				g = &got[i]
			}
		}
		if g == nil {
			t.Errorf("no opening for the %s at %.2f (width %.3f, depth %.3f)", w.name, w.At, w.WidthMM, w.DepthMM)
			for i := range got {
				t.Errorf("    there is %s %q at %.3f, not %.3f; width %.3f depth %.3f through %v", got[i].ID, got[i].Form, got[i].At, place, got[i].WidthMM, got[i].DepthMM, got[i].Through)
			}
			continue
		}
		used[g.ID] = true
		if g.Kind != w.Kind || g.Form != w.Form || g.Through != w.Through {
			t.Errorf("%s: %s %q through %v, want %s %q through %v", w.name, g.Kind, g.Form, g.Through, w.Kind, w.Form, w.Through)
		}
		if r3.Dot(geom.Vec(g.Axis), axis) < 0.99999 {
			t.Errorf("%s: axis %.4f, want %.4f", w.name, g.Axis, axis)
		}
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"width", g.WidthMM, w.WidthMM}, {"widest", g.WidestMM, w.WidestMM}, {"length", g.LengthMM, w.LengthMM},
			{"depth", g.DepthMM, w.DepthMM}, {"inside radius", g.InsideMM, w.InsideMM},
		} {
			if math.Abs(c.got-c.want) > tol*c.want+1e-4 {
				t.Errorf("%s: %s %.4f, want %.4f (through %v, width %.3f)", w.name, c.what, c.got, c.want, w.Through, w.WidthMM)
			}
		}
	}
}

// The plate of the trade's bench: three by four holes of rising diameter, every
// other one blind, 32 sides each.
func TestGridOfHoles(t *testing.T) {
	var cuts []form.Cut
	var want []drawn
	for i := range 12 {
		c := r2.Vec{X: 15 * float64(i%4), Y: 15 * float64(i/4)}
		d := 1 + 0.75*float64(i)
		if i%2 == 0 {
			cuts = append(cuts, form.Through(form.Circle(c, d, 32)))
			want = append(want, at("through", c, 10, false, fettle.Opening{Kind: fettle.Hole, Through: true, WidthMM: d, WidestMM: d, LengthMM: d, DepthMM: 10, InsideMM: d / 2}))
		} else {
			cuts = append(cuts, form.Blind(form.Circle(c, d, 32), 2+0.5*float64(i)))
			want = append(want, at("blind", c, 10, false, fettle.Opening{Kind: fettle.Hole, WidthMM: d, WidestMM: d, LengthMM: d, DepthMM: 2 + 0.5*float64(i), InsideMM: d / 2}))
		}
	}
	m := form.Plate(form.Rectangle(r2.Vec{X: 22.5, Y: 15}, 64, 50, 0, 1), 10, cuts...)
	s, _ := survey(t, m, r3.Vec{Z: 1})
	compare(t, s.Openings, want, motion{rot: r3.NewRotation(0, r3.Vec{Z: 1})}, 1e-6)
	for i, o := range s.Openings {
		if o.ID != fmt.Sprintf("hole-%d", i+1) || i > 0 && o.WidthMM > s.Openings[i-1].WidthMM {
			t.Errorf("%s, %.2f wide, is in place %d: the widest comes first", o.ID, o.WidthMM, i)
		}
	}
}
