package proof

import (
	"maps"
	"math"
	"slices"
	"strings"

	"fettle"
	"fettle/internal/format/nc"
	"fettle/internal/trade/cusp"
)

// offsetKey is an offset's name without the ways to write it.
func offsetKey(s string) string { return strings.ToUpper(strings.ReplaceAll(s, " ", "")) }

// chooseOffset says which offset is proved: the set-up's where the program uses
// it, else the one that the program cuts most blocks in.
func (j *job) chooseOffset() {
	count := map[string]int{}
	first := map[string]int32{}
	var names []string
	perMode := make([]int, len(j.Program.Modes))
	lineOf := make([]int32, len(j.Program.Modes))
	for i := range j.Program.Moves {
		m := &j.Program.Moves[i]
		if m.Kind == nc.Dwell || m.Home {
			continue
		}
		if perMode[m.Mode]++; perMode[m.Mode] == 1 {
			lineOf[m.Mode] = m.Line
		}
	}
	for k, n := range perMode {
		off := j.Program.Modes[k].Offset
		if n == 0 || off == "G53" {
			continue
		}
		if _, seen := count[off]; !seen {
			names = append(names, off)
			first[off] = lineOf[k]
		}
		count[off] += n
		first[off] = min(first[off], lineOf[k])
	}
	slices.SortStableFunc(names, func(a, b string) int { return int(first[a] - first[b]) })
	// Without a call the control keeps what was in force, at power-on G54.
	home := "G54"
	if j.Setup.Offset != "" {
		home = j.Setup.Offset
	}
	called := func(off string) string {
		if off == "" {
			return home
		}
		return off
	}
	proved, most := "", -1
	for _, off := range names {
		if off != "" {
			j.out.Offsets = append(j.out.Offsets, off)
		}
		switch n := count[off]; {
		case offsetKey(called(off)) == offsetKey(j.Setup.Offset):
			proved, most = called(off), math.MaxInt
		case n > most:
			proved, most = called(off), n
		}
	}
	j.out.Offset = proved
	j.mine = make([]bool, len(j.Program.Modes))
	for k := range j.mine {
		off := j.Program.Modes[k].Offset
		j.mine[k] = off != "G53" && offsetKey(called(off)) == offsetKey(proved)
	}
	if _, none := count[""]; none {
		j.check(int(first[""]), "offset", "call "+home+" in the program's first lines",
			"line %d moves before any work offset is called; the control takes the one left in force, and the proof took %s", first[""], home)
	}
	want := j.Setup.Offset
	for _, off := range names {
		if off == "" || want == "" || offsetKey(off) == offsetKey(want) {
			continue
		}
		j.wrong(int(first[off]), "offset", "call "+want+" in the program, or set "+off+" and say so in the set-up",
			"line %d works in %s, and the set-up has the part in %s", first[off], off, want)
	}
	if want == "" && len(j.out.Offsets) > 1 {
		j.check(0, "offset", "give the set-up's offset", "the program works in %s; only %s is proved", listed(j.out.Offsets), proved)
	}
}

// walk follows the moves once: lengths, boxes, and what each tool is asked to
// do.
func (j *job) walk() error {
	p := j.Program
	j.toolOf = make([]*tool, len(p.Modes))
	for k := range p.Modes {
		j.toolOf[k] = j.tool(p.Modes[k].Tool)
	}
	var feedBox, rapidBox box
	var lost, missed once
	cutIn := make([]int32, len(p.Modes)) // line of the first cut in each mode
	lastLine := int32(-1)
	for i := range p.Moves {
		m := &p.Moves[i]
		if m.Kind == nc.Dwell {
			continue
		}
		if !m.Cycle || m.Line != lastLine {
			j.out.MotionBlocks++
		}
		lastLine = m.Line
		if m.Home {
			continue
		}
		if !m.Known {
			// The way to the first place is never known; a cut there is.
			if m.Kind != nc.Rapid {
				lost.see(m.Line, 0)
			}
			if j.mine[m.Mode] && known(m.To) && m.Kind == nc.Rapid {
				rapidBox.add(m.To)
			}
			continue
		}
		if m.Kind == nc.Rapid {
			if j.mine[m.Mode] {
				j.out.RapidLengthMM += norm(sub(m.To, m.From))
				rapidBox.add(m.From)
				rapidBox.add(m.To)
			}
			continue
		}
		length := j.lengthOf(m)
		if length == 0 {
			continue
		}
		if cutIn[m.Mode] == 0 {
			cutIn[m.Mode] = m.Line
		}
		t := j.toolOf[m.Mode]
		if t.firstLine == 0 {
			t.firstLine = m.Line
			j.order = append(j.order, t)
		}
		if m.Arc >= 0 && p.Arcs[m.Arc].MissMM > 0.01 {
			missed.see(m.Line, p.Arcs[m.Arc].MissMM)
		}
		if !j.mine[m.Mode] {
			t.feedMM += length
			continue
		}
		j.out.FeedLengthMM += length
		t.feedMM += length
		t.feedBox.add(m.From)
		if m.Arc >= 0 {
			j.pieces(m, 0.01, func(_, to [3]float64) { t.feedBox.add(to) })
		} else {
			t.feedBox.add(m.To)
		}
	}
	for _, t := range j.order {
		feedBox.join(t.feedBox)
	}
	j.out.FeedBox, j.out.RapidBox = feedBox.span(), rapidBox.span()
	for k, line := range cutIn {
		if line != 0 {
			j.seeMode(j.toolOf[k], &p.Modes[k], line)
		}
	}
	if lost.n > 0 {
		j.check(lost.line, "place", "give X, Y and Z in the program's first moves", "%s cuts before all of X, Y and Z are known; these moves are left out", lost.where())
	}
	if missed.n > 0 {
		j.check(missed.at, "arc", "post the program again with more decimals", "the arc on line %d misses its end by %s", missed.at, j.sys.Small(missed.worst))
	}
	if j.out.FeedLengthMM == 0 {
		j.check(0, "empty", "check that this is the right file", "the program makes no cutting move that can be followed in %s", orSome(j.out.Offset))
	}
	return nil
}

