package hold

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Reuse lays a part in a pocket that has been cut, by the pocket's id, and says what
// it finds: whether the part goes in, what it bears on now, and whether that holds.
// in.Pairs may name another pair than the one that the pocket is in; known are all
// pairs on the shelf.
func Reuse(ctx context.Context, in Input, pocket string, known []fettle.Jaws) (*Made, error) {
	drawn, cut := remembered(known, pocket)
	if cut == nil {
		return nil, fettle.Errorf(fettle.NotFound, "no jaws remember the pocket %q", pocket)
	}
	if !mesh.NewTopology(in.Mesh).Closed() {
		return nil, fettle.Errorf(fettle.Invalid, "%s is not closed, so it cannot be told whether it goes in; mend it where it was drawn and export it again", in.File)
	}
	if len(in.Pairs) != 1 {
		in.Pairs = []fettle.Jaws{drawn}
	}
	in.Drawn, in.Name = drawn.Name, cut.Name
	in.ClearanceMM = cut.ClearanceMM
	j := &job{Input: in, ctx: ctx, pose: cut.Pose, pair: in.Pairs[0], stepped: true}
	if in.ShiftMM != nil {
		if !(math.Abs(*in.ShiftMM) <= 2000) {
			return nil, fettle.Errorf(fettle.Invalid, "a shift of %g mm is none; give a number within ±2000, or leave it out", *in.ShiftMM)
		}
		j.pose.ShiftMM = *in.ShiftMM
	}
	flat := j.pose
	flat.ShiftMM = 0
	j.part = Laid(in.Mesh, flat)
	j.grip = entering(Sample(j.part, j.spacing()), bvh.Build(j.part))
	if cut.SHA256 != in.SHA256 {
		j.says = append(j.says, fmt.Sprintf("the pocket was cut for another file, %s: make sure that %s is the same shape where it is gripped", cut.Part, in.File))
	}
	fixed, moving := Mount(j.pair, j.pose)
	metal := [2]*Metal{fixed, moving}
	m := &Made{Pair: j.pair, Part: Laid(in.Mesh, j.pose), Doc: fettle.JawPocket{
		ID: cut.Pocket, Name: cut.Name, Part: in.File, SHA256: in.SHA256, Pair: j.pair.Name, Pose: j.pose,
		ClearanceMM: cut.ClearanceMM, Stepped: true, DepthMM: round6(cut.Pose.GripMM), Levels: []fettle.PocketLevel{}, Reliefs: []fettle.PocketRelief{},
		Tried: []fettle.JawTried{}, Room: []fettle.JawRoom{}, Warnings: j.says, Cautions: cautions(),
	}}
	none := func(r3.Vec) bool { return false }
	m.Doc.Bearings = j.grip.Bearings(fixed, moving, j.pose, none, cut.ClearanceMM)
	m.Doc.Stop = j.stop(metal, none)
	for i, s := range Stands(j.pose) {
		plan := s.blank(j.pair)
		m.Jaws[i] = carved(plan, -j.pair.HeightMM, within(metal[i].Slabs(), plan))
	}
	j.measure(m)
	j.hold(m)
	j.warn(m)
	return m, nil
}

// remembered finds a pocket on the shelf.
func remembered(known []fettle.Jaws, pocket string) (fettle.Jaws, *fettle.JawCut) {
	for _, j := range known {
		for i := range j.Cuts {
			if j.Cuts[i].Pocket == pocket {
				return j, &j.Cuts[i]
			}
		}
	}
	return fettle.Jaws{}, nil
}

// OlderEdges are the outlines of what was cut in a pair before, as it is mounted, in
// the vise's frame.
func OlderEdges(j fettle.Jaws, pose fettle.PocketPose) [][]fettle.PlanEdge {
	var out [][]fettle.PlanEdge
	fixed, moving := Mount(j, pose)
	for _, m := range []*Metal{fixed, moving} {
		var all region.Region
		for _, l := range m.Slabs() {
			all = all.Union(l.Region)
		}
		out = append(out, edges(all.And(m.blank(j)), r2.Vec{})...)
	}
	return out
}

// OlderCuts are what was cut in a pair before, pocket by pocket and jaw by jaw, the
// fixed side first, as the pair is mounted, in the vise's frame. What lies outside
// the blanks is left out.
func OlderCuts(j fettle.Jaws, pose fettle.PocketPose) []fettle.OlderCut {
	out := []fettle.OlderCut{}
	for _, s := range Stands(pose) {
		blank := s.blank(j)
		for _, c := range j.Cuts {
			if c.Jaw != s.Jaw {
				continue
			}
			one := j
			one.Cuts = []fettle.JawCut{c}
			o := fettle.OlderCut{Name: c.Name, Pocket: c.Pocket, Part: c.Part, SHA256: c.SHA256, Date: c.Date, Jaw: c.Jaw, LowMM: 0, HighMM: -j.HeightMM}
			var all region.Region
			for _, w := range worn(one, s.Jaw) {
				for _, l := range s.carried(j, w.whole) {
					if r := l.Region.And(blank); !r.Empty() {
						all = all.Union(r)
						o.LowMM, o.HighMM = min(o.LowMM, l.Low), max(o.HighMM, l.High)
					}
				}
			}
			if o.Edges = edges(all, r2.Vec{}); len(o.Edges) > 0 {
				out = append(out, o)
			}
		}
	}
	return out
}

// Bores are a pair's mounting holes as it is mounted, the fixed side first.
func Bores(j fettle.Jaws, pose fettle.PocketPose) []fettle.JawBore {
	out := []fettle.JawBore{}
	fixed, moving := Mount(j, pose)
	for _, m := range []*Metal{fixed, moving} {
		for _, b := range m.bores {
			out = append(out, fettle.JawBore{
				Hole: b.hole + 1, Jaw: m.Jaw, XMM: round6(b.x), ZMM: round6(b.z), YMM: [2]float64{round6(b.y0), round6(b.y1)}, DiameterMM: 2 * b.radius,
			})
		}
	}
	return out
}
