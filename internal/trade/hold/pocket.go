package hold

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/shape/bvh"
	"fettle/internal/shape/cores"
	"fettle/internal/shape/geom"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/region"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Input is a part and the jaws that it may be held in.
type Input struct {
	Mesh   *mesh.Mesh // closed, mm
	File   string
	SHA256 string
	Name   string // of the pocket; empty: made from the file's
	// Pairs are the pairs that may be used. Drawn is the pair that the pocket was
	// drawn for before, if any: another one is warned about.
	Pairs []fettle.Jaws
	Drawn string
	// Cutters are those on the shelf; Cutter cuts the pocket, empty: chosen.
	Cutters []fettle.Cutter
	Cutter  string
	Down    [3]float64 // direction of the model that looks to the vise's bed
	// TurnDeg, GripMM, GapMM and ShiftMM are chosen where they are nil or 0.
	TurnDeg *float64
	GripMM  float64
	GapMM   float64
	ShiftMM *float64
	// Mounted is how the jaws are to stand; the zero value leaves it open.
	Mounted Mounting
	// ClearanceMM all round; 0: 0.03.
	ClearanceMM float64
	Material    fettle.Material
	// Cuts are those that the part must be held against; the worst counts. None: no
	// check.
	Cuts []fettle.Cut
}

// Made is a pocket with its solids.
type Made struct {
	Doc fettle.JawPocket
	// Pair is the one that it is to be cut in, Part the part as it lies in it, and
	// Jaws what the fixed and the moving jaw are then, without their mounting holes,
	// all in the vise's frame.
	Pair fettle.Jaws
	Part *mesh.Mesh
	Jaws [2]*mesh.Mesh
	// Cuts are what the shelf should remember once it has been cut.
	Cuts []fettle.JawCut
}

// clearanceMM is the customary room between a part and its pocket: a starting guess
// for parts whose sides are within ±0.02 mm.
const clearanceMM = 0.03

// Make designs a pocket. It fails with Invalid where the part is not closed, cannot
// be held as asked, or fits none of the pairs at all; a place that is only poor is
// given with its warnings.
func Make(ctx context.Context, in Input) (*Made, error) {
	j, err := begin(ctx, in)
	if err != nil {
		return nil, err
	}
	if err := j.sink(); err != nil {
		return nil, err
	}
	if err := j.place(); err != nil {
		return nil, err
	}
	return j.finish()
}

// job is a pocket on its way.
type job struct {
	Input
	ctx    context.Context
	pose   fettle.PocketPose // shift and pair not yet
	part   *mesh.Mesh        // laid, at no shift
	tree   *bvh.Tree
	grip   Grip
	cutter fettle.Cutter
	groove fettle.Cutter // of the relief for the burr; none where Name is empty

	cuts    []sunk
	reliefs []fettle.PocketRelief
	stepped bool
	pair    fettle.Jaws
	tried   []fettle.JawTried
	says    []string // warnings
}

func begin(ctx context.Context, in Input) (*job, error) {
	j := &job{Input: in, ctx: ctx}
	if len(in.Pairs) == 0 {
		return nil, fettle.Errorf(fettle.NotFound, "there are no soft jaws on the shelf to cut; enter a pair")
	}
	if !mesh.NewTopology(in.Mesh).Closed() {
		return nil, fettle.Errorf(fettle.Invalid, "%s is not closed, so it cannot be told what a pocket must leave room for; mend it where it was drawn and export it again", in.File)
	}
	if r3.Norm(geom.Vec(in.Down)) == 0 {
		return nil, fettle.Errorf(fettle.Invalid, "no side of %s is named to look down; give --down, for example --down 0,0,1", in.File)
	}
	if j.ClearanceMM == 0 {
		j.ClearanceMM = clearanceMM
	}
	for _, q := range []struct {
		name  string
		v, hi float64
	}{{"clearance", j.ClearanceMM, 2}, {"grip", j.GripMM, 200}, {"gap", j.GapMM, 200}} {
		if !(q.v >= 0 && q.v <= q.hi) {
			return nil, fettle.Errorf(fettle.Invalid, "a %s of %g mm cannot be cut; give one up to %g mm", q.name, q.v, q.hi)
		}
	}
	for _, q := range []struct {
		name string
		v    *float64
		most float64
	}{{"shift", j.ShiftMM, 2000}, {"turn", j.TurnDeg, 360}} {
		if q.v != nil && !(math.Abs(*q.v) <= q.most) {
			return nil, fettle.Errorf(fettle.Invalid, "a %s of %g is none; give a number within ±%g, or leave it out", q.name, *q.v, q.most)
		}
	}
	if j.Name == "" {
		j.Name = strings.TrimSuffix(in.File, fileEnd(in.File))
	}
	j.pose = fettle.PocketPose{Down: geom.Array(r3.Unit(geom.Vec(in.Down))), Fixed: fettle.AsNew, Moving: fettle.AsNew}
	if err := j.mountable(); err != nil {
		return nil, err
	}
	if err := j.chooseTurnAndGrip(); err != nil {
		return nil, err
	}
	j.part = Laid(in.Mesh, j.pose)
	j.tree = bvh.Build(j.part)
	j.grip = entering(Sample(j.part, j.spacing()), j.tree)
	return j, nil
}