func orSome(offset string) string {
	if offset == "" {
		return "any offset"
	}
	return offset
}

func known(p [3]float64) bool {
	return !math.IsNaN(p[0]) && !math.IsNaN(p[1]) && !math.IsNaN(p[2])
}

// seeMode looks at the spindle, feed and length that a tool cuts with. Modes
// are few beside moves.
func (j *job) seeMode(t *tool, m *nc.Mode, line int32) {
	if !slices.Contains(t.lengths, m.Length) {
		t.lengths = append(t.lengths, m.Length)
		t.lengthLine[m.Length] = line
	}
	turning := m.Turning != 0 && m.Speed > 0
	switch {
	case !turning:
		t.zero.see(line, 0)
	case m.Turning < 0:
		t.backward.see(line, 0)
	}
	if turning {
		t.speeds[m.Speed] = true
		if j.Mill.MaxRPM > 0 && m.Speed > j.Mill.MaxRPM*1.0005 {
			t.fast.see(line, m.Speed)
		}
		if t.set.RPM > 0 && math.Abs(m.Speed/t.set.RPM-1) > 0.05 {
			t.oddSpeed.see(line, m.Speed)
		}
		j.seeSurfaceSpeed(t, m, line)
	}
	if m.Feed <= 0 {
		t.noFeed.see(line, 0)
		return
	}
	t.feeds[m.Feed] = true
	if j.Mill.MaxFeedMMMin > 0 && m.Feed > j.Mill.MaxFeedMMMin*1.0005 {
		t.quick.see(line, m.Feed)
	}
	if t.set.Feed > 0 && m.Feed > t.set.Feed*1.05 {
		t.oddFeed.see(line, m.Feed)
	}
	if turning && t.known && t.flutes() > 0 {
		tooth := m.Feed / (m.Speed * float64(t.flutes()))
		if tooth > 0.1*t.cutter.DiameterMM {
			t.heavy.see(line, tooth)
		}
		if tooth < 0.001 {
			t.rub.see(line, tooth)
		}
	}
}

// seeSurfaceSpeed compares the speed at the teeth with the alloy's. A ball is
// taken a quarter of a millimetre deep: a rough guess, for a rough check.
func (j *job) seeSurfaceSpeed(t *tool, m *nc.Mode, line int32) {
	if j.Material == nil || !t.known || !(j.Material.CutSpeed.High > 0) {
		return
	}
	d := t.cutter.DiameterMM
	if t.cutter.Shape == fettle.Ball {
		if at, err := cusp.EffectiveDiameter(d, math.Min(0.25, d/4), 0); err == nil {
			d = at
		}
	}
	if v := math.Pi * d * m.Speed / 1000; v > 2*j.Material.CutSpeed.High {
		t.hot.see(line, v)
	}
}

// listTools fills the proof's tools once all is known of them.
func (j *job) listTools() {
	speeds, feeds := map[float64]bool{}, map[float64]bool{}
	for _, t := range j.order {
		maps.Copy(speeds, t.speeds)
		maps.Copy(feeds, t.feeds)
		pt := fettle.ProofTool{
			Number: t.number, Length: t.lengths, Minutes: t.seconds / 60, CutMinutes: t.cutS / 60,
			FeedMM: t.feedMM, FeedBox: t.feedBox.span(), SpindleRPM: sorted(t.speeds), Feeds: sorted(t.feeds),
			FirstCut: t.first, Facets: t.facets.result(),
		}
		if t.known {
			pt.Cutter = t.cutter.Name
		}
		if t.cutS > 0 {
			pt.MeanFeed = t.feedMM / t.cutS * 60
		}
		j.out.Tools = append(j.out.Tools, pt)
	}
	j.out.SpindleRPM, j.out.Feeds = sorted(speeds), sorted(feeds)
}

func sorted(set map[float64]bool) []float64 {
	out := slices.Sorted(maps.Keys(set))
	if out == nil {
		return []float64{}
	}
	return out
}
