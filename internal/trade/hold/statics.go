package hold

import (
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/geom"
)

// wantedFactor is how many times over a part should be held: 2 to 3 is common
// practice for parts held by friction.
const wantedFactor = 2

// Held is a part in the jaws and a cut that pulls at it. Bearings, by side, and the
// box of the part as it lies are in the vise's frame; the cut may be anywhere over
// that box.
type Held struct {
	Cut      fettle.Cut
	Material fettle.Material
	Jaws     fettle.Jaws
	Bearings [2]fettle.Bearing
	Pose     fettle.PocketPose
	Part     geom.Box
}

// Check sets what holds a part against what a cut pulls it with, one way of coming
// loose after the other.
//
// The free body is the part, rigid, between two rigid jaws. The moving one is pressed
// on by F and gives that force way; the fixed one answers. P is the force of the
// cut in the plane of the table, in the worst direction, at the height A above the
// jaws' top; L its lift. Friction is Coulomb's. Weight and the stop are left out.
//
//   - Slides along the jaws: P along X; friction µF on both faces: P against 2µF.
//   - Lifts: √(P² + L²) against 2µF, for friction has no direction of its own.
//   - Pushes the moving jaw open: P towards it takes the load off the fixed jaw:
//     P against F.
//   - Turns about the clamping axis, which runs through the middles of both bearings at
//     xc, zc: P·(A − zc) + L·max|x − xc| against µF·(r1 + r2), where r is a bearing's
//     mean distance from its own middle (evenly pressed, ∫µp·r dA = µF·r).
//   - Slides and turns together, for one force does both: forces and moments that
//     friction can hold lie about in an ellipsoid (S. Goyal, A. Ruina and J.
//     Papadopoulos, "Planar sliding with dry friction", Wear 143 (1991) 307; R. D. Howe
//     and M. R. Cutkosky, International Journal of Robotics Research 15 (1996) 249;
//     from memory), so 1/f² = 1/f_lifts² + 1/f_turns².
//   - Tips over the jaws' edge: P along Y turns the part about the upper edge of the
//     bearing that it is pushed to, at the height e. Pushed to the fixed jaw, the
//     moving one holds it with F at its middle zm and with friction µF on the arm D
//     between the faces: P·(A − e) + L·d against F·(e − zm + µD), d the farthest that
//     the part reaches out from that face. Pushed to the moving jaw, the fixed one is
//     left with F − P at its middle zf: P·(A − e) + L·d against
//     (F − P)·(e − zf + µD), or P·(A − zf + µD) + L·d against F·(e − zf + µD).
//     Where the bearings do not face each other, e − z is less, or nothing: then the
//     vise itself makes a couple.
//   - Swings about the vertical: the same in plan, P along Y at the part's far end
//     about the end of a bearing.
func Check(in Held) fettle.Holding {
	c, j, b := in.Cut, in.Jaws, in.Bearings
	plane, lift := Force(c, in.Material)
	h := fettle.Holding{
		Cut: c, ForceN: plane, LiftN: lift, Wanted: wantedFactor,
		Factor: fettle.Exactly(0, kienzleBasis), Assumes: assumes(j),
	}
	switch {
	case plane.Value <= 0:
		h.Says = "the cut is not known, so it cannot be said whether the part holds"
		return h
	case b[0].AreaMM2 <= 0 || b[1].AreaMM2 <= 0:
		h.Says = "a jaw has nothing to bear on: the part is not held"
		return h
	case j.ClampN.Value <= 0 || j.Friction.Value <= 0:
		h.Says = fmt.Sprintf("the clamping force or the friction of %s is not known, so it cannot be said whether the part holds", j.Name)
		return h
	}
	s := &statics{Cut: c, plane: plane, lift: lift, clamp: j.ClampN, friction: j.Friction, bearing: b, part: in.Part}
	h.Ways = s.ways()
	slices.SortStableFunc(h.Ways, func(a, b fettle.HoldingWay) int {
		switch {
		case a.Factor.Value < b.Factor.Value:
			return -1
		case a.Factor.Value > b.Factor.Value:
			return 1
		}
		return 0
	})
	h.Factor = h.Ways[0].Factor
	// Twice over at the median, and still held where everything is at its worst.
	h.OK = h.Factor.Value >= h.Wanted && h.Factor.Low >= 1
	verdict := "Enough by this reckoning"
	switch {
	case h.Factor.Value < h.Wanted:
		verdict = fmt.Sprintf("Not enough: %.2g times are wanted", h.Wanted)
	case h.Factor.Low < 1:
		verdict = "Not enough at the cautious end"
	}
	h.Says = fmt.Sprintf("%s; the likeliest is that it %s: what holds is %s times what pulls (%s to %s)",
		verdict, h.Ways[0].Name, figure(h.Factor.Value), figure(h.Factor.Low), figure(h.Factor.High))
	return h
}

