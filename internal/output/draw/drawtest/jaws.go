// Package drawtest holds answers of the trade as the tests of all output want
// them: a pocket in soft jaws that were cut before.
package drawtest

import (
	"math"

	"fettle"
)

// Jaws are a pair in whose ends a round stem was held before, the moving one now
// mounted end for end.
func Jaws() fettle.Jaws {
	hole := fettle.JawHole{XMM: -30, ZMM: -16, DiameterMM: 8.5, HeadMM: 14, HeadDeepMM: 9, BothFaces: true}
	other := hole
	other.XMM = 30
	pair := fettle.Jaws{
		Name: "soft-100", Title: "Pair of soft jaws", Metal: "6061-T6", WidthMM: 100, HeightMM: 32, ThickMM: 22, OpenMM: 80,
		Holes:  []fettle.JawHole{hole, other},
		ClampN: fettle.Guess(8000, 4000, 14000, fettle.BasisGuess), Friction: fettle.Guess(0.15, 0.10, 0.22, fettle.BasisGuess), Basis: fettle.BasisGuess,
	}
	pose := fettle.PocketPose{Down: [3]float64{0, 0, -1}, GripMM: 8, GapMM: 6, Fixed: fettle.AsNew, Moving: fettle.AsNew, ShiftMM: -38}
	for _, jaw := range []int{fettle.FixedJaw, fettle.MovingJaw} {
		x := -38.0
		if jaw == fettle.MovingJaw {
			x = 38
		}
		// The half of a round stem of 20 mm whose middle lies in the gap.
		var half [][2]float64
		const r, n = 10.0, 24
		from := math.Asin(3 / r)
		for i := range n + 1 {
			s, c := math.Sincos(from + (math.Pi-2*from)*float64(i)/n)
			half = append(half, [2]float64{x + r*c, -3 + r*s})
		}
		pair.Cuts = append(pair.Cuts, fettle.JawCut{Name: "knob, stem", Pocket: "p1", Part: "knob.stl", Jaw: jaw, Date: "2026-02-11",
			Slabs: []fettle.JawSlab{{LowMM: -8, HighMM: 0, Loops: [][][2]float64{half}}}, Pose: pose})
	}
	return pair
}

// corner is the centre of a cutter that just clears a sharp corner.
func corner(x, y, r float64) [2]float64 {
	d := r / math.Sqrt2
	return [2]float64{x - math.Copysign(d, x), y - math.Copysign(d, y)}
}

// ring is a rectangle about (cx, 0), half as large as given, with its corners
// relieved by a cutter of radius r; 0 leaves them sharp.
func ring(cx, hx, hy, r float64) (edges []fettle.PlanEdge) {
	at := [4][2]float64{{-hx, -hy}, {hx, -hy}, {hx, hy}, {-hx, hy}}
	move := func(p [2]float64) [2]float64 { return [2]float64{p[0] + cx, p[1]} }
	for i, p := range at {
		q := at[(i+1)%4]
		dx, dy := q[0]-p[0], q[1]-p[1]
		l := math.Hypot(dx, dy)
		dx, dy = dx/l, dy/l
		cut := r * math.Sqrt2
		a, b := [2]float64{p[0] + cut*dx, p[1] + cut*dy}, [2]float64{q[0] - cut*dx, q[1] - cut*dy}
		edges = append(edges, fettle.PlanEdge{From: move(a), To: move(b)})
		if r > 0 {
			n := at[(i+2)%4]
			ex, ey := n[0]-q[0], n[1]-q[1]
			m := math.Hypot(ex, ey)
			edges = append(edges, fettle.PlanEdge{From: move(b), To: move([2]float64{q[0] + cut*ex/m, q[1] + cut*ey/m}),
				Centre: move(corner(q[0], q[1], r)), RadiusMM: r, Left: true})
		}
	}
	return edges
}

// disc is a circle of two arcs.
func disc(x, y, r float64) []fettle.PlanEdge {
	a, b, c := [2]float64{x + r, y}, [2]float64{x - r, y}, [2]float64{x, y}
	return []fettle.PlanEdge{{From: a, To: b, Centre: c, RadiusMM: r, Left: true}, {From: b, To: a, Centre: c, RadiusMM: r, Left: true}}
}

