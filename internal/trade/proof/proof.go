// Package proof says what a program will do and leave before it runs: whether
// its offset, tools and speeds are those of the set-up, where it moves against
// stock, jaws and mill, how it meets the real blank, how long it takes, and the
// surface it leaves on the part. [Of] is the way in.
//
// Everything is worked out from the program's own moves, in time that grows with
// their number. What is wrong, what should be looked at and what is good to know
// comes as findings: sentences with the line of the program, worst first. A
// proof is advice; it knows nothing of runout, deflection, wear and clamps that
// were not told.
package proof

import (
	"context"
	"math"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/shape/mesh"
	"fettle/internal/shape/relief"
	"fettle/internal/trade/survey"
)

// Input is a program and what is known of the place it will run in. Only the
// program is needed.
type Input struct {
	Program  *nc.Program
	Part     *Part // nil: all but the surface
	Setup    fettle.Setup
	Shelf    *fettle.Shelf    // cutters, jaws; nil: none
	Mill     fettle.Machine   // zero: no limits known
	Material *fettle.Material // nil: no cutting data
	// CellMM is the side of the surface's cells; 0: 0.01 where that makes at most
	// 30 million cells, else as fine as that allows.
	CellMM   float64
	Display  fettle.System
	Progress func(doing string, done, total int)
}

// Part is a model read and surveyed.
type Part struct {
	Mesh   *mesh.Mesh
	Survey *fettle.Survey
	Detail *survey.Detail
}

// Detail is the surface itself, for pictures and height maps. Maps are in
// program coordinates; all are nil where there was no part or nothing to see.
type Detail struct {
	Swept *relief.Map // what the program leaves
	Part  *relief.Map // what was drawn; NaN outside the part
	// Above is the height left over the part, square to it, on the judged zones;
	// NaN elsewhere and where nothing was cut.
	Above *relief.Map
	// Owner is the index into the program's moves of the one that made each cell,
	// -1 for none.
	Owner []int32
}

// advice stands once with every proof.
const advice = "A proof is advice: it sees the program, not the machine. Prove it out above the part, one block at a time with a hand on the feed hold, and follow the machine's manual."

// job is one proof under way.
type job struct {
	Input
	ctx   context.Context
	sys   fettle.System
	out   *fettle.Proof
	found []fettle.Finding

	place   place
	tools   map[int]*tool // by number
	regions []*region     // as they are told
	order   []*tool       // as they are first used

	mine   []bool  // of each mode: its offset is the one that is proved
	toolOf []*tool // of each mode
	trust  bool    // sizes and place are believable, so heights mean something
}

// Of proves a program. Findings come with the proof; an error is the context's,
// or says what in the set-up cannot be.
func Of(ctx context.Context, in Input) (fettle.Proof, *Detail, error) {
	if err := in.Setup.Validate(); err != nil {
		return fettle.Proof{}, nil, err
	}
	if in.CellMM < 0 || math.IsNaN(in.CellMM) || in.CellMM > 10 {
		return fettle.Proof{}, nil, fettle.Errorf(fettle.Invalid, "a cell of %g mm makes no picture; give 1 to 1000 µm", in.CellMM)
	}
	if in.Shelf == nil {
		in.Shelf = &fettle.Shelf{}
	}
	if in.Display == "" {
		in.Display = fettle.Metric
	}
	p := in.Program
	j := &job{Input: in, ctx: ctx, sys: in.Display, trust: true, tools: map[int]*tool{}, out: &fettle.Proof{
		Number: p.Number, Title: p.Title, Units: unitsOf(p), Lines: p.Lines, Arcs: len(p.Arcs),
		Offsets: []string{}, Tools: []fettle.ProofTool{}, SpindleRPM: []float64{}, Feeds: []float64{},
		NotUnderstood: []fettle.NotUnderstood{}, Regions: []fettle.ProofRegion{}, Zones: []string{}, Advice: advice,
	}}
	if err := j.readSetup(); err != nil {
		return fettle.Proof{}, nil, err
	}
	j.notes()
	j.chooseOffset()
	for _, step := range []struct {
		doing string
		do    func() error
	}{
		{"following the program", j.walk},
		{"comparing it with the set-up", j.compare},
		{"timing it", j.time},
		{"meeting the blank", j.meetBlank},
	} {
		j.say(step.doing, 0, 1)
		if err := step.do(); err != nil {
			return fettle.Proof{}, nil, err
		}
		if err := ctx.Err(); err != nil {
			return fettle.Proof{}, nil, err
		}
	}
	detail, err := j.surface()
	if err != nil {
		return fettle.Proof{}, nil, err
	}
	j.finish()
	return *j.out, detail, nil
}

