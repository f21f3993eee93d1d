package hold

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// place finds where the pocket goes.
func (j *job) place() error {
	layers := takenBy(j.cuts)
	tried, err := Place(j.ctx, PlaceInput{
		Pairs: j.Pairs, Pose: j.pose, Grip: j.grip, Pocket: [2][]region.Layer{layers, layers},
		Relieved: cutAt(layers), ClearanceMM: j.ClearanceMM, Mounted: j.Mounted,
	})
	if err != nil {
		return err
	}
	j.tried = tried
	i := slices.IndexFunc(tried, func(t fettle.JawTried) bool { return j.Mounted.is(t.Pose) })
	if i < 0 || tried[i].SupportMM2 == 0 {
		if i >= 0 && j.Mounted != (Mounting{}) {
			return fettle.Errorf(fettle.Invalid, "%s finds nothing to bear on in %s mounted like that; leave open how the jaws are mounted, or grip deeper", j.File, tried[i].Pair)
		}
		return fettle.Errorf(fettle.Invalid, "%s finds nothing to bear on in any pair of jaws on the shelf; grip deeper with --grip, narrow the gap with --gap, or choose another side", j.File)
	}
	j.pair = j.pairNamed(tried[i].Pair)
	j.pose = tried[i].Pose
	if j.ShiftMM == nil {
		return nil
	}
	j.pose.ShiftMM = *j.ShiftMM
	// The part was laid with the middle of its box in the jaws' middle.
	if most := (j.part.Box().Size().X + j.pair.WidthMM) / 2; math.Abs(j.pose.ShiftMM) >= most {
		return fettle.Errorf(fettle.Invalid, "a shift of %.4g mm lays the part past the end of %s, which is %.4g mm long; give one within ±%.4g mm", j.pose.ShiftMM, j.pair.Name, j.pair.WidthMM, math.Floor(most*10-1)/10)
	}
	return nil
}

func (j *job) pairNamed(name string) fettle.Jaws {
	for _, p := range j.Pairs {
		if p.Name == name {
			return p
		}
	}
	panic("hold: a place in jaws that were not given")
}

// cutAt reports whether layers take the metal at a point.
func cutAt(layers []region.Layer) func(r3.Vec) bool {
	plans := make([]rows, len(layers))
	for i, l := range layers {
		plans[i] = newRows(l.Region)
	}
	return func(p r3.Vec) bool {
		for i, l := range layers {
			if l.Low <= p.Z && p.Z < l.High && plans[i].holds(r2.Vec{X: p.X, Y: p.Y}) {
				return true
			}
		}
		return false
	}
}

// finish draws up the pocket where it was placed.
func (j *job) finish() (*Made, error) {
	shift := r2.Vec{X: j.pose.ShiftMM}
	layers := takenBy(j.cuts)
	fixed, moving := Mount(j.pair, j.pose)
	metal := [2]*Metal{fixed, moving}
	m := &Made{Pair: j.pair, Part: Laid(j.Mesh, j.pose)}

	d := &m.Doc
	*d = fettle.JawPocket{
		ID: j.id(), Name: j.Name, Part: j.File, SHA256: j.SHA256, Pair: j.pair.Name, Pose: j.pose,
		ClearanceMM: j.ClearanceMM, Cutter: j.cutter.Name, CutterMM: j.cutter.DiameterMM, Stepped: j.stepped,
		DepthMM: round6(j.depth()), Levels: j.levelsAt(layers, shift), Reliefs: j.reliefsAt(metal, shift), Tried: j.tried,
		Room: Rooms(fixed, moving, [2][]region.Layer{layers, layers}, j.pose.ShiftMM), Warnings: j.says, Cautions: cautions(),
	}
	if j.groove.Name != j.cutter.Name {
		d.GrooveCutter = j.groove.Name
	}
	d.Bearings = j.grip.Bearings(fixed, moving, j.pose, cutAt(layers), j.ClearanceMM)
	d.Stop = j.stop(metal, cutAt(layers))
	for i, s := range Stands(j.pose) {
		var mine []region.Layer
		for _, l := range layers {
			mine = append(mine, region.Layer{Low: l.Low, High: l.High, Region: l.Region.Moved(0, shift)})
		}
		plan := s.blank(j.pair)
		gone := within(append(metal[i].Slabs(), mine...), plan)
		m.Jaws[i] = carved(plan, -j.pair.HeightMM, gone)
		was := plan.Area() * j.pair.HeightMM
		if old := within(metal[i].Slabs(), plan); len(old) > 0 {
			was = mesh.Measure(carved(plan, -j.pair.HeightMM, old), nil).Volume
		}
		d.TakenMM3 += was - mesh.Measure(m.Jaws[i], nil).Volume
		m.Cuts = append(m.Cuts, fettle.JawCut{
			Name: d.Name, Pocket: d.ID, Part: d.Part, SHA256: d.SHA256, Jaw: s.Jaw, Slabs: s.ToOwn(j.pair, mine), Pose: j.pose, ClearanceMM: j.ClearanceMM,
		})
	}
	j.measure(m)
	j.hold(m)
	j.warn(m)
	return m, nil
}

