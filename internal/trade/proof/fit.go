package proof

import (
	"fmt"
	"math"

	"fettle"
	"fettle/internal/format/nc"
)

// compare holds the motion against part, stock, mill and jaws.
func (j *job) compare() error {
	j.compareTools()
	cut := spanBox(j.out.FeedBox)
	if !cut.any {
		return nil
	}
	j.compareTravel(cut)
	if j.compareUnits(cut) {
		j.compareZero(cut)
	}
	if j.trust {
		j.compareStock(cut)
	}
	j.compareBlocks()
	j.compareSafe()
	j.findRegions()
	j.countFacets()
	return nil
}

func spanBox(s *fettle.Span) box {
	if s == nil {
		return box{}
	}
	return box{[3]float64{s.X[0], s.Y[0], s.Z[0]}, [3]float64{s.X[1], s.Y[1], s.Z[1]}, true}
}

// target is what the motion is meant to cover: the part, else the ordered
// blank.
func (j *job) target() (box, string) {
	if j.place.part.any {
		return j.place.part, "part"
	}
	return j.place.nominal, "stock"
}

// reachOf is the largest radius of the known tools that cut.
func (j *job) reachOf() float64 {
	r := 0.0
	for _, t := range j.order {
		if t.known {
			r = math.Max(r, t.end.Radius)
		}
	}
	return r
}

// compareUnits looks for numbers written in one unit and read in the other:
// motion 25.4 times too large or too small for the part, in both directions of
// the plan, and about the same middle. Passes overrun a part and may leave a
// rim, so a factor of 0.6 to 1.8 counts as the same size. Motion that is too
// small may also be a small pocket: it is called wrong only where feeds or
// retracts are small too. It reports whether sizes can be believed.
func (j *job) compareUnits(cut box) bool {
	want, what := j.target()
	if !want.any {
		return true
	}
	r := j.reachOf()
	like := func(scale float64) bool {
		for k := range 2 {
			got, size := cut.size(k)*scale, want.size(k)
			if got < 0.6*size-2*r || got > 1.8*size+4*r || got <= 0.05*size {
				return false
			}
			if scale != 1 && math.Abs(cut.mid(k)*scale-want.mid(k)) > 0.3*size+r {
				return false
			}
		}
		return true
	}
	small, large := like(fettle.MMPerInch), like(1/fettle.MMPerInch)
	if like(1) || !small && !large {
		return true
	}
	size := func(b box) string { return j.sys.About(b.size(0)) + " × " + j.sys.About(b.size(1)) }
	times, read, look := "as large", "mm", "inches"
	if large {
		times, read, look = "smaller", "inches", "millimetres"
	}
	says := fmt.Sprintf("the program is read in %s and cuts over %s, the %s is %s, 25.4 times %s", read, size(cut), what, size(want), times)
	switch {
	case small && !j.paceOfInches(want):
		j.check(0, "units", "check the unit, unless this program is for a small detail",
			"these numbers may be inches: %s", says)
		return true
	case small == j.Program.Inch: // the program says the unit that would not explain it
		j.wrong(0, "units", "check the unit of the model and of the program", "the sizes do not agree: %s", says)
	default:
		j.wrong(0, "units", "put "+map[bool]string{true: "G20", false: "G21"}[small]+" at the head of the program, or post it again in "+read,
			"these numbers look like %s: %s", look, says)
	}
	j.trust = false
	return false
}

// paceOfInches reports whether retracts or feeds are as small as those of a
// program in inches that is read in mm.
func (j *job) paceOfInches(want box) bool {
	const clear, slow = 3, 150 // mm over the part; mm/min
	if r := j.out.RapidBox; r != nil && r.Z[1] < want.hi[2]+clear {
		return true
	}
	fastest := 0.0
	for _, t := range j.order {
		for f := range t.feeds {
			fastest = math.Max(fastest, f)
		}
	}
	return fastest > 0 && fastest < slow
}

// compareTravel holds the motion against the mill.
func (j *job) compareTravel(cut box) {
	travel := j.Mill.TravelMM
	all := cut
	all.join(spanBox(j.out.RapidBox))
	for k, name := range []string{"X", "Y", "Z"} {
		if !(travel[k] > 0) {
			continue
		}
		if all.size(k) > travel[k] {
			j.wrong(0, "travel", "check the unit and the zero, or take a larger mill",
				"the motion needs %s along %s, and the mill has %s", j.sys.Length(all.size(k)), name, j.sys.Length(travel[k]))
			continue
		}
		if z := j.Setup.MachineZero; z != nil && (z[k]+all.lo[k] < 0 || z[k]+all.hi[k] > travel[k]) {
			over := math.Max(-(z[k] + all.lo[k]), z[k]+all.hi[k]-travel[k])
			j.wrong(0, "travel", "move the vise, or the offset's zero", "the motion runs %s past the end of the mill's %s", j.sys.Length(over), name)
		}
	}
}

