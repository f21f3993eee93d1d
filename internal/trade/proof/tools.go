package proof

import (
	"fmt"
	"slices"

	"fettle"
	"fettle/internal/shape/relief"
)

// tool is what a program does with one tool number.
type tool struct {
	number int
	known  bool // the set-up says what it is
	cutter fettle.Cutter
	set    fettle.SetupTool
	end    relief.Tool
	reach  float64 // below the holder; 0 not known

	lengths        []int
	speeds, feeds  map[float64]bool
	feedMM         float64
	feedBox        box
	seconds, cutS  float64
	first          *fettle.FirstCut
	facets         *facetCount
	firstLine      int32
	lengthLine     map[int]int32 // first line that cuts with a length register
	zero, backward once          // cutting with the spindle at rest, turning the other way
	noFeed         once
	fast, quick    once // beyond the mill's turns, beyond its feed
	oddSpeed       once // not the set-up's
	oddFeed        once
	rub, heavy     once // feed per tooth
	hot            once // surface speed
}

func (t *tool) name() string { return fmt.Sprintf("T%d", t.number) }

// called is the tool with its cutter, for sentences: "T1 (ball-6)".
func (t *tool) called() string {
	if !t.known {
		return t.name()
	}
	return fmt.Sprintf("%s (%s)", t.name(), t.cutter.Name)
}

func (t *tool) flutes() int {
	if t.set.Flutes > 0 {
		return t.set.Flutes
	}
	return t.cutter.Flutes
}

// readTools finds the cutter behind each number of the set-up.
func (j *job) readTools() error {
	names := make([]string, 0, len(j.Setup.Tools))
	for name := range j.Setup.Tools {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		n, err := fettle.ToolNumber(name)
		if err != nil {
			return err
		}
		if j.tools[n] != nil {
			return fettle.Errorf(fettle.Invalid, "tool T%d stands twice in the set-up; leave one of them", n)
		}
		set := j.Setup.Tools[name]
		c, given, err := fettle.ParseCutter(set.Cutter)
		if err == nil && !given {
			c, err = j.Shelf.Cutter(set.Cutter)
		}
		if err != nil {
			return fettle.Errorf(fettle.CodeOf(err), "tool T%d of the set-up: %w", n, err)
		}
		t := newTool(n)
		t.known, t.cutter, t.set = true, c, set
		t.end = relief.Tool{Radius: c.DiameterMM / 2, Corner: c.CornerMM}
		if c.Shape == fettle.Ball {
			t.end = relief.Ball(c.DiameterMM / 2)
		}
		if t.reach = set.StickOut; t.reach == 0 {
			t.reach = c.ReachMM
		}
		j.tools[n] = t
	}
	return nil
}

func newTool(n int) *tool {
	return &tool{
		number: n, speeds: map[float64]bool{}, feeds: map[float64]bool{}, facets: &facetCount{},
		lengthLine: map[int]int32{},
	}
}

// tool finds or makes the tool of a number.
func (j *job) tool(n int) *tool {
	t := j.tools[n]
	if t == nil {
		t = newTool(n)
		j.tools[n] = t
	}
	return t
}

// compareTools says where the program's tools are not the set-up's.
func (j *job) compareTools() {
	given := len(j.Setup.Tools) > 0
	var unknown []string
	for _, t := range j.order {
		if !t.known {
			unknown = append(unknown, t.name())
			if given && t.number != 0 {
				j.wrong(int(t.firstLine), "tool", "load the tool and enter it in the set-up, or correct the program's T word",
					"line %d cuts with %s, which is not in the set-up", t.firstLine, t.name())
			} else if t.number == 0 {
				j.check(int(t.firstLine), "tool", "check which tool is in the spindle, or add a tool change",
					"line %d cuts before any tool is called", t.firstLine)
			}
		}
		j.compareLengths(t)
		j.compareSpeeds(t)
	}
	if !given && len(unknown) > 0 {
		j.note(0, "tool", "give --tool T1=ball:6 or a set-up file",
			"nothing is known of %s, so depths, jaws and the surface are not worked out for it", listed(unknown))
	}
	for n, t := range j.tools {
		if t.known && t.feedMM == 0 && given {
			j.note(0, "tool", "", "T%d of the set-up (%s) is not used to cut", n, t.cutter.Name)
		}
	}
}