// Pocket is a pocket in these jaws for the back of a latch plate of 52 × 34 mm
// with sharp corners and a stud, gripped 4 mm deep: a seat, a groove for the burr
// under its rim, and room for the stud.
func Pocket() fettle.JawPocket {
	const cx, hx, hy, r = 8.0, 26.05, 17.05, 2.0
	burr := ring(cx, hx, hy, r)
	seat := ring(cx, hx-1.5, hy-1.5, 0)
	// The island runs clockwise.
	for i, j := 0, len(seat)-1; i < j; i, j = i+1, j-1 {
		seat[i], seat[j] = seat[j], seat[i]
	}
	for i := range seat {
		seat[i].From, seat[i].To = seat[i].To, seat[i].From
	}
	p := fettle.JawPocket{
		ID: "p2", Name: "latch plate, back", Part: "latch-plate.3mf", SHA256: "41d9a07c6be2f35518c04e7fa92b6d10e83c75b14fa06629d7e1b8530c94fa27", Pair: "soft-100",
		Pose:        fettle.PocketPose{Down: [3]float64{0, 0, 1}, TurnDeg: 90, GripMM: 4, GapMM: 10, Fixed: fettle.AsNew, Moving: fettle.EndForEnd, ShiftMM: cx},
		ClearanceMM: 0.05, Cutter: "flat-4", CutterMM: 4, Stepped: true, DepthMM: 8,
		Levels: []fettle.PocketLevel{
			{DepthMM: 4, Says: "part", AreaMM2: 1780, Edges: [][]fettle.PlanEdge{ring(cx, hx, hy, r)}},
			{DepthMM: 4.6, Says: "relief for the burr", AreaMM2: 303, Edges: [][]fettle.PlanEdge{burr, seat, disc(cx+11, 9, 4.05)}},
			{DepthMM: 8, Says: "stud", AreaMM2: 51.5, Edges: [][]fettle.PlanEdge{disc(cx+11, 9, 4.05)}},
		},
		Stop: fettle.PocketStop{Jaw: fettle.MovingJaw, At: [3]float64{cx - hx, -11, -2}, Towards: [2]float64{-1, 0}, AreaMM2: 48, Says: "its left end stands against the pocket's wall in the moving jaw"},
		Bearings: [2]fettle.Bearing{
			{Jaw: fettle.FixedJaw, AreaMM2: 184, LostMM2: 22, Centre: [3]float64{cx, 17, -2}, WideMM: 46, HighMM: 4, ReachMM: 11.6, PressureMPa: 43},
			{Jaw: fettle.MovingJaw, AreaMM2: 171, LostMM2: 35, Centre: [3]float64{cx - 1.2, -17, -2}, WideMM: 46, HighMM: 4, ReachMM: 11.4, PressureMPa: 47},
		},
		Room: []fettle.JawRoom{
			{To: "the end of the jaw", Jaw: fettle.FixedJaw, MM: 15.95, WantsMM: 3, OK: true},
			{To: "mounting hole 2", Jaw: fettle.FixedJaw, MM: 4.4, WantsMM: 2, OK: true},
			{To: `pocket "knob, stem"`, Jaw: fettle.MovingJaw, MM: 4.25, WantsMM: 2, OK: true},
		},
		Holding:    holding(),
		LoadsClear: true, Loads: "goes in from above",
		Warnings: []string{"the clamping force is a starting guess: measure your vise once"},
		Cautions: []fettle.Caution{{ID: "throw", Says: "a part that comes loose is thrown, and the cutter with it: guards shut, stand aside of the cut, and begin with 0.25 mm", Defer: "the mill's manual and the local rule for machine guarding", Basis: fettle.BasisPractice}},
		TakenMM3: 5600,
	}
	for _, x := range []float64{-hx, hx} {
		for _, y := range []float64{-hy, hy} {
			c := corner(x, y, r)
			p.Reliefs = append(p.Reliefs, fettle.PocketRelief{At: [2]float64{cx + c[0], c[1]}, RadiusMM: r, InsideDeg: 90})
		}
	}
	other := p.Pose
	other.Moving, other.ShiftMM = fettle.UpsideDownEnd, 0
	p.Tried = []fettle.JawTried{
		{Pair: "soft-100", Pose: p.Pose, SupportMM2: 171, OK: true, Says: "the best place"},
		{Pair: "soft-100", Pose: other, SupportMM2: 164, OK: true, Says: "nearer to a mounting hole"},
		{Pair: "soft-150", Pose: fettle.PocketPose{Down: p.Pose.Down, GripMM: 4, GapMM: 10, Fixed: fettle.AsNew, Moving: fettle.AsNew}, SupportMM2: 0, Says: "it cuts 1.40 mm into mounting hole 1"},
	}
	return p
}

func holding() *fettle.Holding {
	g := func(v, lo, hi float64) fettle.Estimate {
		return fettle.Guess(v, lo, hi, "Kienzle's law; clamping and friction are starting guesses")
	}
	return &fettle.Holding{
		Cut:    fettle.Cut{Cutter: "flat-6", DiameterMM: 6, Flutes: 3, HelixDeg: 35, DepthMM: 1, WideMM: 4, FeedMM: 0.03, AboveMM: 3.5, Says: "roughing the show face"},
		ForceN: g(170, 120, 240), LiftN: g(55, 30, 95),
		Ways: []fettle.HoldingWay{
			{Name: "tips over the jaws' edge", Pulls: g(1100, 780, 1600), Holds: g(5200, 2300, 10800), Unit: "N·mm", Factor: g(4.7, 1.9, 11), Says: "about the moving jaw's edge"},
			{Name: "turns about the clamping axis", Pulls: g(3400, 2400, 4800), Holds: g(27600, 12000, 59000), Unit: "N·mm", Factor: g(8.1, 3.2, 20), Says: "friction on both sides, arm 11.5 mm"},
			{Name: "slides along the jaws", Pulls: g(170, 120, 240), Holds: g(2400, 1050, 5100), Unit: "N", Factor: g(14, 5.6, 35), Says: "the stop is not counted"},
		},
		Factor: g(4.7, 1.9, 11), Wanted: 2.5, OK: true,
		Assumes: []string{"the vise is closed as hard as the shelf says", "the jaws' walls and the part are clean and dry when it is closed", "the cutter is sharp"},
		Says:    "it should hold, with the low end of the interval below what is wanted",
	}
}