// figure is a number to two digits, and whole where it is large.
func figure(v float64) string {
	if v >= 99.5 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.2g", v)
}

// Facing warns where two bearings do not face each other: by more than a third of
// the smaller one the vise turns the part by itself. Empty where they do.
func Facing(b [2]fettle.Bearing) string {
	if b[0].AreaMM2 <= 0 || b[1].AreaMM2 <= 0 {
		return ""
	}
	along, up := math.Abs(b[0].Centre[0]-b[1].Centre[0]), math.Abs(b[0].Centre[2]-b[1].Centre[2])
	switch wide, high := min(b[0].WideMM, b[1].WideMM), min(b[0].HighMM, b[1].HighMM); {
	case along > wide/3:
		return fmt.Sprintf("the two bearings are %.2g mm out of line along the jaws, of %.2g mm that the shorter one has: the vise itself turns the part; move it, or turn it in the jaws", along, wide)
	case up > high/3:
		return fmt.Sprintf("the two bearings are %.2g mm out of line in height, of %.2g mm that the lower one has: the vise itself tips the part; grip it deeper", up, high)
	}
	return ""
}

func assumes(j fettle.Jaws) []string {
	return []string{
		fmt.Sprintf("the vise is closed with %.0f N (%.0f to %.0f) on %s", j.ClampN.Value, j.ClampN.Low, j.ClampN.High, j.Name),
		fmt.Sprintf("friction between part and jaws is %.2g (%.2g to %.2g), wet with coolant, chips and oil wiped off", j.Friction.Value, j.Friction.Low, j.Friction.High),
		"part and jaws are rigid, and each bearing is pressed evenly",
		"the cutter cuts as a sharp one with a force up to half as large again for wear; no chatter, no crash, no chip caught under the cutter",
		"the cut is at the worst place over the part and pulls in the worst direction; the stop and the part's weight do not help",
	}
}

// statics is a part on its way to coming loose.
type statics struct {
	fettle.Cut
	plane, lift     fettle.Estimate
	clamp, friction fettle.Estimate
	bearing         [2]fettle.Bearing
	part            geom.Box
}

func (s *statics) ways() []fettle.HoldingWay {
	grip := s.clamp.Times(s.friction).Scale(2)
	pulled := together(s.plane, s.lift, 1, 1)
	out := []fettle.HoldingWay{
		weigh("slides along the jaws", "N", s.plane, grip, "the stop is not counted"),
		weigh("lifts", "N", pulled, grip, "the cut draws along and up at once"),
		weigh("pushes the moving jaw open", "N", s.plane, s.clamp, "the cut pushes towards the moving jaw"),
	}
	turns, arm := s.turns()
	out = append(out, turns)
	if ratio := arm.pull * grip.Value / (pulled.Value * arm.hold); !math.IsInf(ratio, 0) && !math.IsNaN(ratio) {
		left := grip.Scale(1 / math.Hypot(1, ratio))
		out = append(out, weigh("slides and turns together", "N", pulled, left, "one force does both, and friction is shared between them"))
	}
	if w, ok := s.levers("tips over the jaws' edge", s.tipping()); ok {
		out = append(out, w)
	}
	if w, ok := s.levers("swings about the vertical", s.swinging()); ok {
		out = append(out, w)
	}
	return out
}

// weigh sets what pulls against what holds.
func weigh(name, unit string, pulls, holds fettle.Estimate, says string) fettle.HoldingWay {
	holds.Basis, pulls.Basis = "clamping force and friction as given for the pair", kienzleBasis
	return fettle.HoldingWay{Name: name, Unit: unit, Pulls: pulls, Holds: holds, Factor: holds.Over(pulls).Because("rigid-body statics on Kienzle's force"), Says: says}
}

