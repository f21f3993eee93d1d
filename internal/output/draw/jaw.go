package draw

import (
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/region"
	"fettle/internal/trade/hold"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// stand is one jaw as it stands in the vise.
type stand struct {
	hold.Stand
	pair fettle.Jaws
}

// stands are the jaws of a pose: first what stands in the fixed place.
func stands(pair fettle.Jaws, pose fettle.PocketPose) [2]stand {
	s := hold.Stands(pose)
	return [2]stand{{s[0], pair}, {s[1], pair}}
}

// front reports whether it stands in the moving jaw's place.
func (s stand) front() bool { return s.Side == hold.MovingSide }

// says names what stands here and how.
func (s stand) says() string {
	turn := string(s.Turn)
	if turn == "" {
		turn = string(fettle.AsNew)
	}
	names := map[int]string{fettle.FixedJaw: "fixed jaw", fettle.MovingJaw: "moving jaw"}
	switch {
	case !s.front() && s.Jaw == fettle.FixedJaw:
		return "Fixed jaw, " + turn
	case s.front() && s.Jaw == fettle.MovingJaw:
		return "Moving jaw, " + turn
	case s.front():
		return "Moving place: " + names[s.Jaw] + ", " + turn
	}
	return "Fixed place: " + names[s.Jaw] + ", " + turn
}

// vise is a point of the jaw's own frame in the vise's.
func (s stand) vise(x, y, z float64) (float64, float64, float64) {
	p := s.Vise(s.pair, r3.Vec{X: x, Y: y, Z: z})
	return p.X, p.Y, p.Z
}

// plan is a loop of the jaw's own frame in the vise's, in the same direction round.
func (s stand) plan(loop [][2]float64) []r2.Vec {
	out := make([]r2.Vec, len(loop))
	for i, q := range loop {
		x, y, _ := s.vise(q[0], q[1], 0)
		out[i] = r2.Vec{X: x, Y: y}
	}
	if s.Turn == fettle.EndForEnd || s.Turn == "" || s.Turn == fettle.AsNew {
		return out
	}
	// Turned over, the plan is seen from the other side.
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// block is the jaw's plan when nothing has been cut in it.
func (s stand) block() region.Region {
	w, t := s.pair.WidthMM/2, s.pair.ThickMM
	if s.front() {
		return region.Rect(r2.Vec{X: -w, Y: -s.GapMM/2 - t}, r2.Vec{X: w, Y: -s.GapMM / 2})
	}
	return region.Rect(r2.Vec{X: -w, Y: s.GapMM / 2}, r2.Vec{X: w, Y: s.GapMM/2 + t})
}

// void is what an older cut took between two heights, in the vise's frame.
type void struct {
	low, high float64
	plan      region.Region
}

// voids are the slabs of a cut in this jaw.
func (s stand) voids(c fettle.JawCut) []void {
	var out []void
	for _, slab := range c.Slabs {
		var loops [][]r2.Vec
		for _, l := range slab.Loops {
			loops = append(loops, s.plan(l))
		}
		_, _, lo := s.vise(0, 0, slab.LowMM)
		_, _, hi := s.vise(0, 0, slab.HighMM)
		if v := (void{min(lo, hi), max(lo, hi), region.Of(loops...).And(s.block())}); !v.plan.Empty() {
			out = append(out, v)
		}
	}
	return out
}

// older are the cuts of this jaw.
func (s stand) older(cuts []fettle.JawCut) []fettle.JawCut {
	var out []fettle.JawCut
	for _, c := range cuts {
		if c.Jaw == s.Jaw {
			out = append(out, c)
		}
	}
	return out
}

// sunk is one level of a pocket: what is open at its depth, and so at all heights
// over it, in both jaws.
type sunk struct {
	depth float64
	open  region.Region
}

// pocket are a pocket's levels as regions, what is open at a depth added to what is
// open above.
func pocket(p fettle.JawPocket, tol float64) []sunk {
	out := make([]sunk, len(p.Levels))
	var below region.Region
	for i := len(p.Levels) - 1; i >= 0; i-- {
		below = below.Union(region.Of(loops(p.Levels[i].Edges, tol)...))
		out[i] = sunk{p.Levels[i].DepthMM, below}
	}
	return out
}

// checkJaws refuses what cannot be drawn.
func checkJaws(p fettle.JawPocket, pair fettle.Jaws, older []fettle.JawCut) error {
	bad := func(vs ...float64) bool {
		for _, v := range vs {
			if math.IsNaN(v) || math.Abs(v) > 1e5 {
				return true
			}
		}
		return false
	}
	if !(pair.WidthMM > 0 && pair.HeightMM > 0 && pair.ThickMM > 0) || bad(pair.WidthMM, pair.HeightMM, pair.ThickMM) {
		return fettle.Errorf(fettle.Invalid, "jaws of %g × %g × %g mm cannot be drawn; give their width, height and thickness on the shelf", pair.WidthMM, pair.HeightMM, pair.ThickMM)
	}
	if !(p.Pose.GapMM >= 0) || bad(p.Pose.GapMM, p.Pose.ShiftMM, p.Pose.AcrossMM, p.Pose.GripMM, p.CutterMM, p.DepthMM) {
		return fettle.Errorf(fettle.Invalid, "the pocket %q has a size that is no length, so it cannot be drawn; place the part again", p.Name)
	}
	for _, t := range []fettle.JawTurn{p.Pose.Fixed, p.Pose.Moving} {
		if t != "" && !slices.Contains(fettle.JawTurns(), t) {
			return fettle.Errorf(fettle.Invalid, "no jaw can be mounted %q, so the pocket %q cannot be drawn; place the part again", t, p.Name)
		}
	}
	for _, l := range p.Levels {
		if bad(l.DepthMM) || l.DepthMM < 0 {
			return fettle.Errorf(fettle.Invalid, "a level of the pocket %q is %g mm deep, which cannot be drawn; place the part again", p.Name, l.DepthMM)
		}
		for _, loop := range l.Edges {
			for _, e := range loop {
				if bad(e.From[0], e.From[1], e.To[0], e.To[1], e.Centre[0], e.Centre[1], e.RadiusMM) {
					return fettle.Errorf(fettle.Invalid, "an outline of the pocket %q holds a number that is no length, so it cannot be drawn; place the part again", p.Name)
				}
			}
		}
	}
	for _, r := range p.Reliefs {
		if bad(r.At[0], r.At[1], r.RadiusMM) {
			return fettle.Errorf(fettle.Invalid, "a corner relief of the pocket %q is no place, so it cannot be drawn; place the part again", p.Name)
		}
	}
	if s := p.Stop; bad(s.At[0], s.At[1], s.Towards[0], s.Towards[1]) || bad(p.Bearings[0].Centre[0], p.Bearings[0].Centre[1], p.Bearings[1].Centre[0], p.Bearings[1].Centre[1]) {
		return fettle.Errorf(fettle.Invalid, "the stop or a bearing of the pocket %q is no place, so it cannot be drawn; place the part again", p.Name)
	}
	for _, h := range pair.Holes {
		if bad(h.XMM, h.ZMM, h.DiameterMM, h.HeadMM, h.HeadDeepMM) {
			return fettle.Errorf(fettle.Invalid, "a mounting hole of the jaws %q is no place, so it cannot be drawn; mend the shelf", pair.Name)
		}
	}
	for _, c := range older {
		for _, s := range c.Slabs {
			for _, l := range s.Loops {
				for _, q := range l {
					if bad(q[0], q[1], s.LowMM, s.HighMM) {
						return fettle.Errorf(fettle.Invalid, "the older pocket %q holds a number that is no length, so it cannot be drawn; mend the jaws' record", c.Name)
					}
				}
			}
		}
	}
	return nil
}