// id tells this pocket from any other.
func (j *job) id() string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %s %v %v", j.SHA256, j.Name, j.pair.Name, j.pose, j.ClearanceMM))
	return hex.EncodeToString(sum[:5])
}

// levelsAt are the levels from the top down. What is open at a depth is everything
// that reaches at least so deep.
func (j *job) levelsAt(layers []region.Layer, shift r2.Vec) []fettle.PocketLevel {
	var out []fettle.PocketLevel
	for i := len(layers) - 1; i >= 0; i-- {
		l := layers[i]
		relief := true
		for _, c := range j.cuts {
			if c.low == l.Low && !c.relief {
				relief = false
			}
		}
		says := "room for the part"
		if relief {
			says = "relief for the burr, along the wall"
		}
		out = append(out, fettle.PocketLevel{
			DepthMM: round6(-l.Low), Relief: relief, Says: says, AreaMM2: l.Region.Area(), Edges: edges(l.Region, shift),
		})
	}
	return out
}

// reliefsAt are the corner reliefs that cut into a jaw: those over the gap cut air.
func (j *job) reliefsAt(metal [2]*Metal, shift r2.Vec) []fettle.PocketRelief {
	out := []fettle.PocketRelief{}
	for _, r := range j.reliefs {
		if math.Abs(r.At[1])+r.RadiusMM <= j.pose.GapMM/2 {
			continue
		}
		r.At = [2]float64{round6(r.At[0] + shift.X), round6(r.At[1] + shift.Y)}
		r.InsideDeg = math.Round(r.InsideDeg*10) / 10
		out = append(out, r)
	}
	return out
}

// stop is the face across the jaws with most metal behind it, which settles the part
// along them. A face in the moving jaw counts a quarter: it moves as the vise closes.
func (j *job) stop(metal [2]*Metal, relieved func(r3.Vec) bool) fettle.PocketStop {
	shift := r3.Vec{X: j.pose.ShiftMM}
	type face struct {
		area  float64
		at    r3.Vec
		worth float64
	}
	var faces [2][2]face // by side, and to the right or to the left
	for _, p := range j.grip.Points {
		if math.Abs(p.Normal.X) < 0.9 {
			continue
		}
		near := r3.Add(p.At, r3.Scale(j.ClearanceMM+justOutsideMM, p.Normal))
		side, to, worth := FixedSide, 0, 1.0
		if near.Y < 0 {
			side, worth = MovingSide, 0.25
		}
		if p.Normal.X < 0 {
			to = 1
		}
		behind := r3.Add(near, r3.Scale(backingMM, p.Normal))
		if relieved(near) || !metal[side].Holds(r3.Add(near, shift)) || !metal[side].Holds(r3.Add(behind, shift)) {
			continue
		}
		f := &faces[side][to]
		f.area += p.Area
		f.worth += p.Area * worth
		f.at = r3.Add(f.at, r3.Scale(p.Area, p.At))
	}
	side, to := FixedSide, 0
	for s := range faces {
		for t := range faces[s] {
			if faces[s][t].worth > faces[side][to].worth {
				side, to = Side(s), t
			}
		}
	}
	best := faces[side][to]
	if best.area < 0.5 {
		return fettle.PocketStop{Says: "no face across the jaws settles the part along them: set a stop against its end before the vise is closed"}
	}
	c := r3.Add(r3.Scale(1/best.area, best.at), shift)
	return fettle.PocketStop{
		Jaw: metal[side].Jaw, At: [3]float64{round6(c.X), round6(c.Y), round6(c.Z)},
		Towards: [2]float64{[2]float64{1, -1}[to], 0}, AreaMM2: best.area,
		Says: fmt.Sprintf("push the part to the %s against the pocket's wall in the %s jaw, then close the vise",
			[2]string{"right", "left"}[to], [2]string{"fixed", "moving"}[side]),
	}
}