// together is √((k·a)² + (l·b)²) of two estimates that are wrong together.
func together(a, b fettle.Estimate, k, l float64) fettle.Estimate {
	return fettle.Estimate{
		Value: math.Hypot(k*a.Value, l*b.Value),
		Low:   math.Hypot(k*a.Low, l*b.Low),
		High:  math.Hypot(k*a.High, l*b.High),
		Basis: a.Basis,
	}
}

// moments are what pulls and holds at the medians, N·mm over N: pull is a moment, hold
// that at full friction.
type moments struct{ pull, hold float64 }

// turns is turning about the clamping axis.
func (s *statics) turns() (fettle.HoldingWay, moments) {
	f, m := s.bearing[0], s.bearing[1]
	x, z := (f.Centre[0]+m.Centre[0])/2, (f.Centre[2]+m.Centre[2])/2
	up := math.Abs(s.AboveMM - z)
	out := max(s.part.Max.X-x, x-s.part.Min.X, 0)
	pulls := s.plane.Scale(up).Plus(s.lift.Scale(out))
	reach := f.ReachMM + m.ReachMM
	holds := s.clamp.Times(s.friction).Scale(reach)
	w := weigh("turns about the clamping axis", "N·mm", pulls, holds,
		fmt.Sprintf("the cut is %.3g mm above the axis and up to %.3g mm beside it; friction has an arm of %.3g mm on each face", up, out, reach/2))
	return w, moments{pulls.Value, holds.Value}
}

// lever is the part on the edge of a bearing, with the clamp on the other side. Arms
// in mm: of the cut and the lift, and of the clamp without friction.
type lever struct {
	cut, lift, clamp float64
	// toMoving is set where the cut takes load off the jaw that holds.
	toMoving bool
	says     string
}

// faces is the distance between the bearings, the arm of friction.
func (s *statics) faces() float64 { return math.Abs(s.bearing[0].Centre[1] - s.bearing[1].Centre[1]) }

// tipping is over the upper edge of either bearing.
func (s *statics) tipping() []lever {
	f, m := s.bearing[0], s.bearing[1]
	top := func(b fettle.Bearing) float64 { return min(0, b.Centre[2]+b.HighMM/2) }
	far := func(b fettle.Bearing) float64 {
		return max(0, s.part.Max.Y-b.Centre[1], b.Centre[1]-s.part.Min.Y)
	}
	return []lever{
		{cut: s.AboveMM - top(f), lift: far(f), clamp: top(f) - m.Centre[2], says: "pushed to the fixed jaw"},
		{cut: s.AboveMM - f.Centre[2], lift: far(m), clamp: top(m) - f.Centre[2], toMoving: true, says: "pushed to the moving jaw"},
	}
}

// swinging is about either end of either bearing.
func (s *statics) swinging() []lever {
	f, m := s.bearing[0], s.bearing[1]
	var out []lever
	for _, end := range []float64{-1, 1} {
		far := s.part.Max.X
		if end < 0 {
			far = -s.part.Min.X
		}
		// Along the jaws towards that end.
		edge := func(b fettle.Bearing) float64 { return end*b.Centre[0] + b.WideMM/2 }
		where := "at the part's right end"
		if end < 0 {
			where = "at the part's left end"
		}
		out = append(out,
			lever{cut: far - edge(f), clamp: edge(f) - end*m.Centre[0], says: "pushed to the fixed jaw " + where},
			lever{cut: far - end*f.Centre[0], clamp: edge(m) - end*f.Centre[0], toMoving: true, says: "pushed to the moving jaw " + where})
	}
	return out
}

// levers is the worst of them; ok is false where none is pulled on.
func (s *statics) levers(name string, of []lever) (worst fettle.HoldingWay, ok bool) {
	faces := s.faces()
	for _, l := range of {
		arm := l.cut
		if l.toMoving {
			arm += s.friction.Value * faces
		}
		if arm <= 0 && l.lift <= 0 {
			continue
		}
		pulls := s.plane.Scale(max(0, arm)).Plus(s.lift.Scale(l.lift))
		if pulls.Value <= 0 {
			continue
		}
		rub := s.friction.Scale(faces)
		hold := fettle.Estimate{
			Value: max(0, l.clamp+rub.Value), Low: max(0, l.clamp+rub.Low), High: max(0, l.clamp+rub.High), Basis: rub.Basis,
		}
		w := weigh(name, "N·mm", pulls, s.clamp.Times(hold), l.says)
		if !ok || w.Factor.Value < worst.Factor.Value {
			worst, ok = w, true
		}
	}
	return worst, ok
}