// compareLengths looks at the length registers a tool cuts with.
func (j *job) compareLengths(t *tool) {
	want := t.set.H
	if want == 0 {
		want = t.number
	}
	for _, h := range t.lengths {
		line := int(t.lengthLine[h])
		switch {
		case h == want:
		case h == 0:
			if t.number != 0 {
				j.check(line, "length", fmt.Sprintf("add G43 H%d after the tool change, unless the control applies lengths by itself", want),
					"line %d cuts with %s while no tool length is called", line, t.name())
			}
		case t.set.H != 0:
			j.wrong(line, "length", fmt.Sprintf("call H%d or correct the set-up", want),
				"line %d cuts with %s on length H%d, and the set-up keeps its length in H%d", line, t.name(), h, want)
		default:
			j.wrong(line, "length", fmt.Sprintf("call H%d, or say in the set-up that %s uses \"h\": %d", want, t.name(), h),
				"line %d cuts with %s on the length of another tool, H%d", line, t.name(), h)
		}
	}
}

// compareSpeeds turns what was counted of spindle and feed into findings.
func (j *job) compareSpeeds(t *tool) {
	if o := &t.zero; o.n > 0 {
		j.wrong(o.line, "spindle", "start the spindle (S and M3) before the cut", "%s cuts with %s while the spindle stands still", o.where(), t.called())
	}
	if o := &t.backward; o.n > 0 {
		j.check(o.line, "spindle", "use M3 unless the cutter is left-handed", "%s cuts with %s turning backwards (M4)", o.where(), t.called())
	}
	if o := &t.noFeed; o.n > 0 {
		j.wrong(o.line, "feed", "give an F word before the first cut", "%s cuts with %s before any feed is given", o.where(), t.called())
	}
	if o := &t.fast; o.n > 0 {
		j.wrong(o.at, "spindle", "lower S, and F with it so that each tooth keeps its feed", "line %d turns %s at %.0f rpm, and the mill turns %.0f at most", o.at, t.called(), o.worst, j.Mill.MaxRPM)
	}
	if o := &t.quick; o.n > 0 {
		j.check(o.at, "feed", "lower F to what the mill can do, so that the times hold", "line %d feeds %s at %s, and the mill feeds %s at most", o.at, t.called(), j.sys.Feed(o.worst), j.sys.Feed(j.Mill.MaxFeedMMMin))
	}
	if o := &t.oddSpeed; o.n > 0 {
		j.check(o.line, "spindle", "correct the program or the set-up", "%s turns %s at %.0f rpm, and the set-up expects %.0f", o.where(), t.called(), o.worst, t.set.RPM)
	}
	if o := &t.oddFeed; o.n > 0 {
		j.check(o.line, "feed", "correct the program or the set-up", "%s feeds %s at %s, and the set-up expects %s at most", o.where(), t.called(), j.sys.Feed(o.worst), j.sys.Feed(t.set.Feed))
	}
	if o := &t.hot; o.n > 0 {
		j.check(o.at, "spindle", "lower S or take the cutting data for this alloy", "line %d cuts %s at %.0f m/min, more than twice the most that the shelf gives for %s", o.at, t.called(), o.worst, j.Material.Title)
	}
	if o := &t.heavy; o.n > 0 {
		j.check(o.at, "feed", "check the F word and its unit", "line %d asks %s to take %s with each tooth, a tenth of its diameter and more", o.at, t.called(), j.sys.Small(o.worst))
	}
	if o := &t.rub; o.n > 0 {
		j.note(o.line, "feed", "raise F or lower S", "%s feeds %s by less than a micrometre a tooth, which rubs more than it cuts", o.where(), t.called())
	}
}
