// Package plug makes soft plugs for openings that media would stay in: [Make].
//
// The opening is measured on the mesh: cut across at a number of depths, its
// smallest section fitted with a plan (round, slot, keyhole, rounded rectangle),
// and the other sections told as so much wider than that. Everything of the plug
// is that plan grown or shrunk, so that it squeezes by the same amount all round:
// a head that closes the mouth, a collar where the mouth is wider, a shank in two
// lengths that each grip, and a tip that finds its way in.
package plug

import (
	"context"
	"fmt"
	"math"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/trade/survey"

	"gonum.org/v1/gonum/spatial/r3"
)

// Input is a part, surveyed, and what to close with what.
type Input struct {
	Mesh   *mesh.Mesh // closed, in mm
	Survey fettle.Survey
	// Detail saves building a tree; may be nil.
	Detail  *survey.Detail
	Opening string // its id
	Soft    fettle.Soft
}

// Made is a plug.
type Made struct {
	Doc fettle.PlugFit
	// Mesh stands as it is printed: tip down on z = 0, head and pull tab up, its
	// long way along X.
	Mesh *mesh.Mesh
	Pose Pose
}

// Pose is where a plug sits in its part: its origin and axes in the part's
// coordinates.
type Pose struct{ At, X, Y, Z r3.Vec }

// Apply brings a point of the plug into the part.
func (p Pose) Apply(v r3.Vec) r3.Vec {
	return r3.Add(p.At, r3.Add(r3.Scale(v.X, p.X), r3.Add(r3.Scale(v.Y, p.Y), r3.Scale(v.Z, p.Z))))
}

// Make makes the plug for one opening. Squeeze, rim, tab and play are starting
// guesses. It fails with NotFound for an opening that the survey does not have,
// and with Invalid, saying what to do instead, for one that no plug closes: a gap,
// a groove, what is too small or too shallow for the material, what has an outline
// of its own, what is open at its sides.
func Make(ctx context.Context, in Input) (Made, error) {
	o, err := find(in)
	if err != nil {
		return Made{}, err
	}
	tree := (*bvh.Tree)(nil)
	if in.Detail != nil {
		tree = in.Detail.Tree
	}
	if tree == nil {
		tree = bvh.Build(in.Mesh)
	}
	b, err := measure(ctx, in.Mesh, tree, o)
	if err != nil {
		return Made{}, err
	}
	if b.plan.wide < 2*in.Soft.LeastMM-0.01 {
		return Made{}, tooNarrow(o, b.plan.wide, in.Soft)
	}
	if b.off > max(0.05, 0.04*b.plan.wide) {
		return Made{}, fettle.Errorf(fettle.Invalid,
			"the outline of %s is no %s: it strays from one by %.2f mm, and a plug would not close it; fill it with wax, or cut a plug to fit by hand", o.ID, b.plan.form, b.off)
	}
	d, err := b.design(in.Soft)
	if err != nil {
		return Made{}, err
	}
	if err := ctx.Err(); err != nil {
		return Made{}, err
	}
	body := d.loft()
	tp := mesh.NewTopology(body)
	was := mesh.Measure(body, tp)
	if !was.Closed || was.Volume <= 0 || len(bvh.Crossings(body)) > 0 {
		return Made{}, fmt.Errorf("plug: the plug for %s does not close", o.ID)
	}
	pose := Pose{At: r3.Add(b.f.at, r3.Scale(d.tipAt(), b.f.z)), X: b.f.x, Y: b.f.y, Z: b.f.z}
	size := was.Box.Size()
	doc := fettle.PlugFit{
		Part: in.Survey.File, Opening: o.ID, Soft: in.Soft.Name, Form: b.plan.form, Through: o.Through,
		Steps: d.steps(), MouthSqueezeMM: 2 * d.grip, TipPlayMM: 2 * d.play,
		SizeMM: geom.Array(size), TaperDeg: d.taper(), VolumeMM3: was.Volume, Closed: was.Closed,
		Warnings: []string{},
	}
	doc.Do = d.do(in.Soft)
	doc.Says = d.says(in.Soft)
	doc.Warnings = append(doc.Warnings, d.warnings(in.Soft)...)
	return Made{Doc: doc, Mesh: body, Pose: pose}, nil
}

// find is the opening, if it is of a kind that plugs are made for.
func find(in Input) (fettle.Opening, error) {
	for _, o := range in.Survey.Openings {
		if o.ID != in.Opening {
			continue
		}
		switch {
		case o.Kind == fettle.Gap:
			return o, fettle.Errorf(fettle.Invalid, "%s is a gap between features and has no walls to hold a plug; keep out the media that lodge there", o.ID)
		case o.Form == "groove":
			return o, fettle.Errorf(fettle.Invalid, "%s is a groove, and a plug has nothing to go into; lay a rubber ring or a round cord %.1f mm thick in it, or wind tape over it", o.ID, 1.05*o.WidthMM)
		case o.WidthMM < 2*in.Soft.LeastMM-0.01:
			return o, tooNarrow(o, o.WidthMM, in.Soft)
		}
		return o, nil
	}
	return fettle.Opening{}, fettle.Errorf(fettle.NotFound, "the part has no opening called %q; the survey lists those that it has", in.Opening)
}

func tooNarrow(o fettle.Opening, wide float64, s fettle.Soft) error {
	return fettle.Errorf(fettle.Invalid, "%s is %.2f mm wide, too small for a plug of %s, which comes out well from %.1f mm: fill it with wax or a cut strip", o.ID, wide, small(s.Title), 2*s.LeastMM)
}

// Measures of a plug, in mm. All are judgement.
const (
	headThick   = 1.8
	rimMost     = 1.5 // by how much the head is wider than the mouth, all round
	rimLeast    = 1.2
	beyond      = 1.0 // a through plug's reach past the far side
	clearance   = 0.1 // between a collar and the walls round it
	gripMost    = 0.3 // squeeze per side: what fingers can still push in
	ventDeep    = 0.3
	ventFrom    = 2.5 // width from which a plug has room for a vent
	shankLeast  = 1.0
	steepest    = 0.1 // of the upper gripping length: what holds by friction
	ledgeFrom   = 2.5 // width per depth from which a wall counts as a step
	tabHigh     = 7.0
	tabThick    = 2.5
	tabMost     = 10.0
	longPeeling = 30.0 // from here the tab stands at one end
)

// gripOf is by how much the shank is larger than the opening on each side.
func gripOf(wide float64, s fettle.Soft) float64 {
	return min(s.Squeeze.Value*wide/2, gripMost)
}

// playOf is by how much the tip is smaller on each side.
func playOf(grip float64) float64 { return max(0.05, grip/2) }

// blindGap is what a plug leaves free above the ground of a blind hole.
func blindGap(deep float64) float64 { return min(1, max(0.5, 0.1*deep)) }

// taperOf is the angle between axis and side.
func taperOf(per, long float64) float64 { return math.Atan2(per, long) * 180 / math.Pi }