func (j *job) say(doing string, done, total int) {
	if j.Progress != nil {
		j.Progress(doing, done, total)
	}
}

func unitsOf(p *nc.Program) string {
	switch {
	case p.Mixed:
		return "mixed"
	case p.Inch:
		return "inch"
	}
	return "mm"
}

// notes turns what the reader did not understand into findings.
func (j *job) notes() {
	for _, n := range j.Program.Notes {
		if n.Weight != nc.Plain {
			j.out.NotUnderstood = append(j.out.NotUnderstood, fettle.NotUnderstood{Line: n.Line, Text: n.Text, Consequence: n.Says})
		}
	}
	const most = 5 // of a weight; the rest stands in the list
	var count [3]int
	for _, n := range j.Program.Notes {
		w := min(int(n.Weight), 2)
		if count[w]++; count[w] > most {
			continue
		}
		switch n.Weight {
		case nc.Broken:
			j.wrong(n.Line, "program", "rewrite the block, or run the program only as far as it is proved", "line %d, %q: %s", n.Line, n.Text, n.Says)
		case nc.Unknown:
			j.check(n.Line, "program", "look the word up in the control's manual and judge what it does", "line %d, %q is not understood: %s", n.Line, n.Text, n.Says)
		default:
			j.note(n.Line, "program", "", "line %d: %s", n.Line, n.Says)
		}
	}
	for w, name := range []string{"cannot be followed", "are not understood", "are worth knowing"} {
		if more := count[w] - most; more > 0 && w < 2 {
			sev := []fettle.Severity{fettle.Wrong, fettle.Check}[w]
			j.add(sev, 0, "program", "read them in the list of what is not understood", "%d more places in the program %s", more, name)
		}
	}
}

// box grows around points.
type box struct {
	lo, hi [3]float64
	any    bool
}

func (b *box) add(p [3]float64) {
	if !b.any {
		b.lo, b.hi, b.any = p, p, true
		return
	}
	for k, v := range p {
		if v < b.lo[k] {
			b.lo[k] = v
		} else if v > b.hi[k] {
			b.hi[k] = v
		}
	}
}

func (b *box) join(c box) {
	if c.any {
		b.add(c.lo)
		b.add(c.hi)
	}
}

func (b box) size(k int) float64 { return b.hi[k] - b.lo[k] }
func (b box) mid(k int) float64  { return (b.hi[k] + b.lo[k]) / 2 }

// grown is the box with d added on every side in plan.
func (b box) grown(d float64) box {
	for k := range 2 {
		b.lo[k] -= d
		b.hi[k] += d
	}
	return b
}

// meets reports whether two boxes share more than a face in plan.
func (b box) meets(c box) bool {
	return b.any && c.any && b.lo[0] < c.hi[0] && c.lo[0] < b.hi[0] && b.lo[1] < c.hi[1] && c.lo[1] < b.hi[1]
}

func (b box) span() *fettle.Span {
	if !b.any {
		return nil
	}
	return &fettle.Span{X: [2]float64{b.lo[0], b.hi[0]}, Y: [2]float64{b.lo[1], b.hi[1]}, Z: [2]float64{b.lo[2], b.hi[2]}}
}

// The small vector arithmetic of paths.
func sub(a, b [3]float64) [3]float64 { return [3]float64{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func dot(a, b [3]float64) float64    { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func norm(a [3]float64) float64      { return math.Sqrt(dot(a, a)) }
func along(a, b [3]float64, t float64) [3]float64 {
	return [3]float64{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1]), a[2] + t*(b[2]-a[2])}
}

// turnOf is the angle between two directions in radians, good for small ones.
func turnOf(a, b [3]float64) float64 {
	c := [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
	return math.Atan2(norm(c), dot(a, b))
}