// compareStock says where the motion and the blank do not meet.
func (j *job) compareStock(cut box) {
	s := j.place.stock
	if !s.any {
		return
	}
	r := j.reachOf()
	switch {
	case !cut.grown(r).meets(s):
		j.wrong(0, "zero", "check the offset's zero and the part's place in the set-up",
			"the cuts run beside the stock: X %s to %s, Y %s to %s", j.sys.Length(cut.lo[0]), j.sys.Length(cut.hi[0]), j.sys.Length(cut.lo[1]), j.sys.Length(cut.hi[1]))
		j.trust = false
	case cut.lo[2] >= s.hi[2]:
		j.wrong(0, "zero", "check where Z is zero: top or bottom of the part",
			"the program never comes below %s and the stock ends at %s: it cuts air", j.sys.Length(cut.lo[2]), j.sys.Length(s.hi[2]))
		j.trust = false
	case cut.lo[2] < s.lo[2]-1e-6:
		j.check(j.lowestLine(), "below", "check what lies under the stock: jaws, parallels, table",
			"line %d goes %s below the bottom of the stock", j.lowestLine(), j.sys.Length(s.lo[2]-cut.lo[2]))
	}
}

// lowestLine is the line of the first cut at the greatest depth.
func (j *job) lowestLine() int {
	low, line := math.Inf(1), int32(0)
	for i := range j.Program.Moves {
		m := &j.Program.Moves[i]
		if m.Kind != nc.Rapid && j.placed(m) && min(m.From[2], m.To[2]) < low {
			low, line = min(m.From[2], m.To[2]), m.Line
		}
	}
	return int(line)
}

// compareZero asks whether the motion would fit the part better from another
// zero. It speaks only where the motion is about as large as the part, so that
// it can be told where it belongs.
func (j *job) compareZero(cut box) {
	want, what := j.target()
	if !want.any {
		return
	}
	r := j.reachOf()
	off := [2]float64{}
	far := false
	for k := range 2 {
		got, size := cut.size(k), want.size(k)
		if got < 0.6*size || got > size+6*r+0.2*size {
			return
		}
		off[k] = cut.mid(k) - want.mid(k)
		far = far || math.Abs(off[k]) > 0.25*size+0.5*r
	}
	if !far {
		return
	}
	// Moved by off, the part would lie under the motion: where on it is zero then?
	best, name := math.Inf(1), ""
	for _, c := range zeros {
		d := 0.0
		for k := range 2 {
			d = math.Max(d, math.Abs((-want.lo[k]-off[k])/want.size(k)-c.share[k]))
		}
		if d < best {
			best, name = d, c.name
		}
	}
	hint := "check the offset's zero"
	if best < 0.15 {
		hint = "set the zero at " + name + " of the " + what + ", or post the program for the zero that is set"
	}
	j.wrong(0, "zero", hint, "the motion lies %s in X and %s in Y from the middle of the %s, though it is as large: the zero is not where the program wants it",
		j.sys.Length(off[0]), j.sys.Length(off[1]), what)
	j.trust = false
}

// zeros are the places in plan that a shop sets zero at.
var zeros = []struct {
	share [2]float64
	name  string
}{
	{[2]float64{0.5, 0.5}, "the middle"},
	{[2]float64{0, 0}, "the corner at low X and low Y"},
	{[2]float64{1, 0}, "the corner at high X and low Y"},
	{[2]float64{0, 1}, "the corner at low X and high Y"},
	{[2]float64{1, 1}, "the corner at high X and high Y"},
	{[2]float64{0.5, 0}, "the middle of the side at low Y"},
	{[2]float64{0.5, 1}, "the middle of the side at high Y"},
	{[2]float64{0, 0.5}, "the middle of the side at low X"},
	{[2]float64{1, 0.5}, "the middle of the side at high X"},
}

// compareSafe looks for rapids that travel below the height they are meant to
// run above.
func (j *job) compareSafe() {
	if j.Setup.SafeZ == nil {
		return
	}
	var low once
	for i := range j.Program.Moves {
		m := &j.Program.Moves[i]
		if m.Kind != nc.Rapid || !j.placed(m) || m.From[0] == m.To[0] && m.From[1] == m.To[1] {
			continue
		}
		if z := min(m.From[2], m.To[2]); z < *j.Setup.SafeZ-1e-6 {
			low.see(m.Line, *j.Setup.SafeZ-z)
		}
	}
	if low.n > 0 {
		j.check(low.at, "rapid", "retract before the move, or make sure that nothing stands in its way",
			"%s travels at rapid below the safe height, by %s at most (line %d); a rapid is not a straight line on every mill", low.where(), j.sys.Length(low.worst), low.at)
	}
}