func fileEnd(name string) string {
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		return name[i:]
	}
	return ""
}

// sink finds what must be cut away, level by level, at no shift.
func (j *job) sink() error {
	o := &outline{ctx: j.ctx, mesh: j.part, tree: j.tree, foot: -j.pose.GripMM, known: map[float64]region.Region{}}
	levels, err := o.levels()
	if err != nil {
		return err
	}
	room := make([]region.Region, len(levels))
	if err := cores.Each(j.ctx, len(levels), func(i int) { room[i] = roomFor(levels[i].shadow, j.ClearanceMM+spareMM) }); err != nil {
		return err
	}
	if err := j.chooseCutter(levels, room); err != nil {
		return err
	}
	radius := j.cutter.DiameterMM / 2
	j.stepped = !slices.ContainsFunc(levels, func(l level) bool { return l.stair })
	free := 0.0
	if !j.stepped && o.seat() {
		free = stairMM
		j.says = append(j.says, fmt.Sprintf("the curved face hangs free by %.2g mm and the part sits on the level land beside it: keep chips off that land", free))
	} else if !j.stepped {
		j.says = append(j.says, fmt.Sprintf("the side that lies down is curved and has no level land to sit on: its floor is cut in stairs of %.2g mm, and the part sits on the lowest", stairMM))
	}
	type cleared struct {
		region  region.Region
		reliefs []fettle.PocketRelief
		ok      bool
	}
	cuts := make([]cleared, len(levels))
	err = cores.Each(j.ctx, len(levels), func(i int) {
		c := &cuts[i]
		c.region, c.reliefs, c.ok = cuttable(room[i], radius)
	})
	if err != nil {
		return err
	}
	var open region.Region
	deepest := 0.0
	for i, l := range levels {
		low := l.low - j.ClearanceMM - spareMM/4
		if l.stair {
			low -= free
		}
		cut, reliefs, ok := cuts[i].region, cuts[i].reliefs, cuts[i].ok
		if !ok && l.slight() && i+1 < len(levels) {
			deepest = min(deepest, low)
			continue
		}
		if !ok {
			return fettle.Errorf(fettle.Invalid, "%s, %.3g mm in diameter, does not get into the pocket %.3g mm below the jaws' top; choose a smaller cutter with --cutter", j.cutter.Name, j.cutter.DiameterMM, -l.low)
		}
		low, deepest = min(low, deepest), 0
		floor := cut.Minus(open)
		open = open.Union(cut)
		j.cuts = append(j.cuts, sunk{low, cut, false})
		if l.stair {
			continue // no edge of the part sits on it
		}
		j.addReliefs(reliefs)
		if ring, with := groove(floor, open, j.grooveCutters()); !ring.Empty() {
			j.cuts = append(j.cuts, sunk{low - grooveMM, ring, true})
			j.groove = with
		}
	}
	// Walls of openings are no loss where the metal that would stand in them is cut
	// away.
	gone := cutAt(takenBy(j.cuts))
	j.grip.Points = slices.DeleteFunc(j.grip.Points, func(p GripPoint) bool {
		return gone(r3.Add(p.At, r3.Scale(j.ClearanceMM+justOutsideMM, p.Normal))) && faced(p, j.tree)
	})
	if j.groove.Name == "" {
		j.says = append(j.says, "there is no room for a relief groove round the rim: break the burr off the part's lower edge before it is laid in, and blow the pocket out")
	}
	return nil
}

func (j *job) addReliefs(more []fettle.PocketRelief) {
	for _, r := range more {
		if !slices.ContainsFunc(j.reliefs, func(q fettle.PocketRelief) bool { return math.Hypot(q.At[0]-r.At[0], q.At[1]-r.At[1]) < 0.2 }) {
			j.reliefs = append(j.reliefs, r)
		}
	}
}

// depth is the pocket's, grooves apart.
func (j *job) depth() float64 {
	deep := j.pose.GripMM + j.ClearanceMM
	for _, c := range j.cuts {
		if !c.relief {
			deep = max(deep, -c.low)
		}
	}
	return deep
}

// edges are a region's outlines for a document.
func edges(r region.Region, shift r2.Vec) [][]fettle.PlanEdge {
	at := func(p r2.Vec) [2]float64 { return [2]float64{round6(p.X + shift.X), round6(p.Y + shift.Y)} }
	var out [][]fettle.PlanEdge
	for _, loop := range r.Traced(tracedMM) {
		var l []fettle.PlanEdge
		for _, e := range loop {
			p := fettle.PlanEdge{From: at(e.From), To: at(e.To)}
			if e.Radius > 0 {
				p.Centre, p.RadiusMM, p.Left = at(e.Centre), round6(e.Radius), e.Left
			}
			l = append(l, p)
		}
		out = append(out, l)
	}
	return out
}

func round6(v float64) float64 {
	if v = math.Round(v*1e6) / 1e6; v == 0 {
		return 0
	}
	return v
}