// measure takes the room between the solids.
func (j *job) measure(m *Made) {
	least, at := measureApart(m.Part, bvh.Build(m.Part), m.Jaws)
	m.Doc.Fit = fettle.PocketFit{WantedMM: j.ClearanceMM, LeastMM: round6(least)}
	m.Doc.LoadsClear = least > 0
	m.Doc.Loads = fmt.Sprintf("goes in from above and clears the jaws by %.3g mm at least", least)
	if least <= 0 {
		m.Doc.Loads = fmt.Sprintf("does not go in: it and the jaws share a place %.3g mm deep, %.1f mm along the jaws from their middle and %.1f mm across", -least, at.X, at.Y)
	}
}

// hold checks the worst of the cuts.
func (j *job) hold(m *Made) {
	for _, c := range j.Cuts {
		h := Check(Held{Cut: c, Material: j.Material, Jaws: j.pair, Bearings: m.Doc.Bearings, Pose: j.pose, Part: m.Part.Box()})
		if m.Doc.Holding == nil || h.Factor.Low < m.Doc.Holding.Factor.Low {
			m.Doc.Holding = &h
		}
	}
}

// warn adds what a person should know before cutting.
func (j *job) warn(m *Made) {
	d := &m.Doc
	say := func(format string, args ...any) { d.Warnings = append(d.Warnings, fmt.Sprintf(format, args...)) }
	if j.Drawn != "" && j.Drawn != d.Pair {
		say("this pocket was drawn for the pair %s, and %s is chosen: what is cut in one is not in the other, so check the offset and the depth before the first chip", j.Drawn, d.Pair)
	}
	for _, r := range d.Room {
		if !r.OK {
			say("only %.3g mm of metal is left to %s, where %.3g mm is wanted", r.MM, r.To, r.WantsMM)
		}
	}
	if facing := Facing(d.Bearings); facing != "" {
		say("%s", facing)
	}
	// A wall presses marks into a face long before it yields; a fifth of the yield
	// point, itself about a third of the hardness, is a starting guess.
	if j.Material.HardnessB > 0 {
		most := j.Material.HardnessB * 9.81 / 3 / 5
		for _, b := range d.Bearings {
			if b.PressureMPa > most {
				say("closing the vise as usual presses with %.0f MPa where %.0f MPa may already mark %s: close it more lightly, grip deeper, or put paper between", b.PressureMPa, most, j.Material.Title)
				break
			}
		}
	}
	if d.Warnings == nil {
		d.Warnings = []string{}
	}
}

// cautions stand beside every pocket.
func cautions() []fettle.Caution {
	return []fettle.Caution{
		{
			ID:    "work holding",
			Says:  "A part that comes loose under the cutter is thrown. A reckoned holding force is advice, never permission: try the grip by hand, begin with a light cut, keep the guard shut and stand aside.",
			Defer: "the mill's and the vise's manuals", Basis: "common practice", Steps: []string{},
		},
		{
			ID:    "jaw edges",
			Says:  "Fresh-cut jaws have sharp edges and hot chips lie in them: break the edges, and clear chips with a brush, not with the hand or with air towards anyone.",
			Defer: "the mill's manual", Basis: "common practice", Steps: []string{},
		},
	}
}
